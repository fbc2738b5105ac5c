"""Judging a reading against limits, by a decision rule.

``simple``: in or out, by the limits alone. ``guarded``: the acceptance zone is the tolerance reduced by
guard factor · U (ISO 14253-1, JCGM 106:2012 clause 8.3.2). A reading between acceptance and specification
limits is doubtful; one on an acceptance limit is accepted. Everything is compared exactly.

The rounding method of ASTM E29 belongs to the specification limits. Acceptance limits are always compared
with the unrounded reading: a guard band is there to count small differences.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from traveler.measure.distributions import conformance_probability, probability_text
from traveler.measure.limits import Limits
from traveler.measure.number import (
    Unreadable,
    decimals_needed,
    display_number,
    format_number,
    inward,
    to_decimals,
)
from traveler.measure.quantity import Quantity

State = Literal["in", "out", "doubtful"]
Rule = Literal["simple", "guarded"]
Rounding = Literal["absolute", "rounding"]
"""``absolute``: the observed value counts with all its digits (E29 clause 5). ``rounding``: it is first
rounded to the last digit written in the limit (E29 clause 6), so ``max 4 mm`` and ``max 4.0 mm`` differ."""

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
    rounding: Rounding = "absolute"
    uncertainty: Fraction | None = None
    k: Fraction = _TWO
    problems: tuple[Unreadable, ...] = ()

    @property
    def ratio(self) -> Fraction | None:
        """Test uncertainty ratio: the span of the limits over 2 · U, U taken with k = 2 (ANSI/NCSL Z540.3).

        None without an uncertainty, or where the limits have no span.
        """
        span = self.limits.span
        return span * self.k / (4 * self.uncertainty) if span and self.uncertainty else None

    @property
    def probability(self) -> str | None:
        """Probability that the true value is within the limits, as text with six decimals."""
        if self.uncertainty is None:
            return None
        limits, u = self.limits, self.uncertainty / self.k
        return probability_text(conformance_probability(self.reading.value, u, limits.lower, limits.upper))

    def as_dict(self) -> dict[str, object]:
        """For ``--json``: every number as text; reading with its unit, ``margin`` in that of the limits."""
        limits, acceptance, value = self.limits, self.acceptance, self.reading.value
        return {
            "state": self.state,
            "reading": str(self.reading),
            "written": self.reading.written,
            "limits": limits.as_dict(),
            "acceptance": acceptance and acceptance.as_dict() | {"text": acceptance.describe()},
            "probability": self.probability,
            "ratio": None if self.ratio is None else format_number(self.ratio, 2),
            "margin": display_number(limits.margin(value), max(limits.decimals, self.reading.decimals)),
            "rule": self.rule,
            "rounding": self.rounding,
        }


def judge_reading(
    limits: Limits,
    reading: Quantity,
    *,
    uncertainty: Quantity | None = None,
    rule: Rule = "simple",
    guard_factor: Fraction = _ONE,
    rounding: Rounding = "absolute",
    k: Fraction = _TWO,
) -> Judgement:
    """The judgment of a reading.

    ``uncertainty`` is the expanded uncertainty of the reading with coverage factor ``k``. Under the guarded
    rule a reading inside the limits is doubtful where the acceptance zone vanished (DEC001) or the
    uncertainty is not known (DEC002); both stand in ``problems``.

    Raises:
        Unreadable: UNT003 reading or uncertainty of another dimension, DEC003 negative uncertainty, DEC004
            negative guard factor, DEC005 k not above 0.
    """
    read = reading if reading.unit == limits.unit else reading.to(limits.unit)
    compared = read.value if rounding == "absolute" else to_decimals(read.value, limits.decimals)
    specified = limits.holds(compared)
    expanded = None if uncertainty is None else _expanded(uncertainty, limits, k)
    if rule == "simple":
        state: State = "in" if specified else "out"
        return Judgement(state, read, limits, limits, rule, rounding, expanded, k)
    accepted, problems = acceptance(limits, expanded, guard_factor)
    state = "doubtful" if specified else "out"
    if specified and accepted is not None and accepted.holds(read.value):
        state = "in"
    return Judgement(state, read, limits, accepted, rule, rounding, expanded, k, problems)


@lru_cache(maxsize=2048)
def acceptance(
    limits: Limits, expanded: Fraction | None, guard_factor: Fraction = _ONE
) -> tuple[Limits | None, tuple[Unreadable, ...]]:
    """The acceptance limits of the guarded rule, or None and why there are none (DEC001, DEC002).

    ``expanded`` is the expanded uncertainty in the unit of the limits, None where it is not known. Bounds
    that no decimal writes exactly are rounded inwards to three decimals more than the limits have, so that
    what is printed is what is judged.

    Raises:
        Unreadable: DEC004, the guard factor is negative.
    """
    if guard_factor < 0:
        raise Unreadable("DEC004", f"guard factor {guard_factor} is below 0", "give 0 or more")
    if expanded is None:
        what = f"the guarded rule needs the uncertainty of the reading, and none is known for {limits.text!r}"
        return None, (Unreadable("DEC002", what, "give the gauge its uncertainty in the register"),)
    guard_band = guard_factor * expanded
    lower = None if limits.lower is None else limits.lower + guard_band
    upper = None if limits.upper is None else limits.upper - guard_band
    needed = [decimals_needed(bound) for bound in (lower, upper) if bound is not None]
    if None in needed:
        lower, upper = inward(lower, upper, limits.decimals + 3)
        needed = [decimals_needed(bound) for bound in (lower, upper) if bound is not None]
    if lower is not None and upper is not None and lower > upper:
        band = f"{display_number(guard_band, limits.decimals)} {limits.unit}"
        what = f"a guard band of {band} on each side leaves nothing of {limits.describe()}"
        hint = "measure with a better gauge, or have the tolerance widened"
        return None, (Unreadable("DEC001", what, hint),)
    decimals = max(limits.decimals, *(count or 0 for count in needed))
    return Limits(limits.text, lower, upper, limits.nominal, limits.unit, decimals, "guarded"), ()


def _expanded(uncertainty: Quantity, limits: Limits, k: Fraction) -> Fraction:
    if k <= 0:
        raise Unreadable("DEC005", f"coverage factor {k} is not above 0", "give the k of the certificate")
    if uncertainty.value < 0:
        raise Unreadable("DEC003", f"uncertainty {uncertainty} is below 0", "give 0 or more")
    return uncertainty.difference_to(limits.unit).value
