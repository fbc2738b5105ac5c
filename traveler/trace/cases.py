"""Cases of complaint: each is folded from the entries of its unit and never stored as a row that changes."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import ClassVar
from zoneinfo import ZoneInfo

from sqlalchemy import select

from traveler.finding import CannotDo
from traveler.record import tables
from traveler.record.entry import Complained, Entry, FollowedUp, reference_value, standing_entries
from traveler.record.plans import checked_serial
from traveler.record.records import Records, Unit
from traveler.result import Result
from traveler.shop.session import Session
from traveler.text import day_in, days_late, read_day
from traveler.trace.history import whereabouts


class CaseState(StrEnum):
    """Where a case stands."""

    OPEN = "open"
    CONTAINED = "contained"
    CAUSE_FOUND = "cause found"
    ACTION_TAKEN = "action taken"
    CHECKED = "effectiveness checked"
    CLOSED = "closed"


ORDER = tuple(CaseState)

AFTER: dict[str, CaseState] = {
    "contained": CaseState.CONTAINED,
    "cause": CaseState.CAUSE_FOUND,
    "action": CaseState.ACTION_TAKEN,
    "effective": CaseState.CHECKED,
    "not_effective": CaseState.CONTAINED,
    "closed": CaseState.CLOSED,
    "unfounded": CaseState.CLOSED,
    "reopened": CaseState.OPEN,
}
"""Step → the state it brings a case into."""

NEEDS: dict[str, tuple[CaseState, str]] = {
    "action": (CaseState.CAUSE_FOUND, "no cause is recorded"),
    "effective": (CaseState.ACTION_TAKEN, "no action is recorded"),
    "not_effective": (CaseState.ACTION_TAKEN, "no action is recorded"),
    "closed": (CaseState.CHECKED, "the effect of the action has not been checked"),
}
"""Step → the state a case has to have reached before it, and what is said otherwise."""


@dataclass(frozen=True, slots=True)
class CaseFile(Result):
    """One case. ``steps`` are the entries after the complaint that speak of it and count, in order."""

    json_keys: ClassVar[str] = (
        "case=name serial=opened.unit seq=opened.seq state opened=opened.at by=opened.by "
        "text=complaint.text symptoms=complaint.symptoms readings=complaint.readings "
        "photos=complaint.photos contact=complaint.contact causes due steps=taken"
    )

    opened: Entry
    complaint: Complained
    steps: tuple[tuple[Entry, FollowedUp], ...]
    state: CaseState

    @property
    def name(self) -> str:
        """``SERIAL/NUMBER``."""
        return f"{self.opened.unit}/{self.opened.seq}"

    @property
    def taken(self) -> list[dict[str, object]]:
        """The steps, each with its entry."""
        return [
            {"seq": entry.seq, "at": entry.at.isoformat(), "by": entry.by, **step.model_dump(mode="json")}
            for entry, step in self.steps
        ]

    @property
    def closed(self) -> bool:
        """Whether nothing is left to be done."""
        return self.state is CaseState.CLOSED

    @property
    def unfounded(self) -> bool:
        """Whether it was closed because the unit had no fault; opened again, it counts again."""
        return self.closed and self.steps[-1][1].step == "unfounded"

    def alike(self, symptoms: Collection[str]) -> bool:
        """Whether it counts as a complaint with one of these symptoms; without symptoms every case does."""
        named = not symptoms or not set(symptoms).isdisjoint(self.complaint.symptoms)
        return named and not self.unfounded

    def contains(self, lot: str) -> bool:
        """Whether the units with this lot were contained under it, as :func:`contained_text` says."""
        name = reference_value(lot)
        texts = (reference_value(step.text) for _, step in self.steps if step.step == "contained")
        return any(
            text.startswith(f"LOT {name}:")
            or (text.startswith("LOT OF ") and (f" {name}:" in text or f" {name} = " in text))
            for text in texts
        )

    @property
    def causes(self) -> tuple[str, ...]:
        """What the cause lies in, as recorded, each once."""
        return tuple(dict.fromkeys(cause for _, step in self.steps for cause in step.causes))

    @property
    def due(self) -> date | None:
        """The day by which the effect of the action is to be checked; None where nothing waits for it."""
        if self.state is not CaseState.ACTION_TAKEN:
            return None
        told = [step.due for _, step in self.steps if step.step == "action" and step.due]
        return read_day(told[-1]) if told else None

    def age(self, now: datetime, zone: ZoneInfo) -> int:
        """Days since the complaint, in the shop's zone; of a closed case, how many it took."""
        until = self.steps[-1][0].at if self.closed and self.steps else now
        return (day_in(zone, until) - day_in(zone, self.opened.at)).days


def contained_text(cause: str, done: str) -> str:
    """What a case says of units that were contained: ``lot P-2112/78: 1 unit here stopped``."""
    return f"{cause}: {done}"


def contained_under(case: CaseFile, lots: Collection[str], known: Iterable[CaseFile]) -> CaseFile | None:
    """The known case, about a complaint alike, under which units with one of the lots were contained."""
    alike = (other for other in known if other.alike(case.complaint.symptoms))
    return next((other for other in alike if any(map(other.contains, lots))), None)


def cases_of(entries: Sequence[Entry]) -> tuple[CaseFile, ...]:
    """The cases of one unit from all its entries, in the order in which they were opened."""
    stand = standing_entries(entries)
    steps: dict[int, list[tuple[Entry, FollowedUp]]] = {}
    for entry in stand:
        if isinstance(entry.body, FollowedUp):
            steps.setdefault(entry.body.case, []).append((entry, entry.body))
    return tuple(
        _case(entry, entry.body, [step for step in steps.get(entry.seq, []) if step[0].seq > entry.seq])
        for entry in stand
        if isinstance(entry.body, Complained)
    )


def _case(opened: Entry, complaint: Complained, steps: list[tuple[Entry, FollowedUp]]) -> CaseFile:
    state = CaseState.OPEN
    for _, step in steps:
        state = case_state_after(state, step.step)
    return CaseFile(opened, complaint, tuple(steps), state)


def case_state_after(state: CaseState, step: str) -> CaseState:
    """The state after a step; containing a case whose cause is known already does not set it back."""
    reached = AFTER[step]
    if step in ("contained", "cause") and ORDER.index(reached) < ORDER.index(state):
        return state
    return reached


def refused_step(state: CaseState, step: str) -> str | None:
    """Why the step cannot be taken from this state, in words; None if it can."""
    if step == "reopened":
        return None if state is CaseState.CLOSED else f"it is not closed but {state}"
    if state is CaseState.CLOSED:
        return "it is closed"
    if step in NEEDS and ORDER.index(state) < ORDER.index(NEEDS[step][0]):
        return NEEDS[step][1]
    return None


TOLD = ("complained", "followed_up", "placed", "shipped", "struck")
"""The kinds of entries that are looked at."""


@dataclass(frozen=True, slots=True)
class ListedCase(Result):
    """One case with its unit, where that is, and how old the case is in days."""

    json_keys: ClassVar[str] = "*case product=unit.product variant=unit.variant where age_days=age overdue"

    case: CaseFile
    unit: Unit
    where: str
    age: int
    overdue: bool
    """Whether the effect of its action should have been checked by now."""


def list_cases(
    session: Session, records: Records, *, opened: bool = False, symptom: str | None = None
) -> tuple[ListedCase, ...]:
    """The cases, the oldest first; ``opened``: only those that are not closed."""
    found = []
    told = told_of(records, complained_units(records, symptom))
    for serial, entries in told.items():
        unit = records.unit(serial)
        if unit is None:
            continue
        for case in cases_of(entries):
            if (opened and case.closed) or (symptom and symptom not in case.complaint.symptoms):
                continue
            age, due = case.age(session.now, session.shop.zone), case.due
            late = due is not None and days_late(due, session.today) > 0
            found.append(ListedCase(case, unit, whereabouts(unit.state, entries).text, age, late))
    return tuple(sorted(found, key=lambda item: (item.case.opened.at, item.case.name)))


def told_of(records: Records, serials: Iterable[str]) -> Mapping[str, Sequence[Entry]]:
    """Serial → its entries that tell of its cases and of where it is, by number; others are not read."""
    found: dict[str, list[Entry]] = {}
    for entry in records.entries_of_kinds(serials, TOLD):
        found.setdefault(entry.unit, []).append(entry)
    return found


def complained_units(records: Records, symptom: str | None = None) -> tuple[str, ...]:
    """Serials of the units with a complaint (struck ones too), found by index."""
    ref = tables.reference_table.c
    asked = select(ref.unit).where(ref.kind == ("symptom" if symptom else "complaint"))
    if symptom:
        asked = asked.where(ref.value == reference_value(symptom))
    return tuple(records.ask(asked.distinct().order_by(ref.unit)).scalars())


def complained_alike(records: Records, symptoms: Collection[str]) -> tuple[str, ...]:
    """Serials of the units with a case that counts and has one of these symptoms (:meth:`CaseFile.alike`)."""
    found: dict[str, None] = {}
    for symptom in symptoms or (None,):
        found |= dict.fromkeys(complained_units(records, symptom))
    cases = ((serial, cases_of(entries)) for serial, entries in told_of(records, found).items())
    return tuple(serial for serial, own in cases if any(case.alike(symptoms) for case in own))


def split_name(text: str) -> tuple[str, int | None]:
    """``SERIAL/NUMBER`` as serial and number; without a number None.

    Raises:
        CannotDo: the serial cannot be right, or the number is none.
    """
    serial, slash, number = text.strip().rpartition("/") if "/" in text else (text, "", "")
    if slash and not (number.isascii() and number.isdigit()):
        what = f"{number!r} is not the number of a complaint"
        raise CannotDo(what, "write SERIAL/NUMBER, as 'traveler case list' lists them")
    return checked_serial(serial), int(number) if slash else None


def pick(cases: Sequence[CaseFile], serial: str, number: int | None) -> CaseFile:
    """The case of this number; without a number the one that is open, else the last.

    Raises:
        CannotDo: there is none, or several are open.
    """
    if not cases:
        what = f"there is no complaint about {serial}"
        raise CannotDo(what, f'record one with: traveler complain {serial} --text "…" --by ID')
    names = ", ".join(case.name for case in cases)
    if number is not None:
        found = next((case for case in cases if case.opened.seq == number), None)
        if found is None:
            what = f"entry #{number} of {serial} is not a complaint"
            raise CannotDo(what, f"its cases are {names}")
        return found
    opened = [case for case in cases if not case.closed]
    if len(opened) > 1:
        what = f"{serial} has several open cases"
        raise CannotDo(what, f"say which: {', '.join(case.name for case in opened)}")
    return opened[0] if opened else cases[-1]


def find_case(records: Records, text: str) -> CaseFile:
    """The case that ``SERIAL`` or ``SERIAL/NUMBER`` names.

    Raises:
        CannotDo: see :func:`split_name` and :func:`pick`.
    """
    serial, number = split_name(text)
    return pick(cases_of(records.entries(serial)), serial, number)
