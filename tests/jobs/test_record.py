"""Recording from files: each whole or not at all, the same whatever kind of file, judged at once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from traveler.definition.plan import SlotKind
from traveler.demo.floor import as_csv, into_pdf
from traveler.finding import blocking
from traveler.jobs.print import print_new
from traveler.jobs.record import record
from traveler.record.entry import Read
from traveler.sheets.batch.print_job import TRAVELER
from traveler.sheets.batch.requests import sheet_file
from traveler.trace.judging import judge
from traveler.verdict.advice import advice_lines


def yaml_of(made: list[Any], serial: str, plan: Any) -> bytes:
    lines = [
        "format: 1",
        f"serial: {serial}",
        f"revision: {plan.revision}",
        f"digest: {plan.digest}",
        "results:",
    ]
    for reading in made:
        unit = f" {reading.unit}" if reading.unit else ""
        gauge = f", gauge: {reading.gauge}" if reading.gauge else ""
        at = f"{reading.at:%Y-%m-%d %H:%M}"
        lines.append(
            f'  "{reading.slot.id}": {{value: "{reading.value}{unit}", by: {reading.by}, at: "{at}"{gauge}}}'
        )
    return "\n".join(lines).encode()


def told(judged: Any) -> dict[str, Any]:
    """What a verdict says of each slot, apart from which unit and entry it is."""
    return {
        slot: (str(item.state), item.value, item.unit, item.readings)
        for slot, item in judged.verdict.slots.items()
    }


def entries_of(bench: Any, serial: str) -> Any:
    with bench.session.store.reading() as records:
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
    list(print_new(bench.session, serials))
    plan = bench.plans[serials[0]]
    made = [bench.fillings(serial) for serial in serials]
    blank = sheet_file(bench.session, serials[0], TRAVELER).read_bytes()
    contents = (
        into_pdf(blank, made[0]), as_csv(made[1], serials[1], plan), yaml_of(made[2], serials[2], plan)
    )  # fmt: skip
    names = ("traveler.pdf", "results.csv", "results.yaml")
    done = record(
        bench.session, [(Path(name), content) for name, content in zip(names, contents, strict=True)]
    )
    assert [file.added for file in done.files] == [11, 11, 11]
    verdicts = [told(unit) for unit in done.units]
    hinge = next(
        slot.id
        for slot in plan.slots()
        if slot.kind is SlotKind.PART and plan.step_of[slot.id].trace == "serial"
    )
    assert [verdict.pop(hinge)[0] for verdict in verdicts] == ["done"] * 3  # each has its own hinge
    assert verdicts[0] == verdicts[1] == verdicts[2]
    assert {entry.source for entry in entries_of(bench, serials[0])[1:]} == {"pdf"}
    assert {entry.source for entry in entries_of(bench, serials[1])[1:]} == {"file"}


@pytest.mark.parametrize("again", ["the same file", "another file of the same content"])
def test_a_file_given_again_adds_nothing(bench: Any, again: str) -> None:
    serial = bench.unit()
    made = bench.fillings(serial)
    bench.record(serial, made)
    content = as_csv(made, serial, bench.plans[serial])
    if again.startswith("another"):
        content = content.replace(b"\r\n", b"\n") + b"\n"
    done = record(bench.session, [(Path("again.csv"), content)])
    assert (done.files[0].added, done.files[0].known) == (0, 11)
    assert len(entries_of(bench, serial)) == 12


def test_a_file_given_again_after_a_strike_does_not_bring_the_struck_entry_back(bench: Any) -> None:
    from traveler.jobs.append import strike

    serial = bench.unit()
    content = as_csv(bench.fillings(serial), serial, bench.plans[serial])
    record(bench.session, [(Path("a.csv"), content)])
    strike(bench.session, serial, 2, "not done", "qmoor")
    record(bench.session, [(Path("a.csv"), content)])
    assert len(entries_of(bench, serial)) == 13


def test_one_bad_row_keeps_the_whole_file_out_and_every_problem_is_told(bench: Any) -> None:
    serial = bench.unit()
    made = bench.fillings(serial)
    text = as_csv(made, serial, bench.plans[serial]).decode()
    text = text.replace("0.038,mm", "0.038,kg", 1).replace("10-2,", "10-99,")
    done = record(bench.session, [(Path("results.csv"), text.encode())])
    assert (done.files[0].added, len(entries_of(bench, serial))) == (0, 1)
    found = {(finding.code, finding.place.file, finding.place.line) for finding in done.files[0].findings}
    assert found == {("RES042", "results.csv", 6), ("RES032", "results.csv", 8)}


def test_an_unknown_person_is_refused_before_it_stays_in_the_record(bench: Any) -> None:
    serial = bench.unit()
    made = [
        replace(filling, by="tkilm", value=filling.value.replace("tkiln", "tkilm"))
        for filling in bench.fillings(serial)[:1]
    ]
    done = bench.record(serial, made)
    assert [finding.code for finding in done.files[0].findings] == ["PER001"]
    assert done.files[0].findings[0].place.line == 5
    assert "tkiln" in done.files[0].findings[0].hint
    assert len(entries_of(bench, serial)) == 1


def test_one_refused_file_does_not_hold_up_the_others(bench: Any) -> None:
    first, second = bench.issue(count=2).serials
    good = as_csv(bench.fillings(first), first, bench.plans[first])
    bad = as_csv(bench.fillings(second), second, bench.plans[second]).replace(b"10-1,yes", b"10-1,maybe")
    done = record(
        bench.session, [(Path("bad.csv"), bad), (Path("good.csv"), good), (Path("x.bin"), b"\x00\xff")]
    )
    assert [file.added for file in done.files] == [0, 11, 0]
    assert [unit.unit.serial for unit in done.units] == [second, first]


def test_a_reading_that_is_out_is_recorded_and_told_with_which_way_to_adjust(bench: Any) -> None:
    serial = bench.unit()
    made = [
        replace(filling, value="0.150") if filling.slot.id == "10-4/side=left" else filling
        for filling in bench.fillings(serial)
    ]
    done = bench.record(serial, made)
    assert done.files[0].added == 11
    out = [finding for finding in done.units[0].verdict.findings if finding.place.slot == "10-4/side=left"]
    assert [finding.code for finding in out] == ["REA001"]
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
        with bench.session.store.reading() as records:
            unit = records.unit(serial)
            states.append((unit.state, str(judge(bench.session, records, serial).verdict.state)))
    assert [kept for kept, _ in states] == ["building", "inspection", "inspection"]
    assert all(kept == worked_out for kept, worked_out in states)


@pytest.mark.parametrize(
    ("serial", "code"),
    [("ST2-2645-0001A", "SER001"), ("ST2 2645", "SER002"), ("ST2-9945-00010", "REC001"), ("", "RES040")],
)
def test_a_serial_that_cannot_be_right_is_refused_at_its_place(bench: Any, serial: str, code: str) -> None:
    from traveler.definition.serial import make_serial

    unit = bench.unit()
    if code == "REC001":
        serial = make_serial("ST2-9945-{n:04}", "2", 1, bench.session.today)
    content = as_csv(bench.fillings(unit), serial, bench.plans[unit])
    done = record(bench.session, [(Path("r.csv"), content)])
    assert [finding.code for finding in done.files[0].findings] == [code]
    assert done.files[0].findings[0].place.file == "r.csv"
    assert done.units == ()


def test_what_was_read_keeps_its_digits_and_its_times(bench: Any) -> None:
    serial = bench.unit()
    made = bench.fillings(serial)
    bench.record(serial, made)
    reads = [entry for entry in entries_of(bench, serial) if isinstance(entry.body, Read)]
    said = [filling for filling in made if filling.slot.kind is SlotKind.READING]
    assert [(entry.slot, entry.body.written, entry.at, entry.by) for entry in reads] == [
        (value.slot.id, value.value, value.at, value.by) for value in said
    ]
    assert {entry.recorded for entry in reads} == {bench.session.now}


@pytest.mark.parametrize("store_url", [pytest.param("postgres", marks=pytest.mark.postgres)], indirect=True)
def test_judging_a_unit_waits_for_nobody_who_works_on_another(bench: Any) -> None:
    """Two units that name each other's parts, recorded at once, must not wait for each other for ever."""
    first, second = bench.issue(count=2).serials
    for serial in (first, second):
        made = bench.fillings(serial)
        same = [
            replace(filling, value="P-9002/1") if filling.slot.id == "10-3" else filling for filling in made
        ]
        bench.record(serial, same)
    with bench.session.store.transaction() as theirs:
        theirs.hold(second)
        with bench.session.store.transaction() as ours:
            ours.ask(text("SET LOCAL lock_timeout = '3s'"))
            ours.hold(first)
            judged = judge(bench.session, ours, first)
            ours.abandon()
    assert "PAR002" in {finding.code for finding in judged.verdict.findings}
