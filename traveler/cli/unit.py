"""Where units are and what is recorded of them: ``status``, ``validate``, ``trace``, dossier and files."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from traveler.cli.answer import Answer, Column, LongAnswer, table, watched
from traveler.cli.request import Request, Serial, SomeSerials, arg, command, flag, opt, shown
from traveler.finding import CannotDo, Finding, blocking
from traveler.text import duration_text, plural

if TYPE_CHECKING:
    from traveler.record.archive.attachments import ListedFile
    from traveler.shop.session import Session
    from traveler.trace.dossier.result import Dossier
    from traveler.trace.history import History, HistoryLine
    from traveler.trace.status import UnitStatus
    from traveler.trace.where_used import Use
    from traveler.verdict.judge import Judged


def named(session: Session, text: str) -> str:
    """The serial of the unit that a person named, whole or by its end.

    Raises:
        CannotDo: no unit is named so, or several are.
    """
    return all_named(session, [text])[0]


def all_named(session: Session, texts: Iterable[str]) -> tuple[str, ...]:
    """As :func:`named` for several, each once, in the order given."""
    from traveler.record.plans import find_serials

    with session.store.reading() as records:
        return find_serials(records, texts)


MaybeSerial = Annotated[
    str | None, arg("SERIAL", "Serial number or its end. Without it: every unit on the floor.")
]


@command("status")
def status(
    request: Request,
    serial: MaybeSerial = None,
    every: Annotated[bool, flag("Also units that left.", "--all")] = False,
) -> Answer:
    """Show where units are and what they wait for.

    Without SERIAL: every unit that has not left, the latest first; --all adds those that left. With SERIAL:
    its state, what blocks it, and the one next command.

    Example: traveler status, or: traveler status BW8-2639-0001N
    """
    from traveler.trace.status import floor, unit_status

    with request.session() as session:
        if serial is None:
            found = floor(session, every=every)
            units = [unit for unit in found if not isinstance(unit, Finding)]
            damaged = [finding for finding in found if isinstance(finding, Finding)]
            lines = [_floor_table(units)] if units else ["no unit is on the floor"]
            return Answer({"units": [unit.as_dict() for unit in units]}, lines, damaged)
        found_unit = unit_status(session, named(session, serial))
    return Answer(found_unit.as_dict(), _status_lines(found_unit))


def _floor_table(found: Sequence[UnitStatus]) -> str:
    """The units on the floor as text."""
    columns = (
        "serial", Column("built as", drop=3), Column("state", drop=2), Column("operation", text=True, drop=1),
        Column("waits for", text=True), "due", "days late",
    )  # fmt: skip
    rows = [
        (
            unit.serial, unit.built_as, unit.state, unit.operation, unit.waits_for,
            str(unit.due or ""), str(unit.days_late or ""),
        )
        for unit in found
    ]  # fmt: skip
    return table(columns, rows)


def _status_lines(found: UnitStatus) -> Iterator[str]:
    due = f", due {found.due}" if found.due is not None else ""
    late = f", {found.days_late} days late" if found.days_late else ""
    yield f"{found.serial}  {found.built_as}: {found.place.text}{due}{late}"
    if found.operation:
        yield f"operation: {found.operation} ({found.done} of {found.slots} slots)"
    if found.waits_for:
        yield f"waits for: {found.waits_for}"
    if found.blocked_by:
        yield "blocked by:"
        yield from (f"  {finding}" for finding in found.blocked_by)
    if found.next:
        yield f"next: {found.next}"


@command("validate")
def validate(
    request: Request,
    serials: SomeSerials = None,
    every: Annotated[bool, flag("Every unit of the shop.", "--all")] = False,
    slots: Annotated[bool, flag("Show every slot with its state.", "--slots")] = False,
) -> LongAnswer:
    """List everything that is wrong with units.

    They are judged by the definition they were issued with. Exit code 1 if a finding blocks the release;
    open work does not.

    Example: traveler validate BW8-2639-0001N --slots
    """
    if every == bool(serials):
        what = "the units must be named in one way"
        raise CannotDo(what, "give SERIAL, or --all")
    return LongAnswer("units", _judged(request, serials or (), slots=slots))


def _judged(
    request: Request, serials: Sequence[str], *, slots: bool
) -> Iterator[tuple[str, Sequence[Finding]]]:
    from traveler.trace.judging import every_serial, judge_all

    with request.session() as session:
        wanted = all_named(session, serials) or every_serial(session)
        judged = judge_all(session, wanted, Show(request.json_wanted, slots))
        with closing(judged):
            for unit in watched(judged, len(wanted), "judging"):
                yield ("", [unit]) if isinstance(unit, Finding) else (unit.text, unit.findings)


@dataclass(frozen=True, slots=True)
class UnitShown:
    """What is kept of a judged unit: its lines, or its JSON document, and its findings."""

    text: str
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Show:
    """Makes what is shown of a unit, in whatever process it was judged."""

    json_wanted: bool
    slots: bool

    def __call__(self, judged: Judged) -> UnitShown:
        """The unit as it is asked for."""
        if self.json_wanted:
            text = json.dumps(judged.verdict.as_dict(), ensure_ascii=False, default=str)
        else:
            text = "\n".join([unit_line(judged), *([slots_table(judged)] if self.slots else [])])
        return UnitShown(text, judged.verdict.findings)


def unit_line(judged: Judged) -> str:
    """``BW8-2639-0001N  bobbin-winder 8 D  building: 41 of 120 slots, 2 findings block``."""
    unit, verdict = judged.unit, judged.verdict
    done = sum(slot.state != "open" for slot in verdict.slots.values())
    block = len(blocking(verdict.findings))
    if block:
        result = "1 finding blocks" if block == 1 else f"{block} findings block"
    else:
        result = "no blocking findings"
    built = f"{unit.product} {unit.variant} {unit.revision}"
    return f"{unit.serial}  {built}  {verdict.state}: {done} of {len(verdict.slots)} slots, {result}"


def slots_table(judged: Judged) -> str:
    """Every slot in the order of the work: what it asks, what was written, its state."""
    from traveler.record.entry import recorded_late

    plan = judged.plan
    hours = judged.case.settings.late_after_hours
    late = {entry.seq for entry in judged.entries if recorded_late(entry, hours) is not None}
    rows = []
    for name, slot in judged.verdict.slots.items():
        step = plan.step_of.get(name)
        limits = step.limits.text if step is not None and step.limits is not None else ""
        value = " ".join(part for part in (slot.value, slot.unit) if part)
        state = f"{slot.state}, recorded late" if slot.entry in late else str(slot.state)
        rows.append((name, plan.by_slot[name].label, slot.acceptance or limits, value, state))
    columns = ("slot", Column("label", text=True, drop=1), "limits", Column("written", text=True), "state")
    return table(columns, rows)


@command("trace")
def trace(
    request: Request,
    serial: Annotated[str | None, arg("SERIAL", "Serial number or its end.")] = None,
    lot: Annotated[str | None, opt("LOT", "Units with this lot.")] = None,
    part_serial: Annotated[str | None, opt("NUMBER", "Units with this part.")] = None,
    gauge: Annotated[str | None, opt("ID", "Units measured with this gauge.")] = None,
    person: Annotated[str | None, opt("ID", "Units this person wrote about.")] = None,
    customer: Annotated[str | None, opt("NAME", "Units shipped to this customer.")] = None,
    order: Annotated[str | None, opt("REF", "Units issued for this order.")] = None,
) -> Answer:
    """Show the life of a unit, or the units that share something.

    A life leaves nothing out: entries struck out are marked and stay legible.

    Example: traveler trace BW8-2639-0001N, or: traveler trace --lot 4711
    """
    shared = {
        "lot": lot, "part_serial": part_serial, "gauge": gauge, "person": person, "customer": customer,
        "order": order,
    }  # fmt: skip
    asked = [(kind, value) for kind, value in shared.items() if value is not None]
    if len(asked) + (serial is not None) != 1:
        what = "ask for one thing: SERIAL, --lot, --part-serial, --gauge, --person, --customer or --order"
        raise CannotDo(what)
    with request.session() as session:
        return _shared(session, *asked[0]) if serial is None else _life(session, named(session, serial))


def _life(session: Session, serial: str) -> Answer:
    from traveler.record.plans import known_unit, plan_of
    from traveler.trace.history import history

    with session.store.reading() as records:
        unit = known_unit(records, serial)
        found = history(unit, records.entries(serial), plan_of(records, unit), session.shop.settings)
    return Answer(found.as_dict(), [life_table(found, session.shop.settings.time_zone)])


def life_table(found: History, zone: str) -> str:
    """The life of a unit as text; times as the shop's wall clock showed them."""
    unit = found.unit
    head = f"{unit.serial}  {unit.product} {unit.variant}, revision {unit.revision}: {found.where}"
    columns = ("#", "when", "who", Column("slot", drop=1), Column("what", text=True))
    tail = f"{plural(unit.entries, 'entry', 'entries')}, last link {unit.head}"
    return "\n".join((head, table(columns, [_row(line, zone) for line in found.lines]), tail))


def _row(line: HistoryLine, zone: str) -> tuple[str, ...]:
    from traveler.trace.history import signer

    entry = line.entry
    text = line.text if line.struck_by is None else f"STRUCK OUT by #{line.struck_by}: {line.text}"
    if line.late is not None:
        text = f"{text} (LATE: recorded {duration_text(line.late)} afterwards)"
    label = f"{line.label.rstrip('.')}: " if line.label else ""
    return str(entry.seq), shown(entry.at, zone), signer(entry), entry.slot or "", label + text


def _shared(session: Session, kind: str, value: str) -> Answer:
    from traveler.trace.where_used import named_value, where_used

    with session.store.reading() as records:
        named_value(session, records, kind, value)
        uses = where_used(records, kind, value)
    word = kind.replace("_", " ")
    result = {"kind": kind, "value": value, "units": [use.as_dict() for use in uses]}
    if not uses:
        return Answer(result, [f"no unit has the {word} {value}"])
    count = plural(len(uses), "unit")
    return Answer(result, [f"{word} {value}: {count}", uses_table(uses)])


def uses_table(uses: Sequence[Use]) -> str:
    """The units as text: serial, what they were built as, where they are, in which steps."""
    columns = ("serial", Column("built as", drop=2), Column("where it is", text=True))
    return table((*columns, Column("steps", text=True, drop=1)), map(_use, uses))


def _use(use: Use) -> tuple[str, ...]:
    unit = use.unit
    steps = dict.fromkeys(slot.split("/")[0] for slot in use.slots)
    where = use.place.text if use.stands else f"{use.place.text} (only in entries struck out)"
    return unit.serial, f"{unit.product} {unit.variant} {unit.revision}", where, ", ".join(steps)


@command("unit files")
def files(
    request: Request,
    serial: Serial,
    to: Annotated[Path | None, opt("DIR", "Write the files into this folder.")] = None,
) -> Answer:
    """List the photographs and documents of a unit.

    Each is compared with what was attached. With --to they are written into a folder.

    Example: traveler unit files BW8-2639-0001N --to photographs
    """
    from traveler.record.archive.attachments import attachments_of, take_out

    with request.session() as session:
        asked = named(session, serial)
        found = take_out(session.store, asked, to) if to is not None else attachments_of(session.store, asked)
        zone = session.shop.settings.time_zone
    lines = [_files_table(found, zone)] if found else [f"{asked} has no photographs or documents"]
    lines += [f"  {listed.file}" for listed in found if listed.file is not None]
    result = {"serial": asked, "attachments": [listed.as_dict() for listed in found]}
    return Answer(result, lines, [listed.wrong for listed in found if listed.wrong is not None])


def _files_table(found: Iterable[ListedFile], zone: str) -> str:
    rows = [
        (
            str(listed.entry.seq), shown(listed.entry.at, zone), listed.entry.by, listed.entry.slot or "",
            listed.attachment.name, _kind(listed), f"{listed.attachment.size:,}", _remark(listed),
        )
        for listed in found
    ]  # fmt: skip
    columns = (
        "#", Column("when", drop=2), Column("who", drop=3), Column("slot", drop=4), "name",
        Column("kind", drop=5), Column("bytes", drop=6), Column("remark", text=True),
    )  # fmt: skip
    return table(columns, rows)


def _kind(listed: ListedFile) -> str:
    from traveler.record.attachments import CALLED

    called = CALLED.get(listed.attachment.media_type, listed.attachment.media_type)
    return f"{called} {listed.facts.width} × {listed.facts.height}" if listed.facts else called


def _remark(listed: ListedFile) -> str:
    remarks = [listed.said if listed.said != listed.attachment.name else ""]
    remarks.append("STRUCK OUT" if listed.struck else "")
    if listed.wrong is not None:
        remarks.append("missing" if listed.wrong.code == "ATT004" else "changed since it was attached")
    return "; ".join(part for part in remarks if part)


@command("unit dossier")
def dossier(
    request: Request,
    serial: Serial,
    to: Annotated[Path | None, opt("DIR", "Folder; without it: that of the unit's sheets.")] = None,
    formats: Annotated[
        str, opt("LIST", "Which of pdf, html and json, joined by commas.", "--format")
    ] = "pdf,html,json",
) -> Answer:
    """Write everything about a unit as PDF, HTML and JSON.

    Page one: the complaint, what is unusual about this unit, which other units are affected. Then readings,
    parts, lots, gauges, people, photographs, shipping and the whole life.

    Example: traveler unit dossier BW8-2639-0001N --to /tmp/dossier
    """
    from traveler.trace.dossier.gather import chosen_formats, write_dossier

    chosen = chosen_formats(formats)
    with request.session() as session:
        done = write_dossier(session, named(session, serial), to=to, formats=chosen)
    return Answer(
        done.as_dict(), [*_summary(done.found), *(f"  {file}" for file in done.files)], done.findings
    )


def _summary(found: Dossier) -> Iterator[str]:
    """Page one as text."""
    yield f"{found.unit.serial}  {found.title} {found.variant}: {found.where}"
    for case in found.cases:
        yield f"case {case.case.name}, {case.case.state}: {case.case.complaint.text}"
        yield from (f"  {value.sentence}" for value in case.values)
    for remark in found.remarks:
        yield f"{'>>' if remark.strong else ' -'} {remark.head}. {remark.text}"
    alike = [other.serial for other in found.others if other.complained]
    if alike:
        yield f"same complaint: {', '.join(alike)}"
    if found.contain:
        yield f"next: {found.contain}"
