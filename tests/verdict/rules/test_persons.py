"""Findings about people, each raised when it should be and silent when it should be."""

from __future__ import annotations

from datetime import date

import pytest

from traveler.record.entry import (
    Confirmed,
    Decided,
    Noted,
    Released,
    Signed,
    Stopped,
    Struck,
    Ticked,
    Witnessed,
)
from traveler.shop.people import Person, RoleHeld
from traveler.verdict.authority import may_act

HOLD = "40-6"


def somebody_nobody_knows(book):
    book.issue()
    book.write(Ticked(), "10-1", by="asn")


def a_packer_at_the_assembly(book):
    book.issue()
    book.write(Ticked(), "10-1", by="pack")


def a_role_that_ended_the_day_before(book):
    add(book, "late", RoleHeld(role="assembler", since=date(2020, 1, 1), until=date(2026, 9, 20)))
    book.issue()
    book.write(Ticked(), "10-1", by="late")


def an_assembler_at_the_hold_point(book):
    book.issue()
    book.write(Witnessed(), HOLD, by="asm2")


def an_assembler_decides(book):
    book.issue()
    stop = book.write(Stopped(what="scratch"))
    book.write(Decided(stop=stop.seq, decision="rework"), by="asm")


def an_engineer_concedes(book):
    book.issue()
    stop = book.write(Stopped(what="scratch"))
    book.write(Decided(stop=stop.seq, decision="use_as_is", concession="C-1"), by="eng")


def an_assembler_strikes_what_another_wrote(book):
    book.issue()
    tick = book.write(Ticked(), "10-1", by="asm")
    book.write(Struck(strikes=tick.seq, reason="not done"), by="asm2")


def an_inspector_takes_back_a_release(book):
    book.released()
    book.write(Struck(strikes=book.entries[-1].seq, reason="too early"), by="insp")


def somebody_who_has_left(book):
    book.issue()
    book.write(Ticked(), "10-1", by="gone")


def the_builder_signs_the_final_checks(book):
    add(book, "both", held("assembler"), held("inspector"))
    book.built()
    book.write(Signed(), "10/sign", by="both")
    book.write(Signed(), "Q/sign", by="both")


def the_builder_witnesses_the_hold_point(book):
    add(book, "both", held("assembler"), held("inspector"))
    book.issue()
    book.write(Signed(), "10/sign", by="both")
    book.write(Witnessed(), HOLD, by="both")


def the_builder_releases(book):
    add(book, "both", held("assembler"), held("quality"))
    book.issue()
    book.write(Signed(), "10/sign", by="both")
    book.write(Released(head=book.entries[-1].hash, count=len(book.entries)), by="both")


def somebody_releases_instead_of_the_builder(book):
    the_builders_deputy(book)
    seal = {"head": book.entries[-1].hash, "count": len(book.entries)}
    book.write(Released(**seal, instead_of="both"), by="deputy")


def somebody_signs_the_final_checks_instead_of_the_builder(book):
    the_builders_deputy(book)
    book.write(Signed(instead_of="both"), "Q/sign", by="deputy")


def the_builders_deputy(book):
    add(book, "both", held("assembler"), held("quality"))
    role = RoleHeld(role="quality", since=date(2020, 1, 1), instead_of="both")
    add(book, "deputy", role)
    book.built()
    book.write(Signed(), "10/sign", by="both")


RAISED = {
    "PER001": [somebody_nobody_knows],
    "PER002": [
        a_packer_at_the_assembly, a_role_that_ended_the_day_before, an_assembler_at_the_hold_point,
        an_assembler_decides, an_engineer_concedes, an_assembler_strikes_what_another_wrote,
        an_inspector_takes_back_a_release,
    ],
    "PER003": [somebody_who_has_left],
    "PER004": [
        the_builder_signs_the_final_checks, the_builder_witnesses_the_hold_point,
        somebody_signs_the_final_checks_instead_of_the_builder,
    ],
    "PER005": [the_builder_releases, somebody_releases_instead_of_the_builder],
}  # fmt: skip


def good(book):
    book.released()


def a_role_on_its_last_day(book):
    add(book, "late", RoleHeld(role="assembler", since=date(2020, 1, 1), until=date(2026, 9, 21)))
    book.issue()
    book.write(Ticked(), "10-1", by="late")


def quality_stands_in_for_the_inspector(book):
    book.issue()
    book.write(Witnessed(), HOLD, by="qual")


def a_deputy(book):
    deputy = RoleHeld(role="inspector", since=date(2026, 9, 20), until=date(2026, 9, 22), instead_of="insp")
    add(book, "stand-in", deputy)
    book.issue()
    book.write(Witnessed(), HOLD, by="stand-in")


def somebody_strikes_out_their_own(book):
    book.issue()
    tick = book.write(Ticked(), "10-1", by="asm")
    book.write(Struck(strikes=tick.seq, reason="not done"), by="asm")


def the_wrong_entry_is_struck_out(book):
    book.issue()
    tick = book.write(Ticked(), "10-1", by="asn")
    book.write(Struck(strikes=tick.seq, reason="id mistyped"), by="qual")


def quality_takes_back_a_release(book):
    book.released()
    book.write(Struck(strikes=book.entries[-1].seq, reason="too early"), by="qual")


def an_engineer_decides_on_rework(book):
    book.issue()
    stop = book.write(Stopped(what="scratch"))
    book.write(Decided(stop=stop.seq, decision="rework"), by="eng")


def quality_concedes(book):
    book.issue()
    stop = book.write(Stopped(what="scratch"))
    book.write(Decided(stop=stop.seq, decision="use_as_is", concession="C-1"), by="qual")


def on_the_last_day_at_the_shop(book):
    people = [person.model_copy(update={"left": date(2026, 9, 21)}) if person.id == "gone" else person
              for person in book.people.people]  # fmt: skip
    book.people = type(book.people)(people=tuple(people))
    somebody_who_has_left(book)


def the_inspector_confirms_something_in_the_build(book):
    book.built()
    book.write(Confirmed(), "40-5", by="insp")


def somebody_releases_instead_of_quality(book):
    add(book, "deputy", RoleHeld(role="quality", since=date(2020, 1, 1), instead_of="qual"))
    book.built()
    seal = {"head": book.entries[-1].hash, "count": len(book.entries)}
    book.write(Released(**seal, instead_of="qual"), by="deputy")


SILENT = {
    "PER001": [the_wrong_entry_is_struck_out],
    "PER002": [
        a_role_on_its_last_day, quality_stands_in_for_the_inspector, a_deputy, somebody_strikes_out_their_own,
        quality_takes_back_a_release, an_engineer_decides_on_rework, quality_concedes,
    ],
    "PER003": [on_the_last_day_at_the_shop],
    "PER004": [good, the_inspector_confirms_something_in_the_build],
    "PER005": [good, somebody_releases_instead_of_quality],
}  # fmt: skip


@pytest.mark.parametrize(
    ("code", "write"), [(code, drawn) for code, some in RAISED.items() for drawn in some]
)
def test_it_is_raised(book, code, write):
    write(book)
    assert code in book.codes()


@pytest.mark.parametrize(
    ("code", "write"), [(code, drawn) for code, some in SILENT.items() for drawn in some]
)
def test_it_is_silent(book, code, write):
    write(book)
    assert code not in book.codes()


def test_an_unknown_person_gets_the_nearest_id(book):
    somebody_nobody_knows(book)
    assert book.found("PER001")[0].hint.startswith("did you mean 'asm")


def test_one_person_without_a_role_is_one_finding(book):
    book.issue()
    for slot in book.plan.slots():
        if slot.id.startswith("10-") and "screw" not in slot.id:
            book.fill(slot, "pack", 1)
    (found,) = book.found("PER002")
    assert "pack (packer) may not record build results on 2026-09-21; allowed roles: assembler" in found.what
    assert "10-1, 10-2, 10-4 (plate=left; plate=right)" in found.what


def test_a_shop_can_give_an_action_to_another_role(book):
    book.settings = book.settings.model_copy(update={"authority": {"record": ("packer",)}})
    a_packer_at_the_assembly(book)
    assert "PER002" not in book.codes()


def test_no_setting_lets_a_builder_inspect_or_release(book):
    everything = dict.fromkeys(("inspect", "release"), ("assembler",))
    book.settings = book.settings.model_copy(update={"authority": everything})
    the_builder_signs_the_final_checks(book)
    assert "PER004" in book.codes()


def held(role: str) -> RoleHeld:
    return RoleHeld(role=role, since=date(2020, 1, 1))


def add(book, name, *roles):
    person = Person(id=name, name=name, roles=roles)
    book.people = type(book.people)(people=(*book.people.people, person))


def test_the_verdict_and_the_command_give_the_same_reason(book):
    book.issue()
    entry = book.write(Noted(text="squeaks"), by="pack")
    for roles in ((), ("director",)):
        book.settings = book.settings.model_copy(update={"authority": {"note": roles}})
        (in_verdict,) = book.found("PER002")
        (at_command,) = may_act("note", "pack", entry.at.date(), book.people, book.settings)
        assert in_verdict.what == at_command.what
