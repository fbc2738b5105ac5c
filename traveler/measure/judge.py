"""Judging a reading against limits, by a decision rule.

``simple``: in or out, by the limits alone. ``guarded``: the acceptance zone is the tolerance reduced by
guard factor · U (ISO 14253-1, JCGM 106:2012 clause 8.3.2); a reading between acceptance and specification
limits is doubtful. Everything is compared exactly and bounds are inclusive.

The rounding method of ASTM E29 belongs to the specification limits. Acceptance limits are always compared
with the unrounded reading: a guard band is there to count small differences.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from traveler.measure import number as rounded
from traveler.measure import units
from traveler.measure.limits import Limits
from traveler.measure.number import Unreadable, decimals_needed, display_number, format_number
from traveler.measure.quantity import Quantity
from traveler.measure.uncertainty import Zone, acceptance_zone, width_over_uncertainty

State = Literal["in", "out", "doubtful"]
Rule = Literal["simple", "guarded"]
_ONE, _TWO = Fraction(1), Fraction(2)


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a reading is worth.

    ``reading`` is in the unit of ``limits``. ``acceptance`` are the limits that had to be met: under the
    guarded rule the reduced ones, or None if the guard band leaves nothing or is not known (then
    ``problems`` says so). ``uncertainty`` is the expanded one in the unit of the limits, with factor ``k``.
    """

    state: State
    reading: Quantity
    limits: Limits
    acceptance: Limits | None
    rule: Rule = "simple"
    rounding: rounded.Method = "absolute"
    uncertainty: Fraction | None = None
    k: Fraction = _TWO
    problems: tuple[Unreadable, ...] = ()

    @property
    def margin(self) -> Fraction:
        """Distance from the reading to the nearest specification limit; negative outside."""
        return tolerance_zone(self.limits).margin(self.reading.value)

    @property
    def ratio(self) -> Fraction | None:
        """Test uncertainty ratio, 2 · U taken with k = 2 (ANSI/NCSL Z540.3); None without an uncertainty.

        One bound only: see :func:`traveler.measure.uncertainty.width_over_uncertainty`; none for
        temperatures with
        a zero of their own and for levels, where the distance from zero means nothing.
        """
        if self.uncertainty is None:
            return None
        unit = units.parse_unit(self.limits.unit)
        if self.limits.width is None and (unit.kind == "point" or unit.symbol.startswith("dB")):
            return None
        return width_over_uncertainty(tolerance_zone(self.limits), self.uncertainty * 2 / self.k)

    @property
    def probability(self) -> str | None:
        """Probability that the true value is within the limits (JCGM 106:2012 clause 7), as text."""
        if self.uncertainty is None:
            return None
        from traveler.measure.uncertainty import conformance_probability, probability_text

        chance = conformance_probability(
            self.reading.value, self.uncertainty / self.k, tolerance_zone(self.limits)
        )
        return probability_text(chance)

    def as_dict(self) -> dict[str, object]:
        """For ``--json``: every number as text; reading with its unit, ``margin`` in that of the limits."""
        return {
            "state": self.state,
            "reading": str(self.reading),
            "written": self.reading.written,
            "limits": self.limits.as_dict(),
            "acceptance": None if self.acceptance is None else _described(self.acceptance),
            "probability": self.probability,
            "ratio": None if self.ratio is None else format_number(self.ratio, 2),
            "margin": display_number(self.margin, max(self.limits.decimals, self.reading.decimals)),
            "rule": self.rule,
            "rounding": self.rounding,
        }


def _described(limits: Limits) -> dict[str, str | None]:
    return limits.as_dict() | {"text": limits.describe()}


def tolerance_zone(limits: Limits) -> Zone:
    """The tolerance zone of limits."""
    return Zone(limits.lower, limits.upper)


def judge_reading(
    limits: Limits,
    reading: Quantity,
    *,
    uncertainty: Quantity | None = None,
    rule: Rule = "simple",
    guard_factor: Fraction = _ONE,
    rounding: rounded.Method = "absolute",
    k: Fraction = _TWO,
) -> Judgement:
    """The judgement of one reading.

    ``uncertainty`` is the expanded uncertainty of the reading with coverage factor ``k``. Under the guarded
    rule a reading inside the limits is doubtful where the acceptance zone vanished (DEC001) or the
    uncertainty is not known (DEC002); both stand in ``problems``.

    Raises:
        Unreadable: UNT003 reading or uncertainty of another dimension, DEC003 negative uncertainty, DEC004
            negative guard factor, DEC005 k not above 0.
    """
    value = reading if reading.unit == limits.unit else reading.to(limits.unit)
    specified = inside(rounded.compared(value.value, limits.decimals, rounding), limits.lower, limits.upper)
    if uncertainty is None and rule == "simple":
        return Judgement("in" if specified else "out", value, limits, limits, rule, rounding)
    expanded = None if uncertainty is None else _expanded(uncertainty, limits, k)
    if rule == "simple":
        return Judgement("in" if specified else "out", value, limits, limits, rule, rounding, expanded, k)
    accepted, problems = _acceptance(limits, expanded, guard_factor)
    state: State = "doubtful" if specified else "out"
    if specified and accepted is not None and inside(value.value, accepted.lower, accepted.upper):
        state = "in"
    return Judgement(state, value, limits, accepted, rule, rounding, expanded, k, problems)


def inside(value: Fraction, lower: Fraction | None, upper: Fraction | None) -> bool:
    """Whether the value lies between the bounds or on one of them."""
    return (lower is None or value >= lower) and (upper is None or value <= upper)


def acceptance(
    limits: Limits, expanded: Fraction | None, guard_factor: Fraction = _ONE
) -> tuple[Limits | None, tuple[Unreadable, ...]]:
    """The limits an assembler must meet under the guarded rule, and what stands against them.

    ``expanded`` is the expanded uncertainty in the unit of the limits. Bounds that no decimal writes exactly
    (a kilogram in pounds) are rounded inwards to three decimals more than the limits have, so that what is
    printed is what is judged.

    Raises:
        Unreadable: DEC004, the guard factor is negative.
    """
    return _acceptance(limits, expanded, guard_factor)


@lru_cache(maxsize=2048)
def _acceptance(
    limits: Limits, expanded: Fraction | None, guard_factor: Fraction
) -> tuple[Limits | None, tuple[Unreadable, ...]]:
    if guard_factor < 0:
        raise Unreadable("DEC004", f"guard factor {guard_factor} is below 0", "give 0 or more")
    if expanded is None:
        what = f"the guarded rule needs the uncertainty of the reading, and none is known for {limits.text!r}"
        return None, (Unreadable("DEC002", what, "give the gauge its uncertainty in the register"),)
    left = acceptance_zone(tolerance_zone(limits), guard_factor * expanded)
    if left is not None:
        left = acceptance_zone(_printable(left, limits.decimals + 3), Fraction(0))
    if left is None:
        return None, (_vanished(limits, guard_factor * expanded),)
    decimals = max(limits.decimals, *(decimals_needed(value) or 0 for value in left if value is not None))
    lower, upper = left
    return Limits(limits.text, lower, upper, limits.nominal, limits.unit, decimals, "guarded"), ()


def _printable(left: Zone, decimals: int) -> Zone:
    if all(value is None or decimals_needed(value) is not None for value in left):
        return left
    return Zone(*rounded.inward(left.lower, left.upper, decimals))


def _vanished(limits: Limits, guard_band: Fraction) -> Unreadable:
    band = f"{display_number(guard_band, limits.decimals)} {limits.unit}"
    what = f"a guard band of {band} on each side leaves nothing of {limits.describe()}"
    return Unreadable("DEC001", what, "measure with a better gauge, or have the tolerance widened")


def _expanded(uncertainty: Quantity, limits: Limits, k: Fraction) -> Fraction:
    if k <= 0:
        raise Unreadable("DEC005", f"coverage factor {k} is not above 0", "give the k of the certificate")
    if uncertainty.value < 0:
        raise Unreadable("DEC003", f"uncertainty {uncertainty} is below 0", "give 0 or more")
    return uncertainty.difference_to(limits.unit).value
