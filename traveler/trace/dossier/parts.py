"""Traced parts of a unit: serials and lots, what a lot was made of, and who else has it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from traveler.record.entry import Entry, Fitted
from traveler.verdict.case import Case


@dataclass(frozen=True, slots=True)
class LotTrail:
    """What the records know of a lot beyond this unit.

    ``made`` is its own serial where it was made here, with ``where`` it is; ``materials`` are (part number,
    lot or heat) it was made of. ``units`` are all serials that have it, ``left`` those of them that customers
    have, ``complained`` those complained about alike.
    """

    lot: str
    made: str | None = None
    where: str = ""
    materials: tuple[tuple[str, str], ...] = ()
    units: tuple[str, ...] = ()
    left: tuple[str, ...] = ()
    complained: tuple[str, ...] = ()
    supplier: str = ""

    @property
    def share(self) -> Fraction:
        """How many of the units with it that left were complained about alike."""
        return Fraction(len(self.complained), max(1, len(self.left)))

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {
            "lot": self.lot, "made_here": self.made, "where": self.where, "supplier": self.supplier,
            "materials": [{"number": number, "lot": lot} for number, lot in self.materials],
            "units": list(self.units), "left": list(self.left), "complained": list(self.complained),
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class PartShown:
    """A part that is in: the step's words, its number, where, serial or lot, who fitted it when."""

    title: str
    number: str
    where: str
    trace: str
    value: str
    by: str
    day: str
    trail: LotTrail | None = None

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {
            "title": self.title, "number": self.number, "where": self.where, "trace": self.trace,
            "value": self.value, "by": self.by, "day": self.day,
            "lot": self.trail.as_dict() if self.trail else None,
        }  # fmt: skip


def parts_of(case: Case, trails: dict[str, LotTrail]) -> tuple[PartShown, ...]:
    """The parts that stand in their slots, in the order of the work; positions of one lot share a line."""
    found: dict[tuple[str, str], list[tuple[Entry, Fitted]]] = {}
    for slot, filled in case.filled.items():
        if isinstance(filled.last.body, Fitted):
            step = slot.split("/")[0]
            found.setdefault((step, filled.last.body.value), []).append((filled.last, filled.last.body))
    lines = (list(_line(case, step, fitted, trails)) for (step, _), fitted in found.items())
    return tuple(one for line in lines for one in line)


def _line(
    case: Case, step_id: str, fitted: list[tuple[Entry, Fitted]], trails: dict[str, LotTrail]
) -> Iterator[PartShown]:
    entry, body = fitted[0]
    step = case.planned.steps.get(step_id)
    yield PartShown(
        title=step.text.rstrip(".") if step is not None else step_id,
        number=body.number or (step.part_number if step is not None else None) or "",
        where=_places(case, [one.slot or "" for one, _ in fitted]),
        trace=body.trace,
        value=body.value,
        by=entry.by,
        day=str(case.day_of(entry)),
        trail=trails.get(body.value),
    )


def _places(case: Case, slots: list[str]) -> str:
    """``spindle 1, 2, 3`` along one position, else every position in full."""
    positions = [case.plan.by_slot[one].position for one in slots if one in case.plan.by_slot]
    names = {name for position in positions for name, _ in position}
    if len(names) == 1 and all(len(position) == 1 for position in positions):
        return f"{names.pop()} {', '.join(position[0][1] for position in positions)}"
    return "; ".join(
        ", ".join(f"{axis} {value}" for axis, value in position) for position in positions if position
    )


def lots_in(case: Case) -> tuple[str, ...]:
    """The lots that are in, each once."""
    bodies = (filled.last.body for filled in case.filled.values())
    return tuple(dict.fromkeys(one.value for one in bodies if isinstance(one, Fitted) and one.trace == "lot"))
