"""The one row type of a reading, which verdict, sheets, dossier, exports and statistics share."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from fractions import Fraction
from typing import NamedTuple

from traveler.definition.plan import Step
from traveler.finding import Finding, blocking
from traveler.measure.limits import Limits
from traveler.measure.quantity import Quantity
from traveler.record.entry import Entry, Read
from traveler.shop.gauges import GaugeRegister
from traveler.shop.settings import Settings
from traveler.text import day_in
from traveler.verdict.plan_index import PlannedSlot
from traveler.verdict.state import SlotState, UnitState
from traveler.verdict.weighing import (
    NO_UNCERTAINTY,
    DecisionRule,
    KnownUncertainty,
    Unfit,
    Weighed,
    weigh_reading,
)

GOOD = frozenset({SlotState.IN, SlotState.DONE})
"""States of a reading that needs nothing done about it."""


class ReadingRow(NamedTuple):
    """One reading of a slot, or one value worked out from readings, weighed against its limits.

    ``entry`` is the entry of the reading; of a worked-out value it is the last reading that goes into it.
    """

    planned: PlannedSlot
    step: Step
    limits: Limits | None
    weighed: Weighed
    entry: Entry
    known: KnownUncertainty = NO_UNCERTAINTY
    gauge: str | None = None
    as_found: bool = False
    worked: bool = False
    worked_at: str = ""
    """For a worked-out value: at which readings, in words."""
    latest: int = 0
    """The largest number of an entry that goes into it."""

    @property
    def slot(self) -> str:
        """The id of the slot."""
        return self.planned.slot.id

    @property
    def check(self) -> str:
        """The id of the check, else of its step."""
        return self.step.check or self.step.id

    @property
    def title(self) -> str:
        """The text of the check, without its full stop."""
        return self.step.text.rstrip(".")

    @property
    def position(self) -> str:
        """``spindle 3, end far``; empty for a check at one place."""
        return ", ".join(f"{axis} {value}" for axis, value in self.planned.slot.position)

    @property
    def name(self) -> str:
        """``Spindle run-out (TIR), spindle 3, end far``."""
        return f"{self.title}, {self.position}" if self.position else self.title

    @property
    def operation(self) -> str:
        """Number and title of the operation."""
        return f"{self.planned.operation.number} {self.planned.operation.title}"

    @property
    def seq(self) -> int | None:
        """The number of the entry it was read in; None for a worked-out value."""
        return None if self.worked else self.entry.seq

    @property
    def by(self) -> str:
        """The id of the person who read it."""
        return self.entry.by

    @property
    def at(self) -> datetime:
        """When it was read."""
        return self.entry.at

    @property
    def state(self) -> SlotState:
        """In, out or doubtful; done, where there are no limits."""
        return self.weighed.state

    @property
    def good(self) -> bool:
        """Whether it is within its limits, or has none."""
        return self.weighed.state in GOOD

    @property
    def value(self) -> Quantity:
        """The value in the unit of the limits."""
        return self.weighed.value

    @property
    def written(self) -> Quantity:
        """The value in the unit it was written in."""
        return self.weighed.written

    @property
    def as_written(self) -> str:
        """The text that was written; empty for a worked-out value."""
        body = self.entry.body
        return body.written if isinstance(body, Read) and not self.worked else ""

    @property
    def text(self) -> str:
        """The number of the value, with the digits that were written."""
        return self.weighed.text

    @property
    def unit(self) -> str:
        """The unit of measure of the value."""
        return self.weighed.value.unit

    @property
    def acceptance(self) -> Limits | None:
        """The acceptance limits, where the guarded rule applies."""
        judgement = self.weighed.judgement
        return judgement.acceptance if judgement is not None and judgement.rule == "guarded" else None

    @property
    def uncertainty(self) -> Quantity | None:
        """Expanded uncertainty with coverage factor ``k``, where known."""
        return self.known.expanded

    @property
    def k(self) -> Fraction:
        """Coverage factor of the uncertainty."""
        return self.known.factor


class Weigher:
    """Weighs readings by the rules and gauges of a shop; each rule, gauge and day is looked up once."""

    def __init__(self, settings: Settings, gauges: GaugeRegister, zone: tzinfo) -> None:
        self._settings = settings
        self._gauges = gauges
        self._zone = zone
        self._rules: dict[tuple[str | None, str | None], DecisionRule] = {}
        self._known: dict[tuple[str, date], KnownUncertainty] = {}

    def row(
        self, planned: PlannedSlot, step: Step, limits: Limits | None, entry: Entry, body: Read
    ) -> ReadingRow | Unfit:
        """The reading weighed, or why it cannot be (REA003 to REA005)."""
        rule, known = self.rule(step), self._uncertainty(body.gauge, entry.at)
        counted = known if rule.decision == "guarded" else NO_UNCERTAINTY
        found = weigh_reading(limits.text if limits else None, body.value, body.unit, rule, counted)
        if isinstance(found, Unfit):
            return found
        return ReadingRow(
            planned, step, limits, found, entry, known, body.gauge, body.as_found, latest=entry.seq
        )

    def rule(self, step: Step) -> DecisionRule:
        """The decision rule of the check, else of the shop."""
        key = (step.rule, step.rounding)
        if key not in self._rules:
            settings = self._settings
            self._rules[key] = DecisionRule(
                "guarded" if (step.rule or settings.decision_rule) == "guarded" else "simple",
                "rounding" if (step.rounding or settings.rounding) == "rounding" else "absolute",
                settings.guard_factor,
            )
        return self._rules[key]

    def _uncertainty(self, gauge: str | None, at: datetime) -> KnownUncertainty:
        """Uncertainty of the gauge on the day it was read with."""
        if not gauge:
            return NO_UNCERTAINTY
        key = (gauge, day_in(self._zone, at))
        if key not in self._known:
            registered = self._gauges.get(gauge)
            stated = registered.uncertainty_on(key[1]) if registered is not None else None
            self._known[key] = NO_UNCERTAINTY if stated is None else KnownUncertainty(*stated)
        return self._known[key]


@dataclass(frozen=True, slots=True)
class SlotVerdict:
    """One slot: its state, the value that stands (as text, in the unit of the limits) and its entry's seq.

    ``reading`` is the row that decides the slot, for readings and worked-out values.
    """

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
    reading: ReadingRow | None = None

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {
            "state": str(self.state), "value": self.value, "unit": self.unit, "entry": self.entry,
            "readings": self.readings, "acceptance": self.acceptance, "where": self.where,
        }  # fmt: skip


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

    @property
    def readings(self) -> dict[str, ReadingRow]:
        """Slot → the reading or worked-out value that decides it, in the order of the work."""
        return {name: slot.reading for name, slot in self.slots.items() if slot.reading is not None}

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {
            "unit": self.unit,
            "state": str(self.state),
            "complete": self.complete,
            "accepted": self.accepted,
            "slots": {name: slot.as_dict() for name, slot in self.slots.items()},
            "findings": [finding.as_dict() for finding in self.findings],
        }
