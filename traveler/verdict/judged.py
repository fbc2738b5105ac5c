"""A unit judged: its plan, its entries, and what follows from them."""

from __future__ import annotations

from dataclasses import dataclass

from traveler.definition.plan import Plan
from traveler.record.entry import Entry
from traveler.record.records import Unit
from traveler.verdict.case import Case
from traveler.verdict.rules.packing import is_gross_mass
from traveler.verdict.state import Verdict


@dataclass(frozen=True, slots=True)
class Judged:
    """A unit with its plan, its entries and what follows from them."""

    unit: Unit
    plan: Plan
    entries: tuple[Entry, ...]
    case: Case
    verdict: Verdict


def weighed_mass(judged: Judged) -> str | None:
    """The gross mass that stands, with its unit; None where the plan does not ask for it or it is open."""
    weighed = (step for step in judged.plan.steps() if is_gross_mass(judged.plan, step))
    for slot in (judged.verdict.slots[slot.id] for step in weighed for slot in step.slots):
        if slot.value is not None:
            return f"{slot.value} {slot.unit}"
    return None
