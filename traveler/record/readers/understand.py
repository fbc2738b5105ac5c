"""A results file compared with the plan of its unit: drafts of entries, or every reason why not."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from zoneinfo import ZoneInfo

from traveler.definition.plan import Plan, Slot, SlotKind
from traveler.definition.serial import tidy_serial
from traveler.finding import Finding, Place, blocking, order
from traveler.record.entry import Body, Draft, Entry, Noted, Read, Signable, Stopped, standing_entries
from traveler.record.readers.bodies import SIGNED, read_body
from traveler.record.readers.cells import (
    Cell,
    FreeLine,
    ResultRow,
    Results,
    read_time,
    say,
    slot_of_date,
    tick,
)
from traveler.record.stored import body_text
from traveler.text import did_you_mean

_PERSON = re.compile(r"[a-z][a-z0-9_-]*")


@dataclass(slots=True)
class Attribution:
    """Answers for one file; what is wrong collects in ``findings``.

    RES044 nobody is named, RES045 not the id of a person, RES047 two persons for one signature, and those of
    :func:`read_time`.
    """

    results: Results
    plan: Plan
    zone: ZoneInfo
    recorder: str | None
    signers: dict[str, ResultRow] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def signed_by(self, rows: list[tuple[ResultRow, Slot]]) -> None:
        """Notes who signed which operation on this file."""
        self.signers = {self._operation(slot): row for row, slot in rows if slot.kind is SlotKind.SIGN}

    def person(self, row: ResultRow, slot: Slot) -> tuple[str, bool] | None:
        """The person's id, and whether the row itself names it; None (with a finding) if nobody is named."""
        own = self._own(row, slot)
        said = own or self.results.head.get("by") or self._signer(slot)
        if said is not None:
            return self.named(said, own=own is not None)
        if self.recorder is not None:
            return self.recorder, False
        at = row.said.get("value", row.slot)
        self.findings.append(say("RES044", at, f"nobody is named for {slot.id}", "fill in by, or give --by"))
        return None

    def named(self, said: Cell, *, own: bool) -> tuple[str, bool] | None:
        """The id that is written there."""
        person = said.text.lower()
        if _PERSON.fullmatch(person):
            return person, own
        self._once(
            say("RES045", said, f"'{said.text[:40]}' is not the id of a person", "write the id, like tkiln")
        )
        return None

    def time(self, row: ResultRow, slot: Slot) -> tuple[datetime | None, bool]:
        """When it was done (None where nobody says), and whether the row or the file itself says so."""
        own = row.said.get("at") or self.results.head.get("at")
        if own is not None:
            return self.moment(own), True
        signed = self.signers.get(self._operation(slot))
        return self.moment(signed.said.get("at") if signed is not None else None), False

    def moment(self, said: Cell | None) -> datetime | None:
        """The time that is written there."""
        read = read_time(said, self.zone) if said is not None else None
        if isinstance(read, Finding):
            self._once(read)
            return None
        return read

    def _own(self, row: ResultRow, slot: Slot) -> Cell | None:
        """Who the row names; a signature names whoever is written in its box."""
        said, value = row.said.get("by"), row.said.get("value")
        if slot.kind not in SIGNED or value is None or tick(value.text) is not None:
            return said
        if said is not None and said.text.lower() != value.text.lower():
            what = f"signed '{value.text[:40]}', but by '{said.text[:40]}'"
            self.findings.append(say("RES047", value, what, "one person signs"))
        return value

    def _signer(self, slot: Slot) -> Cell | None:
        row = self.signers.get(self._operation(slot))
        if row is None:
            return None
        value = row.said.get("value")
        return value if value is not None and tick(value.text) is None else row.said.get("by")

    def _operation(self, slot: Slot) -> str:
        return self.plan.operation_of[slot.id].number

    def _once(self, finding: Finding) -> None:
        """A head or a signature speaks for many rows; what is wrong with it is told once."""
        if finding not in self.findings:
            self.findings.append(finding)


@dataclass(frozen=True, slots=True)
class DraftRead:
    """A draft made from a file, and whether the result itself says when (``timed``) and who (``named``).

    Where it does not, time and person come from elsewhere (a signature that is added later, the moment of
    recording) and are not what tells two results apart.
    """

    draft: Draft
    timed: bool
    named: bool


def without_duplicates(made: Iterable[DraftRead], already: tuple[Entry, ...]) -> list[DraftRead]:
    """Those that are not recorded yet.

    The same is: same slot, same result (a reading by value, unit, gauge and as-found mark, however it was
    written or came), and the same person and time as far as the file gives them. A result without a time is
    not answered by a struck entry, and each entry answers for one result only.
    """
    stands = {entry.seq for entry in standing_entries(already)}
    pool: dict[Hashable, list[Entry]] = defaultdict(list)
    for entry in already:
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
    """What the file is held against: the unit, its entries so far, who records it and when."""

    serial: str
    plan: Plan
    already: tuple[Entry, ...]
    now: datetime
    zone: ZoneInfo
    by: str | None = None


def understand_results(results: Results, setting: UnitContext) -> Understood:
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
    new = without_duplicates(made, setting.already)
    return Understood(tuple(duplicate.draft for duplicate in new), findings, len(made) - len(new))


class _Reading:
    """One pass over a file; findings collect here."""

    def __init__(self, results: Results, setting: UnitContext) -> None:
        self.results = results
        self.setting = setting
        self.plan = setting.plan
        self.who = Attribution(results, setting.plan, setting.zone, setting.by)
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
            hint = f"give it the line 'serial: {self.setting.serial}'"
            self.add("RES040", Cell("", place), "the file names no unit", hint)
        elif tidy_serial(serial.text) != tidy_serial(self.setting.serial):
            self.add("RES040", serial, f"this is for {serial.text[:60]}, not for {self.setting.serial}")
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
    ) -> DraftRead:
        """The draft, with what is known of who and when."""
        setting = self.setting
        draft = Draft(
            unit=setting.serial, at=at[0] or setting.now, zone=setting.zone.key, by=by[0], slot=slot,
            body=body, source=self.results.source,
        )  # fmt: skip
        return DraftRead(draft, timed=at[1] and at[0] is not None, named=by[1])

    def add(self, code: str, written: Cell, what: str, hint: str = "") -> None:
        """Notes a finding."""
        self.findings.append(say(code, written, what, hint))
