"""Issuing: serials, the frozen definition, and everything that stands in the way."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from traveler.definition.serial import check_character_ok
from traveler.finding import CannotDo
from traveler.record.entry import Issued
from traveler.trace.judging import judge

Edit = Callable[[str, str], None]


def codes(done: Any) -> list[str]:
    return [finding.code for finding in done.findings]


def test_units_get_serials_with_right_check_characters_in_running_order(bench: Any) -> None:
    serials = bench.issue(count=5).serials
    assert len(set(serials)) == 5
    assert all(check_character_ok(serial) and serial.startswith("ST2-2645-000") for serial in serials)
    assert list(serials) == sorted(serials)


def test_the_running_number_goes_on_from_issue_to_issue_and_over_variants(bench: Any) -> None:
    numbers = [bench.unit(variant=variant)[9:13] for variant in ("2", "3", "2")]
    assert numbers == sorted(set(numbers))


def test_the_first_entry_says_what_was_issued(bench: Any) -> None:
    serial = bench.unit(order="4471", due=date(2026, 11, 30))
    with bench.session.store.reading() as records:
        entry = records.entries(serial)[0]
        unit = records.unit(serial)
    assert isinstance(entry.body, Issued)
    assert (entry.by, entry.at, entry.zone) == ("rhale", bench.session.now, "Europe/Dublin")
    assert (entry.body.order, entry.body.due) == ("4471", "2026-11-30")
    assert entry.body.digest == bench.plans[serial].digest
    assert (unit.state, unit.entries, unit.head) == ("issued", 1, entry.hash)


def test_a_changed_definition_under_an_issued_revision_is_refused_and_the_change_told(
    bench: Any, edit: Edit
) -> None:
    bench.unit()
    edit("max 0.05 mm", "max 0.08 mm")
    refused = bench.issue()
    assert refused.serials == ()
    assert codes(refused) == ["STO001"]
    assert (refused.findings[0].place.line, refused.findings[0].hint[:18]) == (5, "raise the revision")
    assert refused.changes == ("10.4 Play of the hinge: max 0.05 mm → max 0.08 mm",)


def test_comments_and_key_order_are_no_change(bench: Any, edit: Edit) -> None:
    bench.unit()
    edit(
        "title: Folding step stool\nrevision: A\n", "revision: A   # as before\ntitle: 'Folding step stool'\n"
    )
    assert len(bench.issue().serials) == 1


def test_older_units_are_judged_by_what_they_were_issued_with(bench: Any, edit: Edit) -> None:
    old = bench.unit()
    edit("max 0.05 mm", "max 0.02 mm")
    edit("revision: A", "revision: B")
    new = bench.unit()
    limits = {}
    for serial in (old, new):
        bench.record(serial, bench.fillings(serial))
        with bench.session.store.reading() as records:
            judged = judge(bench.session, records, serial)
        limits[judged.unit.revision] = judged.plan.check("play").limits.text
        assert judged.verdict.complete
        assert not [finding for finding in judged.verdict.findings if finding.weight == "blocking"]
    assert limits == {"A": "max 0.05 mm", "B": "max 0.02 mm"}


def test_an_older_revision_put_back_is_issued_with_a_warning(bench: Any, edit: Edit) -> None:
    bench.unit()
    edit("revision: A", "revision: B")
    bench.unit()
    edit("revision: B", "revision: A")
    done = bench.issue()
    assert (len(done.serials), codes(done)) == (1, ["ISS003"])


def test_a_definition_with_findings_issues_nothing(bench: Any, edit: Edit) -> None:
    edit("max 0.05 mm", "max 0.05")
    edit("trace: lot", "trace: batch")
    refused = bench.issue()
    assert refused.serials == ()
    assert len(refused.findings) >= 2
    with bench.session.store.reading() as records:
        assert records.units() == ()


def test_a_definition_in_a_file_of_another_name_is_a_finding(bench: Any, edit: Edit) -> None:
    edit("product: step-stool", "product: stool")
    assert codes(bench.issue()) == ["DEF000"]


def test_the_approver_must_have_been_of_engineering_when_the_revision_was_made(
    bench: Any, edit: Edit
) -> None:
    edit("revised: 2026-01-12", "revised: 2020-01-12")
    refused = bench.issue()
    assert (refused.serials, codes(refused)) == ((), ["ISS001"])
    assert refused.findings[0].place.line == 7


@pytest.mark.parametrize(("by", "code"), [("pstrap", "GAT002"), ("nobody", "PER001"), ("oldhand", "PER003")])
def test_who_may_not_issue_is_told_why(bench: Any, by: str, code: str) -> None:
    refused = bench.issue(by=by)
    assert (refused.serials, codes(refused)) == ((), [code])


@pytest.mark.parametrize(
    ("wrong", "what", "hint"),
    [
        ({"product": "step-stol"}, "step-stol.yaml", "did you mean 'step-stool'?"),
        ({"product": "../shop"}, "../shop.yaml", "known are step-stool"),
        ({"variant": "4"}, "no variant '4'", "known are 2, 3"),
        ({"options": ("bell",)}, "no option 'bell'", "there is none"),
        ({"count": 0}, "found 0", ""),
        ({"count": 100_000}, "found 100000", ""),
    ],
)
def test_what_the_definition_does_not_have_cannot_be_issued(
    bench: Any, wrong: dict[str, Any], what: str, hint: str
) -> None:
    with pytest.raises(CannotDo) as refused:
        bench.issue(**wrong)
    assert what in refused.value.what
    assert hint in refused.value.hint


def test_a_product_built_one_by_one_takes_no_quantity(bench: Any) -> None:
    assert codes(bench.issue(quantity=60)) == ["ISS002"]


def test_a_traveler_that_cannot_be_printed_stops_the_issue(bench: Any, edit: Edit) -> None:
    edit("Rivet the legs to the treads.", "Rivet the legs 木 to the treads.")
    refused = bench.issue()
    assert refused.serials == ()
    assert any("木" in finding.what or "U+6728" in finding.what for finding in refused.findings)
    with bench.session.store.reading() as records:
        assert records.units() == ()
