"""What was done comes into the records: ``record``, ``enter``, ``adjust``, ``note``; attaching and striking.

``unit blank`` writes the file that is filled in, ``unit attach`` keeps photographs, ``unit strike`` corrects.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from traveler.cli.answer import Answer, content, unless
from traveler.cli.request import Gauge, Reason, Request, Serial, Slot, arg, command, confirmed, flag, opt
from traveler.cli.unit import named, unit_line
from traveler.finding import CannotDo
from traveler.text import plural

if TYPE_CHECKING:
    from traveler.jobs.append import Appended
    from traveler.jobs.record import FileRecorded
    from traveler.record.entry import Entry
    from traveler.verdict.advice import CheckAdvice

LARGEST_RESULTS, LARGEST_ATTACHMENT = 100_000_000, 1_000_000_000
"""Bytes beyond which a file is not even read."""


@command("record", by="optional")
def record(
    request: Request,
    files: Annotated[list[Path], arg("FILE", "Filled travelers (PDF) and results (.csv, .yaml).")],
) -> Answer:
    """Record results from files: PDF, CSV, YAML.

    Each file is recorded as a whole or not at all, with every problem listed. A file given again adds
    nothing. The units are judged at once; a reading outside limits comes with how far to adjust.
    --by is the person to use where the file names none.

    Example: traveler record results.csv travelers/BW8-2639-0001N/traveler.pdf
    """
    from traveler.jobs.record import record as job
    from traveler.verdict.advice import advice_lines

    contents = [(path, content(path, LARGEST_RESULTS, "nothing was recorded")) for path in files]
    with request.session() as session:
        done = job(session, contents, request.by)
        advice = [line for unit in done.units for line in advice_lines(unit)]
    findings = [finding for file in done.files for finding in file.findings]
    findings += [finding for unit in done.units for finding in unit.verdict.findings]
    result = {
        "files": [file.as_dict() for file in done.files],
        "units": [unit.verdict.as_dict() for unit in done.units],
        "advice": advice,
    }
    lines = [*map(_file_line, done.files), *map(unit_line, done.units), *advice]
    return Answer(result, lines, findings)


def _file_line(file: FileRecorded) -> str:
    if not file.added and not file.known:
        return f"{file.file}: nothing recorded" + (f" for {file.serial}" if file.serial else "")
    added = plural(file.added, "entry", "entries")
    return f"{file.file}: {file.serial}, {added} added, {file.known} recorded before"


@command("enter", by="needed", at=True, numbers=True)
def enter(
    request: Request,
    serial: Serial,
    slot: Annotated[str, arg("SLOT", "Slot id, as 30-2/spindle=1; 'unit blank SERIAL' lists them.")],
    value: Annotated[str, arg("VALUE", "As written: '0.041 mm', yes, no, a lot, '12/1/0'.")],
    gauge: Gauge = None,
    unit: Annotated[str | None, opt("UNIT", "Unit of measure, if the value has none.")] = None,
    as_found: Annotated[bool, flag("Read before an adjustment.", "--as-found")] = False,
    text: Annotated[str | None, opt("TEXT", "Remark beside the value.")] = None,
    sure: Annotated[bool, flag("Record an implausible value as it is.", "--sure")] = False,
) -> Answer:
    """Record one result by hand.

    The rules are those of a file of results, and the unit is judged at once. A result that cannot be right
    is refused: an unknown gauge or person, a time in the future, a value of another kind. An implausible
    value is asked about.

    Example: traveler enter BW8-2639-0001N 30-2/spindle=1,end=near "0.041 mm" --gauge IND-03 --by tkiln
    """
    from traveler.jobs.record import DOUBTED, TypedResult
    from traveler.jobs.record import enter as job
    from traveler.verdict.advice import advice_lines

    with request.session() as session:
        asked = named(session, serial)
        when = request.moment(session) if request.at is not None else None
        typed = TypedResult(slot, value, unit, gauge, as_found, text)
        done = job(session, asked, typed, request.person, when, sure=sure)
        if {finding.code for finding in done.findings} & DOUBTED and confirmed(done.findings):
            done = job(session, asked, typed, request.person, when, sure=True)
        advice = advice_lines(done.judged) if done.entries else []
    result = {
        "serial": asked,
        "entries": _entries(done.entries),
        "unit": done.judged.verdict.as_dict(),
        "advice": advice,
    }
    lines = [f"{asked} {entry.slot}: {entry.body.kind}, recorded as #{entry.seq}" for entry in done.entries]
    lines += [unit_line(done.judged), *advice] if done.entries else []
    findings = (*done.findings, *(done.judged.verdict.findings if done.entries else ()))
    return Answer(result, lines, findings, undone=unless(done.entries))


def _entries(entries: Sequence[Entry]) -> list[dict[str, object]]:
    return [entry.model_dump(mode="json") for entry in entries]


@command("adjust", by="optional", at=True)
def adjust(
    request: Request,
    serial: Serial,
    check: Annotated[str, arg("CHECK", "Id of the check, or one of its slots.")],
    done: Annotated[str | None, opt("TEXT", "Record that this was adjusted.")] = None,
    amount: Annotated[str | None, opt("TURNS", "How far: '1/4 turn clockwise'.")] = None,
    followed: Annotated[bool | None, flag("Whether it was as advised.", "--followed/--not-followed")] = None,
) -> Answer:
    """Show how far to adjust, or record it.

    The advice is worked out from the readings recorded so far. With --done the adjustment is recorded,
    beside the advice and whether it was followed. The fitter decides.

    Example: traveler adjust 0001N belt-pull --done "tension screw" --amount "1/2 turn clockwise" --by tkiln
    """
    from traveler.jobs.adjust import Done, advice_for, keep_adjustment
    from traveler.trace.judging import judge

    if done is None:
        if amount is not None or followed is not None or request.at is not None:
            what = "--amount, --followed and --at go with --done"
            raise CannotDo(what, "say what was adjusted with --done")
        with request.session() as session, session.store.reading() as records:
            asked = named(session, serial)
            found = advice_for(judge(session, records, asked), check)
        return Answer(
            {"serial": asked, "advice": [advice.as_dict() for advice in found]}, map(_advice, found)
        )
    person = request.person
    with request.session() as session:
        asked = named(session, serial)
        what_was_done = Done(done, person, amount, followed, request.moment(session))
        kept = keep_adjustment(session, asked, check, what_was_done)
    lines = [
        f"{asked} #{entry.seq} {entry.slot}: adjustment recorded; now read again" for entry in kept.entries
    ]
    result = {"serial": asked, "entries": _entries(kept.entries)}
    return Answer(result, lines, kept.findings, undone=unless(kept.entries))


def _advice(found: CheckAdvice) -> str:
    where = found.slots[0] if len(found.slots) == 1 else found.check
    why = f" ({found.advice.reason})" if found.advice is not None and found.advice.reason else ""
    reading = f"{found.reading} against " if found.reading else ""
    return f"{where}: {reading}{found.limits}: {found.text}{why}"


@command("note", by="needed", at=True)
def note(
    request: Request,
    serial: Serial,
    text: Annotated[str, arg("TEXT", "The remark.")],
    slot: Slot = None,
) -> Answer:
    """Write a remark into a unit's record.

    Example: traveler note BW8-2639-0001N "Customer asked for the long cable." --by rhale
    """
    from traveler.jobs.append import note as job

    with request.session() as session:
        asked = named(session, serial)
        added = job(session, asked, text, request.person, slot=slot, at=request.moment(session))
    return _added(added, "noted")


@command("unit strike", by="needed", pin=True)
def strike(
    request: Request,
    serial: Serial,
    number: Annotated[int, arg("NUMBER", "Number of the entry, from 'trace'.")],
    reason: Reason,
) -> Answer:
    """Strike out an entry: it stays legible and no longer counts.

    You may strike out your own entries; quality may strike out those of others.

    Example: traveler unit strike BW8-2639-0001N 17 --reason "Read at the wrong spindle." --by tkiln
    """
    from traveler.jobs.append import strike as job
    from traveler.jobs.append import strike_action

    with request.session() as session:
        asked = named(session, serial)
        action = strike_action(session, asked, number, request.person)
        added = job(request.signed(session, action), asked, number, reason, request.person)
    return _added(added, f"struck out #{number}")


def _added(added: Appended, done: str) -> Answer:
    entry, serial = added.entry, added.judged.unit.serial
    result = {"serial": serial, "entry": entry.model_dump(mode="json") if entry is not None else None}
    lines = [f"{serial} #{entry.seq}: {done}"] if entry is not None else []
    return Answer(result, lines, added.findings, undone=unless(entry))


@command("unit attach", by="needed", at=True, pin=True)
def attach(
    request: Request,
    serial: Serial,
    files: Annotated[list[Path], arg("FILE", "Photographs (JPEG, PNG), PDF, plain text, CSV.")],
    slot: Slot = None,
    text: Annotated[str, opt("TEXT", "What they show.")] = "",
) -> Answer:
    """Attach photographs and documents to a unit's record.

    On a photo slot they fill it. All files of a command are kept, or none. The kind of a file is found from
    its bytes, which stay as they are.

    Example: traveler unit attach BW8-2639-0001N crate.jpg --slot C-2 --by pstrap
    """
    from traveler.jobs.attach import GivenFile
    from traveler.jobs.attach import attach as job

    given = [
        GivenFile(path.name, content(path, LARGEST_ATTACHMENT, "nothing was attached")) for path in files
    ]
    with request.session("note") as session:
        asked, when = named(session, serial), request.moment(session)
        done = job(session, asked, given, request.person, slot=slot, what=text, at=when)
    result = {"serial": asked, "files": [file.as_dict() for file in done.files]}
    done_to = {True: "attached", False: "was attached before"}
    lines = [f"{asked} #{file.entry.seq}: {file.attachment.name} {done_to[file.new]}" for file in done.files]
    return Answer(result, lines, done.findings, undone=unless(done.files))


@command("unit blank", language=True)
def blank(
    request: Request,
    serial: Serial,
    kind: Annotated[Literal["csv", "yaml"], flag("Kind of file.", "--format")] = "csv",
    to: Annotated[Path | None, opt("FILE", "Write it there; without it: to the screen.")] = None,
) -> Answer:
    """Write a file to fill in: a row for every slot, with its limits.

    Example: traveler unit blank BW8-2639-0001N --format csv --to results.csv
    """
    from traveler.files import write_whole
    from traveler.sheets.batch.requests import blank_file

    with request.session() as session:
        asked = named(session, serial)
        text = blank_file(session, asked, kind)
    if to is None:
        plain = text.removeprefix("\ufeff")
        return Answer({"serial": asked, "content": plain}, _as_is(plain))
    if to.exists():
        what = f"{to} is there already"
        raise CannotDo(what, "name another file; it may hold results")
    write_whole(to, text.encode())
    return Answer(
        {"serial": asked, "file": str(to)}, [f"wrote {to}: fill it in, then 'traveler record {to}'"]
    )


def _as_is(text: str) -> Iterator[str]:
    """The text as the only thing on stdout, line ends and all."""
    sys.stdout.write(text)
    yield from ()
