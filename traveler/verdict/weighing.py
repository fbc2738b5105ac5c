"""What a written value is worth against limits: text in, state and value out, the same for the same text.

Results are kept: a shop's readings repeat (a run-out read to a micrometre has fifty values under 0.05 mm), so
judging a whole store meets the same texts again and again.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from typing import Literal, NamedTuple

from traveler.measure.judge import Judgement, judge_reading
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import Unreadable, display_number, parse_number
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.verdict.state import SlotState

TWO = Fraction(2)
STATES = {"in": SlotState.IN, "out": SlotState.OUT, "doubtful": SlotState.DOUBTFUL}
"""What measurement says of a reading → the state of its slot."""

_PROBLEMS = {"DEC001": "REA011", "DEC002": "REA012"}
"""What speaks against applying the guarded rule → the finding."""

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
    trouble: tuple[str, str] | None = None
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
        return Unfit("REA003", f"{value!r} has no unit{expected}", "read it again with its unit")
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
    judgement, trouble = _decide(limits, read, rule, expanded, k)
    value = judgement.reading
    fine = value.unit == read.unit and value.decimals >= limits.decimals and not limits.fractions
    text = plain if plain is not None and fine else value_text(value, limits)
    accepted = judgement.acceptance if rule.decision == "guarded" else None
    acceptance = accepted.describe() if accepted is not None else None
    return Weighed(STATES[judgement.state], value, read, text, judgement, trouble, acceptance)


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
    return judgement, None if against is None else (_PROBLEMS.get(against.code, "REA012"), against.what)


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
