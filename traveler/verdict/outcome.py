"""What a verdict says: a state for every slot, a state for the unit, findings."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from traveler.finding import Finding, blocking


class SlotState(StrEnum):
    """Where a slot stands."""

    OPEN = "open"
    IN = "in"
    OUT = "out"
    DOUBTFUL = "doubtful"
    DONE = "done"
    REFUSED = "refused"
    NOT_APPLICABLE = "not applicable"


class UnitState(StrEnum):
    """Where a unit is in its life."""

    ISSUED = "issued"
    BUILDING = "building"
    INSPECTION = "inspection"
    STOPPED = "stopped"
    RELEASED = "released"
    CRATED = "crated"
    IN_STOCK = "in stock"
    SHIPPED = "shipped"
    SCRAPPED = "scrapped"


@dataclass(frozen=True, slots=True)
class SlotVerdict:
    """One slot: its state, the value that stands (as text, in the unit of the limits) and its entry's seq."""

    slot: str
    state: SlotState
    value: str | None = None
    unit: str | None = None
    entry: int | None = None
    readings: int = 0
    acceptance: str | None = None
    """Acceptance limits as a person would write them, where guarded."""
    where: str = ""
    """For a worked-out value: at which readings, in words."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The judgement of one unit. ``slots`` is in the order of the work; ``findings`` in their one order."""

    unit: str
    state: UnitState
    slots: dict[str, SlotVerdict] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    complete: bool = False
    """Whether no slot of the build and the final checks is open (crating comes after the release)."""

    @property
    def accepted(self) -> bool:
        """Whether the unit is complete and nothing blocking stands."""
        return self.complete and not blocking(self.findings)

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {
            "unit": self.unit,
            "state": str(self.state),
            "complete": self.complete,
            "accepted": self.accepted,
            "slots": {
                name: {
                    "state": str(one.state),
                    "value": one.value,
                    "unit": one.unit,
                    "entry": one.entry,
                    "readings": one.readings,
                    "acceptance": one.acceptance,
                    "where": one.where,
                }
                for name, one in self.slots.items()
            },
            "findings": [finding.as_dict() for finding in self.findings],
        }
