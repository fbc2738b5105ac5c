"""A reading weighed against its limits: text in, state and value out; and the one row type of a reading.

Verdict, sheets, dossier, exports and statistics share :class:`ReadingRow`. Results for a text are kept: a
shop's readings repeat (a run-out read to a micrometre has fifty values under 0.05 mm).
"""

from __future__ import annotations

import re
from datetime import date, datetime, tzinfo
from fractions import Fraction
from functools import lru_cache
from typing import Literal, NamedTuple

from traveler.definition.plan import Step
from traveler.measure.judge import Judgement, judge_reading
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import Unreadable, display_number, parse_number
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.record.entry import Entry, Read
from traveler.shop.gauges import GaugeRegister
from traveler.shop.settings import Settings
from traveler.text import day_in
from traveler.verdict.plan_index import PlannedSlot
from traveler.verdict.state import SlotState

TWO = Fraction(2)
STATES = {"in": SlotState.IN, "out": SlotState.OUT, "doubtful": SlotState.DOUBTFUL}
"""What measurement says of a reading → the state of its slot."""

JUDGED_CODES = {"out": "REA001", "doubtful": "REA002", "DEC001": "REA011", "DEC002": "REA012"}
"""What measurement says of a reading, or against applying the guarded rule → the finding."""

_PLAIN = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")


class DecisionRule(NamedTuple):
    """How a value is compared: decision rule, rounding and guard factor, as the check or the shop says."""

    decision: Literal["simple", "guarded"] = "simple"
    rounding: Literal["absolute", "rounding"] = "absolute"
    factor: str = "1"


class KnownUncertainty(NamedTuple):
    """What is known of the uncertainty of a value: expanded, with coverage factor k. Both as text."""

    uncertainty: str | None = None
    k: str = "2"

    @property
    def expanded(self) -> Quantity | None:
        """The expanded uncertainty; None where it is not known or cannot be read."""
        return quantity_or_none(self.uncertainty) if self.uncertainty else None

    @property
    def factor(self) -> Fraction:
        """The coverage factor; 2 where it cannot be read."""
        return number_or(self.k, TWO, above=Fraction(0))


NO_UNCERTAINTY = KnownUncertainty()
SIMPLE = DecisionRule()


class Weighed(NamedTuple):
    """A value and its state. ``value`` is in the unit of the limits, ``written`` in its own unit."""

    state: SlotState
    value: Quantity
    written: Quantity
    text: str
    """The number of ``value`` with the digits that were written."""
    judgement: Judgement | None = None
    problem: tuple[str, str] | None = None
    """Code and sentence where the decision rule cannot be applied."""
    acceptance: str | None = None
    """The acceptance limits of the guarded rule, as a person would write them."""


class Unfit(NamedTuple):
    """Why a reading cannot be judged (REA003 to REA005)."""

    code: str
    what: str
    hint: str


@lru_cache(maxsize=65536)
def weigh_reading(
    limits: str | None,
    value: str,
    unit: str | None,
    rule: DecisionRule = SIMPLE,
    known: KnownUncertainty = NO_UNCERTAINTY,
) -> Weighed | Unfit:
    """A reading, number and unit as text, against the limits as text (None: there are none)."""
    bounds = parse_limits(limits) if limits is not None else None
    read = understood(value, unit, bounds)
    if isinstance(read, Unfit):
        return read
    plain = value if _PLAIN.fullmatch(value) else None
    if bounds is None:
        return Weighed(SlotState.DONE, read, read, plain or display_number(read.value, read.decimals))
    return weigh_quantity(bounds, read, rule, known.expanded, known.factor, plain)


def understood(value: str, unit: str | None, limits: Limits | None) -> Quantity | Unfit:
    """The reading as a quantity of the limits' dimension, or why it is none."""
    if not unit:
        expected = f"; expected {limits.unit}" if limits is not None else ""
        return Unfit("REA003", f"{value!r} has no unit of measure{expected}", "read it again with its unit")
    try:
        number = parse_number(value)
        if limits is not None and unit == limits.unit:
            return Quantity(number.value, unit, value, number.decimals)
        read = parse_quantity(f"{value} {unit}")
    except Unreadable as problem:
        return Unfit("REA005", problem.what, problem.hint)
    try:
        if limits is not None:
            read.to(limits.unit)
    except Unreadable:
        what = f"{value} {unit} is read where {limits.unit if limits else ''} is expected"
        return Unfit("REA004", what, "read it again in the right unit")
    return read


def value_in_unit(value: str, unit: str | None, limits: str | None) -> Fraction | None:
    """A reading as a number in the unit of the limits; None where it cannot be understood."""
    found = weigh_reading(limits, value, unit)
    return None if isinstance(found, Unfit) else found.value.value


def weigh_quantity(
    limits: Limits,
    read: Quantity,
    rule: DecisionRule,
    expanded: Quantity | None,
    k: Fraction,
    plain: str | None = None,
) -> Weighed:
    """A quantity of the limits' dimension against the limits, by the rule.

    ``expanded`` is its uncertainty with coverage factor ``k``, which the guarded rule asks for; ``plain``
    the number as written, where that may be shown as it is.
    """
    judgement, problem = _decide(limits, read, rule, expanded, k)
    value = judgement.reading
    fine = value.unit == read.unit and value.decimals >= limits.decimals and not limits.fractions
    text = plain if plain is not None and fine else value_text(value, limits)
    accepted = judgement.acceptance if rule.decision == "guarded" else None
    acceptance = accepted.describe() if accepted is not None else None
    return Weighed(STATES[judgement.state], value, read, text, judgement, problem, acceptance)


def _decide(
    limits: Limits, read: Quantity, rule: DecisionRule, expanded: Quantity | None, k: Fraction
) -> tuple[Judgement, tuple[str, str] | None]:
    if rule.decision == "simple":
        return judge_reading(limits, read, rounding=rule.rounding), None
    factor = number_or(rule.factor, Fraction(1))
    try:
        judgement = judge_reading(
            limits,
            read,
            uncertainty=expanded,
            rule="guarded",
            guard_factor=factor,
            rounding=rule.rounding,
            k=k,
        )
    except Unreadable as problem:
        judgement = judge_reading(limits, read, rule="guarded", rounding=rule.rounding)
        return judgement, ("REA012", problem.what)
    against = next(iter(judgement.problems), None)
    return judgement, None if against is None else (
        JUDGED_CODES.get(against.code, "REA012"),
        against.what,
    )


def value_text(value: Quantity, limits: Limits) -> str:
    """The number, in the unit of the limits, with its own decimals and no fewer than the limits have."""
    if limits.fractions:
        return limits.number(value.value)
    return display_number(value.value, max(value.decimals, limits.decimals))


@lru_cache(maxsize=4096)
def quantity_or_none(text: str) -> Quantity | None:
    """The quantity in a register's text; None where it cannot be read."""
    try:
        return parse_quantity(text)
    except Unreadable:
        return None


@lru_cache(maxsize=64)
def number_or(text: str, otherwise: Fraction, above: Fraction = Fraction(-1)) -> Fraction:
    """The number in a setting or register; ``otherwise`` where there is none, or none above ``above``."""
    try:
        value = parse_number(text).value
    except Unreadable:
        return otherwise
    return value if value > above else otherwise


def amount(limits: Limits, value: Fraction) -> str:
    """A number in the unit of the limits, as printed beside them; what no decimal writes is rounded."""
    return limits.number(value) if limits.fractions else display_number(value, limits.decimals)


def distance_outside(limits: Limits, value: Fraction) -> str | None:
    """How far a value lies outside the limits, as ``0.012 mm over``; None inside."""
    excess = limits.excess(value)
    if not excess:
        return None
    return f"{amount(limits, abs(excess))} {limits.unit} {'over' if excess > 0 else 'under'}"


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
        return self.planned.slot.position_text

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
