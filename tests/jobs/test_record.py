"""Recording from files: each whole or not at all, the same whatever kind of file, judged at once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from traveler.definition.plan import SlotKind
from traveler.finding import blocking
from traveler.jobs.advise import advice_lines
from traveler.jobs.demo.floor import as_csv, into_pdf
from traveler.jobs.face_sheet import TRAVELER
from traveler.jobs.judge import judge
from traveler.jobs.printing import sheet_file
from traveler.jobs.record import record
from traveler.jobs.reprint import print_new
from traveler.record.entry import Read


def yaml_of(made: list[Any], serial: str, plan: Any) -> bytes:
    lines = [
        "format: 1",
        f"serial: {serial}",
        f"revision: {plan.revision}",
        f"digest: {plan.digest}",
        "results:",
    ]
    for one in made:
        unit = f" {one.unit}" if one.unit else ""
        gauge = f", gauge: {one.gauge}" if one.gauge else ""
        at = f"{one.at:%Y-%m-%d %H:%M}"
        lines.append(f'  "{one.slot.id}": {{value: "{one.value}{unit}", by: {one.by}, at: "{at}"{gauge}}}')
    return "\n".join(lines).encode()


def told(judged: Any) -> dict[str, Any]:
    """What a verdict says of each slot, apart from which unit and entry it is."""
    return {
        slot: (str(one.state), one.value, one.unit, one.readings)
        for slot, one in judged.verdict.slots.items()
    }


def entries_of(bench: Any, serial: str) -> Any:
    with bench.office.store.reading() as records:
        return records.entries(serial)


def test_a_good_unit_is_recorded_and_nothing_stands_in_the_way(bench: Any) -> None:
    serial = bench.unit()
    done = bench.record(serial, bench.fillings(serial))
    assert (done.files[0].added, done.files[0].known, done.files[0].findings) == (11, 0, ())
    assert done.units[0].verdict.complete
    assert blocking(done.units[0].verdict.findings) == []
    assert done.units[0].unit.state == "inspection"


def test_a_filled_traveler_a_csv_and_a_yaml_file_give_the_same_verdict(bench: Any) -> None:
    serials = bench.issue(count=3).serials
    list(print_new(bench.office, serials))
    plan = bench.plans[serials[0]]
    made = [bench.fillings(serial) for serial in serials]
    blank = sheet_file(bench.office, serials[0], TRAVELER).read_bytes()
    contents = (
        into_pdf(blank, made[0]), as_csv(made[1], serials[1], plan), yaml_of(made[2], serials[2], plan)
    )  # fmt: skip
    names = ("traveler.pdf", "results.csv", "results.yaml")
    done = record(
        bench.office, [(Path(name), content) for name, content in zip(names, contents, strict=True)]
    )
    assert [one.added for one in done.files] == [11, 11, 11]
    verdicts = [told(one) for one in done.units]
    hinge = next(
        slot.id
        for slot in plan.slots()
        if slot.kind is SlotKind.PART and plan.step_of[slot.id].trace == "serial"
    )
    assert [one.pop(hinge)[0] for one in verdicts] == ["done"] * 3  # each has its own hinge
    assert verdicts[0] == verdicts[1] == verdicts[2]
    assert {one.source for one in entries_of(bench, serials[0])[1:]} == {"pdf"}
    assert {one.source for one in entries_of(bench, serials[1])[1:]} == {"file"}


@pytest.mark.parametrize("again", ["the same file", "another file of the same content"])
def test_a_file_given_again_adds_nothing(bench: Any, again: str) -> None:
    serial = bench.unit()
    made = bench.fillings(serial)
    bench.record(serial, made)
    content = as_csv(made, serial, bench.plans[serial])
    if again.startswith("another"):
        content = content.replace(b"\r\n", b"\n") + b"\n"
    done = record(bench.office, [(Path("again.csv"), content)])
    assert (done.files[0].added, done.files[0].known) == (0, 11)
    assert len(entries_of(bench, serial)) == 12


def test_a_file_given_again_after_a_strike_does_not_bring_the_struck_entry_back(bench: Any) -> None:
    from traveler.jobs.add_entry import strike

    serial = bench.unit()
    content = as_csv(bench.fillings(serial), serial, bench.plans[serial])
    record(bench.office, [(Path("a.csv"), content)])
    strike(bench.office, serial, 2, "not done", "qmoor")
    record(bench.office, [(Path("a.csv"), content)])
    assert len(entries_of(bench, serial)) == 13


def test_one_bad_row_keeps_the_whole_file_out_and_every_problem_is_told(bench: Any) -> None:
    serial = bench.unit()
    made = bench.fillings(serial)
    text = as_csv(made, serial, bench.plans[serial]).decode()
    text = text.replace("0.038,mm", "0.038,kg", 1).replace("10-2,", "10-99,")
    done = record(bench.office, [(Path("results.csv"), text.encode())])
    assert (done.files[0].added, len(entries_of(bench, serial))) == (0, 1)
    found = {(one.code, one.place.file, one.place.line) for one in done.files[0].findings}
    assert found == {("RES042", "results.csv", 6), ("RES032", "results.csv", 8)}


def test_an_unknown_person_is_refused_before_it_stays_in_the_record(bench: Any) -> None:
    serial = bench.unit()
    made = [
        replace(one, by="tkilm", value=one.value.replace("tkiln", "tkilm"))
        for one in bench.fillings(serial)[:1]
    ]
    done = bench.record(serial, made)
    assert [one.code for one in done.files[0].findings] == ["PER001"]
    assert done.files[0].findings[0].place.line == 5
    assert "tkiln" in done.files[0].findings[0].hint
    assert len(entries_of(bench, serial)) == 1


def test_one_refused_file_does_not_hold_up_the_others(bench: Any) -> None:
    first, second = bench.issue(count=2).serials
    good = as_csv(bench.fillings(first), first, bench.plans[first])
    bad = as_csv(bench.fillings(second), second, bench.plans[second]).replace(b"10-1,yes", b"10-1,maybe")
    done = record(
        bench.office, [(Path("bad.csv"), bad), (Path("good.csv"), good), (Path("x.bin"), b"\x00\xff")]
    )
    assert [one.added for one in done.files] == [0, 11, 0]
    assert [one.unit.serial for one in done.units] == [second, first]


def test_a_reading_that_is_out_is_recorded_and_told_with_which_way_to_adjust(bench: Any) -> None:
    serial = bench.unit()
    made = [
        replace(one, value="0.150") if one.slot.id == "10-4/side=left" else one
        for one in bench.fillings(serial)
    ]
    done = bench.record(serial, made)
    assert done.files[0].added == 11
    out = [one for one in done.units[0].verdict.findings if one.place.slot == "10-4/side=left"]
    assert [one.code for one in out] == ["REA001"]
    line = advice_lines(done.units[0])
    assert len(line) == 1
    assert "10-4/side=left: 0.150 mm against max 0.05 mm: turn" in line[0]
    assert "clockwise" in line[0]


def test_the_state_is_kept_in_the_same_transaction(bench: Any) -> None:
    serial = bench.unit()
    made = bench.fillings(serial)
    states = []
    for part in (made[:2], made[2:8], made[8:]):
        bench.record(serial, part)
        with bench.office.store.reading() as records:
            unit = records.unit(serial)
            states.append((unit.state, str(judge(bench.office, records, serial).verdict.state)))
    assert [kept for kept, _ in states] == ["building", "inspection", "inspection"]
    assert all(kept == worked_out for kept, worked_out in states)


@pytest.mark.parametrize(
    ("serial", "code"),
    [("ST2-2645-0001A", "SER001"), ("ST2 2645", "SER002"), ("ST2-9945-00010", "REC001"), ("", "RES040")],
)
def test_a_serial_that_cannot_be_right_is_refused_at_its_place(bench: Any, serial: str, code: str) -> None:
    from traveler.definition.serial import make

    unit = bench.unit()
    if code == "REC001":
        serial = make("ST2-9945-{n:04}", "2", 1, bench.office.today)
    content = as_csv(bench.fillings(unit), serial, bench.plans[unit])
    done = record(bench.office, [(Path("r.csv"), content)])
    assert [one.code for one in done.files[0].findings] == [code]
    assert done.files[0].findings[0].place.file == "r.csv"
    assert done.units == ()


def test_what_was_read_keeps_its_digits_and_its_times(bench: Any) -> None:
    serial = bench.unit()
    made = bench.fillings(serial)
    bench.record(serial, made)
    reads = [one for one in entries_of(bench, serial) if isinstance(one.body, Read)]
    said = [one for one in made if one.slot.kind is SlotKind.READING]
    assert [(one.slot, one.body.written, one.at, one.by) for one in reads] == [
        (one.slot.id, one.value, one.at, one.by) for one in said
    ]
    assert {one.recorded for one in reads} == {bench.office.now}


@pytest.mark.parametrize("store_url", [pytest.param("postgres", marks=pytest.mark.postgres)], indirect=True)
def test_judging_a_unit_waits_for_nobody_who_works_on_another(bench: Any) -> None:
    """Two units that name each other's parts, recorded at once, must not wait for each other for ever."""
    first, second = bench.issue(count=2).serials
    for serial in (first, second):
        made = bench.fillings(serial)
        same = [replace(one, value="P-9002/1") if one.slot.id == "10-3" else one for one in made]
        bench.record(serial, same)
    with bench.office.store.transaction() as theirs:
        theirs.hold(second)
        with bench.office.store.transaction() as ours:
            ours.ask(text("SET LOCAL lock_timeout = '3s'"))
            ours.hold(first)
            judged = judge(bench.office, ours, first)
            ours.abandon()
    assert "PAR002" in {one.code for one in judged.verdict.findings}
