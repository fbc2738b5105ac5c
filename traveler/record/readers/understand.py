"""A results file against the plan of its unit: drafts of entries, or every reason why not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from difflib import get_close_matches
from zoneinfo import ZoneInfo

from traveler.definition.plan import Plan, Slot, SlotKind
from traveler.definition.serial import tidy_serial
from traveler.finding import Finding, Place, blocking, order
from traveler.record.entry import Body, Draft, Entry, Noted, Stopped
from traveler.record.readers.already import Fresh, fresh
from traveler.record.readers.attribution import Attribution
from traveler.record.readers.bodies import body_of
from traveler.record.readers.mangled import unmangled
from traveler.record.readers.ticks import tick
from traveler.record.readers.written import Remark, Results, Row, Written, say


@dataclass(frozen=True, slots=True)
class Understood:
    """``drafts`` to append, in order (none if a finding blocks); ``known`` counts those recorded before."""

    drafts: tuple[Draft, ...]
    findings: tuple[Finding, ...]
    known: int = 0


@dataclass(frozen=True, slots=True)
class Setting:
    """What the file is held against: the unit, its entries so far, who records it and when."""

    serial: str
    plan: Plan
    already: tuple[Entry, ...]
    now: datetime
    zone: ZoneInfo
    by: str | None = None


def understand(results: Results, setting: Setting) -> Understood:
    """All or nothing: drafts for everything new in the file, or findings.

    Findings: those of the reader, of :func:`body_of`, :class:`Attribution` and :func:`read_time`, and RES040
    another unit or none, RES041 another revision or digest, RES042 no such slot, RES043 a slot given twice,
    RES046 a gauge, unit or as-found mark where nothing is measured, RES048 as_found is neither yes nor no.
    """
    reading = _Reading(results, setting)
    made = list(reading.drafts())
    findings = tuple(order((*results.findings, *reading.findings)))
    if blocking(findings):
        return Understood((), findings)
    new = fresh(made, setting.already)
    return Understood(tuple(one.draft for one in new), findings, len(made) - len(new))


class _Reading:
    """One pass over a file; findings collect here."""

    def __init__(self, results: Results, setting: Setting) -> None:
        self.results = results
        self.setting = setting
        self.plan = setting.plan
        self.who = Attribution(results, setting.plan, setting.zone, setting.by)
        self.findings = self.who.findings
        self.once: dict[str, Written] = {}

    def drafts(self) -> Iterator[Fresh]:
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
            hint = f"give it the line 'serial: {self.setting.serial}'"
            self.add("RES040", Written("", place), "the file names no unit", hint)
        elif tidy_serial(serial.text) != tidy_serial(self.setting.serial):
            self.add("RES040", serial, f"this is for {serial.text[:60]}, not for {self.setting.serial}")
        for name, issued in (("revision", plan.revision), ("digest", plan.digest)):
            if name in head and head[name].text != issued:
                what = f"{name} {head[name].text[:64]} here, but the unit was issued with {issued}"
                self.add("RES041", head[name], what, "print the traveler again and copy the results over")

    def slot(self, row: Row) -> Slot | None:
        """The slot a row names; undoes what spreadsheets make of ``10-1``."""
        name = row.slot.text
        known = self.plan.by_slot
        found = known.get(name) or known.get(unmangled(name, known) or "")
        if found is None:
            close = get_close_matches(name[:80], known, n=1)
            hint = f"did you mean {close[0]}?" if close else "'traveler blank' lists the slots"
            self.add(
                "RES042", row.slot, f"there is no slot '{name[:80]}'" if name else "the slot is missing", hint
            )
        return found

    def row(self, row: Row, slot: Slot) -> Iterator[Fresh]:
        """The entries of one row: its result, and its note."""
        value, note = row.said.get("value"), row.said.get("note")
        bodies: list[Body] = []
        if value is not None:
            self.misplaced(row, slot)
            said = body_of(row, value, slot, self.plan)
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

    def misplaced(self, row: Row, slot: Slot) -> None:
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

    def first_time(self, row: Row, slot: Slot, value: Written, body: Body) -> bool:
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

    def remark(self, remark: Remark) -> Iterator[Fresh]:
        """A stop, or a note, written on a free line of a sheet."""
        parts = [remark.said.get("step"), remark.text, remark.said.get("value")]
        slot = parts[0].text if parts[0] is not None and parts[0].text in self.plan.by_slot else None
        text = ": ".join(part.text for part in (parts[1:] if slot else parts) if part is not None)
        said = remark.said.get("by") or self.results.head.get("by")
        by = self.who.named(said, own=True) if said is not None else None
        if said is None and self.setting.by is not None:
            by = (self.setting.by, False)
        elif said is None:
            self.add("RES044", remark.text, "nobody is named for this line", "give --by")
        if by is not None:
            at = self.who.moment(remark.said.get("at"))
            body: Body = Stopped(what=text) if remark.stops else Noted(text=text)
            yield self.fresh(slot, body, by, (at, at is not None))

    def fresh(
        self, slot: str | None, body: Body, by: tuple[str, bool], at: tuple[datetime | None, bool]
    ) -> Fresh:
        """The draft, with what is known of who and when."""
        setting = self.setting
        draft = Draft(
            unit=setting.serial, at=at[0] or setting.now, zone=setting.zone.key, by=by[0], slot=slot,
            body=body, source=self.results.source,
        )  # fmt: skip
        return Fresh(draft, timed=at[1] and at[0] is not None, named=by[1])

    def add(self, code: str, written: Written, what: str, hint: str = "") -> None:
        """Notes a finding."""
        self.findings.append(say(code, written, what, hint))
