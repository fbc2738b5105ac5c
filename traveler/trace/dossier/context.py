"""The context of a unit: gauges and calibrations, people and roles, parts and lots."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from typing import ClassVar
from zoneinfo import ZoneInfo

from traveler.record.entry import Decided, Entry, Fitted, Read
from traveler.record.records import Unit
from traveler.result import Result
from traveler.shop.gauges import Calibration, CalibrationState, Gauge
from traveler.text import duration_text
from traveler.trace.factors import Material
from traveler.trace.history import HistoryLine, history
from traveler.verdict.case import Case


@dataclass(frozen=True, slots=True)
class GaugeShown(Result):
    """A gauge that was used: how often, when, and its calibrations on either side of that time.

    ``trouble`` says in words what is wrong, as is known now; empty where nothing is.
    """

    id: str
    title: str
    readings: int
    first: date
    last: date
    before: str
    after: str
    uncertainty: str
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class PersonShown(Result):
    """Somebody who wrote: name, the roles held then, how many entries, which operations signed."""

    id: str
    name: str
    roles: str
    first: date
    last: date
    entries: int
    signed: tuple[str, ...]


def gauges_of(case: Case) -> tuple[GaugeShown, ...]:
    """Every gauge that a standing reading names, by id."""
    used: dict[str, list[date]] = {}
    for entry in case.standing:
        if isinstance(entry.body, Read) and entry.body.gauge:
            used.setdefault(entry.body.gauge, []).append(case.day_of(entry))
    return tuple(_gauge(case, name, days) for name, days in sorted(used.items()))


def _gauge(case: Case, name: str, days: Sequence[date]) -> GaugeShown:
    first, last, gauge = min(days), max(days), case.gauges.get(name)
    if gauge is None:
        return GaugeShown(name, "", len(days), first, last, "", "", "", "not in the register")
    before, after = gauge.last_calibration(first), _next_after(gauge, last)
    known = gauge.uncertainty_on(last)
    return GaugeShown(
        name,
        gauge.title,
        len(days),
        first,
        last,
        _told(before) if before else "none",
        _told(after) if after else "none yet",
        f"± {known[0]} (k = {known[1]})" if known else "",
        _trouble(gauge, last, before, after),
    )


def _next_after(gauge: Gauge, day: date) -> Calibration | None:
    return min(
        (calibration for calibration in gauge.calibrations if calibration.on > day),
        key=lambda calibration: calibration.on,
        default=None,
    )


def _told(calibration: Calibration) -> str:
    error = f", error {calibration.error}" if calibration.error else ""
    left = "" if calibration.good else ", left out of tolerance"
    certificate = f", {calibration.certificate}" if calibration.certificate else ""
    return f"{calibration.on}: found {calibration.as_found}{error}{left}{certificate}"


def _trouble(gauge: Gauge, last: date, before: Calibration | None, after: Calibration | None) -> str:
    if before is None:
        return "used before its first calibration"
    good = gauge.calibration_state(last) is CalibrationState.GOOD
    said = [] if good else [gauge.standing_text(last)]
    if after is not None and not after.found_in:
        error = f" ({after.error})" if after.error else ""
        said.append(f"found {after.as_found} on {after.on}{error}, after it was used here")
    return "; ".join(said)


def people_of(case: Case) -> tuple[PersonShown, ...]:
    """Everybody who wrote into the record, in the order of their first entry."""
    wrote: dict[str, list[Entry]] = {}
    for entry in case.entries:
        wrote.setdefault(entry.by, []).append(entry)
    return tuple(_person(case, by, entries) for by, entries in wrote.items())


def _person(case: Case, by: str, entries: Sequence[Entry]) -> PersonShown:
    days = [case.day_of(entry) for entry in entries]
    known = case.people.get(by)
    roles = dict.fromkeys(
        held.role for day in sorted(set(days)) for held in (known.roles_on(day) if known else ())
    )
    signed = (entry.slot.split("/")[0] for entry in entries if entry.body.kind == "signed" and entry.slot)
    return PersonShown(
        by,
        known.name if known is not None else "",
        ", ".join(roles) or ("no role then" if known is not None else "not among the people"),
        min(days),
        max(days),
        len(entries),
        tuple(dict.fromkeys(signed)),
    )


@dataclass(frozen=True, slots=True)
class LotTrail(Result):
    """What the records know of a lot beyond this unit.

    ``made`` is its own serial where it was made here, with ``where`` it is; ``materials`` are what it
    was made of. ``units`` are all serials that have it: ``left`` those that customers have, ``here`` those in
    the shop, ``stopped`` those of ``here`` that are stopped, ``complained`` those complained about alike.
    """

    json_keys: ClassVar[str] = "lot made_here=made where supplier materials units left complained"

    lot: str
    made: str | None = None
    where: str = ""
    materials: tuple[Material, ...] = ()
    units: tuple[str, ...] = ()
    left: tuple[str, ...] = ()
    complained: tuple[str, ...] = ()
    supplier: str = ""
    here: tuple[str, ...] = ()
    stopped: tuple[str, ...] = ()

    @property
    def share(self) -> Fraction:
        """How many of the units with it that left were complained about alike."""
        return Fraction(len(self.complained), max(1, len(self.left)))


@dataclass(frozen=True, slots=True)
class PartShown(Result):
    """A part that is in: the step's words, its number, where, serial or lot, who fitted it when."""

    json_keys: ClassVar[str] = "title number where trace value by day lot=trail"

    title: str
    number: str
    where: str
    trace: str
    value: str
    by: str
    day: str
    trail: LotTrail | None = None


def parts_of(case: Case, trails: dict[str, LotTrail]) -> tuple[PartShown, ...]:
    """The parts that stand in their slots, in the order of the work; positions of one lot share a line."""
    found: dict[tuple[str, str], list[tuple[Entry, Fitted]]] = {}
    for slot, filled in case.filled.items():
        if isinstance(filled.last.body, Fitted):
            step = slot.split("/")[0]
            found.setdefault((step, filled.last.body.value), []).append((filled.last, filled.last.body))
    lines = (list(_line(case, step, fitted, trails)) for (step, _), fitted in found.items())
    return tuple(part for line in lines for part in line)


def _line(
    case: Case, step_id: str, fitted: list[tuple[Entry, Fitted]], trails: dict[str, LotTrail]
) -> Iterator[PartShown]:
    entry, body = fitted[0]
    step = case.index.steps.get(step_id)
    yield PartShown(
        title=step.text.rstrip(".") if step is not None else step_id,
        number=case.plan.part_number(entry.slot, body.number) or "",
        where=_places(case, [entry.slot or "" for entry, _ in fitted]),
        trace=body.trace,
        value=body.value,
        by=entry.by,
        day=str(case.day_of(entry)),
        trail=trails.get(body.value),
    )


def _places(case: Case, slots: list[str]) -> str:
    """``spindle 1, 2, 3`` along one position, else every position in full."""
    positions = [case.plan.by_slot[slot].position for slot in slots if slot in case.plan.by_slot]
    names = {name for position in positions for name, _ in position}
    if len(names) == 1 and all(len(position) == 1 for position in positions):
        return f"{names.pop()} {', '.join(position[0][1] for position in positions)}"
    return "; ".join(
        ", ".join(f"{axis} {value}" for axis, value in position) for position in positions if position
    )


def lots_in(case: Case) -> tuple[str, ...]:
    """The lots that are in, each once."""
    bodies = (filled.last.body for filled in case.filled.values())
    return tuple(
        dict.fromkeys(body.value for body in bodies if isinstance(body, Fitted) and body.trace == "lot")
    )


MARKED = {
    "adjusted": "adjusted",
    "stopped": "stopped",
    "complained": "complaint",
    "followed_up": "complaint",
    "struck": "strikes out",
    "reprinted": "reprint",
}
"""Kind of entry → the mark in the margin."""


@dataclass(frozen=True, slots=True)
class LifeLine(Result):
    """One entry: day and time on the shop's clock, who, where, what, and the marks beside it."""

    seq: int
    day: str
    time: str
    by: str
    slot: str
    text: str
    marks: tuple[str, ...]
    struck: bool
    kind: str


def life_of(unit: Unit, case: Case) -> tuple[LifeLine, ...]:
    """Every entry in the order of the work, struck ones too."""
    zone = ZoneInfo(case.settings.time_zone)
    lines = history(unit, case.entries, case.plan, case.settings).lines
    return tuple(_life_line(line, line.entry, line.entry.at.astimezone(zone)) for line in lines)


def _life_line(line: HistoryLine, entry: Entry, moment: datetime) -> LifeLine:
    label = f"{line.label.rstrip('.')}: " if line.label else ""
    struck = line.struck_by is not None
    return LifeLine(
        entry.seq, str(moment.date()), f"{moment:%H:%M}", entry.by, entry.slot or "", label + line.text,
        tuple(_marks(line, entry)), struck, entry.body.kind,
    )  # fmt: skip


def _marks(line: HistoryLine, entry: Entry) -> list[str]:
    found = [f"struck by #{line.struck_by}"] if line.struck_by is not None else []
    found += [MARKED[entry.body.kind]] if entry.body.kind in MARKED else []
    if isinstance(entry.body, Decided):
        found.append("conceded" if entry.body.decision == "use_as_is" else "decided")
    if isinstance(entry.body, Read) and entry.body.as_found:
        found.append("as found")
    if line.late is not None:
        found.append(f"late, {duration_text(line.late)}")
    return found
