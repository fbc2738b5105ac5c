"""A results file compared with the plan of its unit: drafts of entries, or every reason why not."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Literal
from zoneinfo import ZoneInfo

from traveler.definition.plan import Plan, Slot, SlotKind, Step
from traveler.definition.serial import tidy_serial
from traveler.finding import Finding, Place, Weight, blocking, order
from traveler.measure.number import Unreadable, exact_text
from traveler.measure.quantity import Quantity, parse_quantity, same_dimension
from traveler.record.entry import (
    Body,
    Confirmed,
    Counted,
    Draft,
    Entry,
    Fitted,
    Noted,
    Packed,
    Photographed,
    Read,
    Signable,
    Signed,
    Stopped,
    Ticked,
    Witnessed,
    standing_entries,
)
from traveler.record.readers.attribution import SIGNED, Attribution
from traveler.record.readers.cells import (
    Cell,
    FreeLine,
    ResultRow,
    Results,
    say,
    slot_of_date,
    tick,
)
from traveler.record.stored import body_text
from traveler.text import did_you_mean


@dataclass(frozen=True, slots=True)
class DraftRead:
    """A draft made from a file, and whether the result itself says when (``timed``) and who (``named``).

    Where it does not, time and person come from elsewhere (a signature that is added later, the moment of
    recording) and are not what tells two results apart.
    """

    draft: Draft
    timed: bool
    named: bool


def without_duplicates(made: Iterable[DraftRead], recorded: tuple[Entry, ...]) -> list[DraftRead]:
    """Those that are not recorded yet.

    The same is: same slot, same result (a reading by value, unit, gauge and as-found mark, however it was
    written or came), and the same person and time as far as the file gives them. A result without a time is
    not answered by a struck entry, and each entry answers for one result only.
    """
    stands = {entry.seq for entry in standing_entries(recorded)}
    pool: dict[Hashable, list[Entry]] = defaultdict(list)
    for entry in recorded:
        pool[_result(entry)].append(entry)
    new: list[DraftRead] = []
    for draft in made:
        known = pool[_result(draft.draft)]
        same = next((entry for entry in known if _same(draft, entry, stands)), None)
        if same is None:
            new.append(draft)
        else:
            known.remove(same)
    return new


def _same(draft: DraftRead, entry: Entry, stands: set[int]) -> bool:
    when = entry.at == draft.draft.at if draft.timed else entry.seq in stands
    return when and (entry.by == draft.draft.by or not draft.named)


def _result(draft: Draft) -> Hashable:
    body = draft.body
    if isinstance(body, Read):
        return (draft.slot, body.value, body.unit, body.gauge, body.as_found)
    if isinstance(body, Signable):  # how a signature was proved is no part of the result
        body = body.model_copy(update={"pin_checked": False, "instead_of": None})
    return (draft.slot, body_text(body))


@dataclass(frozen=True, slots=True)
class Understood:
    """``drafts`` to append, in order (none if a finding blocks); ``known`` counts those recorded before."""

    drafts: tuple[Draft, ...]
    findings: tuple[Finding, ...]
    known: int = 0


@dataclass(frozen=True, slots=True)
class UnitContext:
    """What the file is compared with: the unit, its entries so far, who records it and when."""

    serial: str
    plan: Plan
    recorded: tuple[Entry, ...]
    now: datetime
    zone: ZoneInfo
    by: str | None = None


def understand_results(results: Results, unit: UnitContext) -> Understood:
    """All or nothing: drafts for everything new in the file, or findings.

    Findings: those of the reader, of :func:`read_body`, :class:`Attribution` and
    :func:`traveler.record.readers.cells.read_time`, and RES040 another unit or none, RES041 another revision
    or digest, RES042 no such slot, RES043 a slot given twice, RES046 a gauge, unit or as-found mark where
    nothing is measured, RES048 as_found is neither yes nor no.
    """
    reading = _Reading(results, unit)
    made = list(reading.drafts())
    findings = tuple(order((*results.findings, *reading.findings)))
    if blocking(findings):
        return Understood((), findings)
    new = without_duplicates(made, unit.recorded)
    return Understood(tuple(draft_read.draft for draft_read in new), findings, len(made) - len(new))


class _Reading:
    """One pass over a file; findings collect here."""

    def __init__(self, results: Results, unit: UnitContext) -> None:
        self.results = results
        self.unit = unit
        self.plan = unit.plan
        self.who = Attribution(results, unit.plan, unit.zone, unit.by)
        self.findings = self.who.findings
        self.once: dict[str, Cell] = {}

    def drafts(self) -> Iterator[DraftRead]:
        """Every result of the file, in its order (a sheet's: in the order of the work)."""
        self.identity()
        rows = [(row, slot) for row in self.results.rows if (slot := self.slot(row)) is not None]
        if self.results.source == "pdf":
            works = {name: at for at, name in enumerate(self.plan.by_slot)}
            rows.sort(key=lambda pair: (works[pair[1].id], "as_found" not in pair[0].said))
        self.who.signed_by(rows)
        for row, slot in rows:
            yield from self.row(row, slot)
        for remark in self.results.remarks:
            yield from self.remark(remark)

    def identity(self) -> None:
        """Whether the file is for this unit, and for what the unit was issued with."""
        head, plan = self.results.head, self.plan
        serial = head.get("serial")
        if serial is None:
            place = Place(self.results.file, *(() if self.results.source == "pdf" else (1, 1)))
            hint = f"give it the line 'serial: {self.unit.serial}'"
            self.add("RES040", Cell("", place), "the file names no unit", hint)
        elif tidy_serial(serial.text) != tidy_serial(self.unit.serial):
            self.add("RES040", serial, f"this is for {serial.text[:60]}, not for {self.unit.serial}")
        for name, issued in (("revision", plan.revision), ("digest", plan.digest)):
            if name in head and head[name].text != issued:
                what = f"{name} {head[name].text[:64]} here, but the unit was issued with {issued}"
                self.add("RES041", head[name], what, "print the traveler again and copy the results over")

    def slot(self, row: ResultRow) -> Slot | None:
        """The slot a row names; undoes what spreadsheets make of ``10-1``."""
        name = row.slot.text
        known = self.plan.by_slot
        found = known.get(name) or known.get(slot_of_date(name, known) or "")
        if found is None:
            hint = did_you_mean(name, known, "'traveler unit blank' lists the slots")
            self.add(
                "RES042", row.slot, f"there is no slot '{name[:80]}'" if name else "the slot is missing", hint
            )
        return found

    def row(self, row: ResultRow, slot: Slot) -> Iterator[DraftRead]:
        """The entries of one row: its result, and its note."""
        value, note = row.said.get("value"), row.said.get("note")
        bodies: list[Body] = []
        if value is not None:
            self.misplaced(row, slot)
            said = read_body(row, value, slot, self.plan)
            if isinstance(said, Finding):
                self.findings.append(said)
            elif said is not None and self.first_time(row, slot, value, said):
                bodies.append(said)
        if note is not None:
            bodies.append(Noted(text=note.text))
        by = self.who.person(row, slot) if bodies else None
        if by is not None:
            at = self.who.time(row, slot)
            for body in bodies:
                yield self.fresh(slot.id, body, by, at)

    def misplaced(self, row: ResultRow, slot: Slot) -> None:
        """Marks of a reading where nothing is read."""
        as_found = row.said.get("as_found")
        if as_found is not None and tick(as_found.text) is None:
            self.add(
                "RES048", as_found, f"as_found is '{as_found.text[:20]}'", "write yes, or leave it blank"
            )
        if slot.kind in (SlotKind.READING, SlotKind.WORKED):
            return
        for name in ("gauge", "unit", "as_found"):
            if name in row.said and tick(row.said[name].text) is not False:
                what = f"{name} '{row.said[name].text[:40]}', but nothing is measured in {slot.id}"
                self.add("RES046", row.said[name], what, "leave it blank, or check the slot")

    def first_time(self, row: ResultRow, slot: Slot, value: Cell, body: Body) -> bool:
        """A slot is filled once in a file; readings as often as they differ."""
        key = slot.id
        if slot.kind is SlotKind.READING:
            key = "|".join([slot.id, body.model_dump_json(), row.said["at"].text if "at" in row.said else ""])
        first = self.once.setdefault(key, value)
        if first is value:
            return True
        where = f" in line {first.place.line}" if first.place.line else ""
        what = f"{slot.id} is given again with '{value.text[:40]}'; it was given before{where}"
        self.add("RES043", value, what, "keep one; readings after an adjustment get a time each")
        return False

    def remark(self, remark: FreeLine) -> Iterator[DraftRead]:
        """A stop, or a note, written on a free line of a sheet."""
        parts = [remark.said.get("step"), remark.text, remark.said.get("value")]
        slot = parts[0].text if parts[0] is not None and parts[0].text in self.plan.by_slot else None
        text = ": ".join(part.text for part in (parts[1:] if slot else parts) if part is not None)
        said = remark.said.get("by") or self.results.head.get("by")
        by = self.who.named(said, own=True) if said is not None else None
        if said is None and self.unit.by is not None:
            by = (self.unit.by, False)
        elif said is None:
            self.add("RES044", remark.text, "nobody is named for this line", "give --by")
        if by is not None:
            at = self.who.moment(remark.said.get("at"))
            body: Body = Stopped(what=text) if remark.stops else Noted(text=text)
            yield self.fresh(slot, body, by, (at, at is not None))

    def fresh(
        self, slot: str | None, body: Body, by: tuple[str, bool], at: tuple[datetime | None, bool]
    ) -> DraftRead:
        """The draft, with what is known of who and when."""
        unit = self.unit
        draft = Draft(
            unit=unit.serial, at=at[0] or unit.now, zone=unit.zone.key, by=by[0], slot=slot,
            body=body, source=self.results.source,
        )  # fmt: skip
        return DraftRead(draft, timed=at[1] and at[0] is not None, named=by[1])

    def add(self, code: str, written: Cell, what: str, hint: str = "") -> None:
        """Notes a finding."""
        self.findings.append(say(code, written, what, hint))


BodyRead = Body | Finding | None
"""A body, why there is none, or None where nothing is to be recorded."""

_COUNT = re.compile(r"([0-9]{1,9}) *([a-z]*)[ ,;/]*", re.IGNORECASE)
_SIMPLE: dict[SlotKind, Callable[[], Body]] = {
    SlotKind.TICK: Ticked, SlotKind.PACKED: Packed, SlotKind.SIGN: Signed, SlotKind.WITNESS: Witnessed,
}  # fmt: skip


def read_body(row: ResultRow, value: Cell, slot: Slot, plan: Plan) -> BodyRead:
    """What the value of a row says in this slot.

    Findings: RES030 not a tick, RES031 reading not understood (codes NUM and UNT say why), RES032 of another
    dimension than the limits, RES033 unit given twice, RES034 counts not understood, RES035 worked out by the
    tool (warning).
    """
    if slot.kind is SlotKind.READING:
        return _reading(row, value, plan.step_of.get(slot.id))
    if slot.kind is SlotKind.PART:
        return _part(value, plan.step_of.get(slot.id))
    if slot.kind is SlotKind.COUNT:
        return _count(value)
    if slot.kind is SlotKind.WORKED:
        what = f"'{value.text[:40]}' is not taken over: this value is worked out by the tool"
        return say("RES035", value, what, "leave it blank", weight=Weight.WARNING)
    return _ticked(value, slot)


def _ticked(value: Cell, slot: Slot) -> BodyRead:
    yes = tick(value.text)
    if slot.kind is SlotKind.PHOTO and yes is not False:
        return Photographed(name=None if yes else value.text)
    if slot.kind is SlotKind.CONFIRM and yes is not None:
        return Confirmed(yes=yes)
    if slot.kind in SIGNED and yes is None:
        return _SIMPLE[slot.kind]()  # the value is the person; who it is, is settled by the caller
    if yes is None or slot.kind not in _SIMPLE:
        what = f"'{value.text[:40]}' is not a tick; {slot.label} asks for one"
        return say("RES030", value, what, "write yes or x, or leave it blank")
    return _SIMPLE[slot.kind]() if yes else None


def _after_in(unit: str) -> str:
    """The unit of measure as it is written after the word *in*."""
    return "inch" if unit == "in" else unit


def _reading(row: ResultRow, value: Cell, step: Step | None) -> BodyRead:
    printed = step.limits.unit if step and step.limits and row.printed_unit else None
    column = row.said.get("unit")
    try:
        quantity, came = _quantity(value, column, printed)
    except Unreadable as problem:
        return say("RES031", value, f"{problem.what} ({problem.code})", problem.hint)
    if column is not None and came == "written" and _other_unit(column.text, quantity):
        what = f"the reading says {quantity.unit}, the column unit says {column.text[:20]}"
        return say("RES033", value, what, "write the unit once")
    if step and step.limits and not same_dimension(quantity.unit, step.limits.unit):
        what = f"'{value.text[:40]}' is in {quantity.unit}, but the limits are {step.limits.text}"
        return say("RES032", value, what, f"read it in {_after_in(step.limits.unit)}")
    gauge = row.said.get("gauge")
    return Read(
        written=value.text, value=exact_text(quantity.value, quantity.decimals), unit=quantity.unit,
        gauge=gauge.text.upper() if gauge else None, as_found=_as_found(row), unit_from=came,
    )  # fmt: skip


def _quantity(
    value: Cell, column: Cell | None, printed: str | None
) -> tuple[Quantity, Literal["written", "column", "sheet"]]:
    """The reading and where its unit came from: the value itself, else the column, else the sheet."""
    try:
        return parse_quantity(value.text), "written"
    except Unreadable as problem:
        given = column.text if column else printed
        if problem.code != "UNT001" or given is None:
            raise
        return parse_quantity(value.text, given), "column" if column else "sheet"


def _other_unit(column: str, quantity: Quantity) -> bool:
    try:
        return parse_quantity("1", column).unit != quantity.unit
    except Unreadable:
        return True


def _as_found(row: ResultRow) -> bool:
    said = row.said.get("as_found")
    return said is not None and tick(said.text) is True


def _part(value: Cell, step: Step | None) -> BodyRead:
    lot = step is not None and step.trace == "lot"
    return Fitted(
        trace="lot" if lot else "serial", value=value.text, number=step.part_number if step else None
    )


def _count(value: Cell) -> BodyRead:
    """``12``, ``12/1/0``, ``12 good, 1 rework, 0 scrap``."""
    names = ("good", "rework", "scrap")
    found = _COUNT.findall(value.text)
    counts = {(word.lower() or names[at % 3]): int(number) for at, (number, word) in enumerate(found)}
    whole = _COUNT.sub("", value.text).strip() == ""
    if not whole or not found or len(found) > 3 or len(counts) < len(found) or not set(counts) <= set(names):
        what = f"'{value.text[:40]}' is not a count of pieces"
        return say("RES034", value, what, "write it like '12 good, 1 rework, 0 scrap'")
    if "good" not in counts:
        return say("RES034", value, "the number of good pieces is missing", "write 0 good if there are none")
    return Counted(good=counts["good"], rework=counts.get("rework", 0), scrap=counts.get("scrap", 0))
