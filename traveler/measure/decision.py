"""Probabilities and risks of accepting and rejecting (JCGM 106:2012, ANSI/NCSL Z540.3).

Probabilities are binary floating-point numbers, made from exact values here and nowhere before. All take what
is known of a value as normal: best estimate and standard uncertainty u = U / k.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import erfc, exp, log, pi, sqrt

from traveler.measure.acceptance import Zone
from traveler.measure.unreadable import Unreadable


def _below(score: float) -> float:
    """The standard normal distribution function; ``erfc`` keeps the small tails exact."""
    return erfc(-score / sqrt(2)) / 2


def _score(bound: Fraction | None, value: Fraction, u: Fraction, otherwise: float) -> float:
    """Standard score of a bound; ``otherwise`` where there is none, infinity where it is too far to write."""
    if bound is None:
        return otherwise
    try:
        return float((bound - value) / u)
    except OverflowError:
        return float("inf") if bound > value else float("-inf")


def conformance_probability(value: Fraction, u: Fraction, tolerance: Zone) -> float:
    """The probability, 0 to 1, that the true value lies within the tolerance (JCGM 106:2012 clause 7).

    ``u`` is the standard uncertainty of the value, in the same unit; with 0 the answer is 0 or 1.

    Raises:
        Unreadable: DEC003, u is negative.
    """
    if u < 0:
        raise Unreadable("DEC003", f"uncertainty {u} is below 0", "give 0 or more")
    if u == 0:
        return 1.0 if tolerance.holds(value) else 0.0
    low, high = _scores(tolerance, value, u)
    if low > 0:  # both bounds above: the difference of two numbers near 1 would lose the small tail
        return _below(-low) - _below(-high)
    return _below(high) - _below(low)


def probability_text(probability: float) -> str:
    """A probability with six decimals; never a full 1 or 0 for what is only nearly so.

    >>> probability_text(0.8413447), probability_text(1 - 1e-9)
    ('0.841345', '0.999999')
    """
    if 0 < probability < 1:
        return f"{min(max(probability, 1e-6), 1 - 1e-6):.6f}"
    return "1" if probability >= 1 else "0"


def false_accept_at_limit(guard_factor: Fraction, k: Fraction) -> float:
    """Specific consumer's risk of a reading just on its acceptance limit, guard band = factor · U, U = k · u.

    Only one bound is thought to be near (ILAC-G8:09/2019 Table 1; JCGM 106:2012 clause 8.3).
    """
    return _below(-float(guard_factor * k))


def guard_factor_for(confidence: Fraction) -> float:
    """Guard band in standard uncertainties for a one-sided confidence: 0.95 gives 1.645 (ISO 14253-1:2017).

    Raises:
        Unreadable: DEC006, the confidence is not between 0 and 1.
    """
    from scipy.stats import norm

    if not 0 < confidence < 1:
        raise Unreadable("DEC006", f"confidence {confidence} is not between 0 and 1", "write it like 0.95")
    return float(norm.ppf(float(confidence)))


def managed_guard_factor(ratio: Fraction) -> float:
    """Guard band as a multiple of U that keeps false accepts at 2 % or less, from the ratio alone.

    M = 1.04 - exp(0.38 · ln(TUR) - 0.54) (Dobbert; ANSI/NCSL Z540.3 handbook, method 6). 0 from a ratio of
    about 4.6 on, where none is needed.

    Raises:
        Unreadable: DEC007, the ratio is not above 0.
    """
    if ratio <= 0:
        raise Unreadable("DEC007", f"uncertainty ratio {ratio} is not above 0", "give a tolerance with width")
    return max(0.0, 1.04 - exp(0.38 * log(ratio) - 0.54))


def shrunk_tolerance_factor(ratio: Fraction) -> float:
    """Acceptance width over tolerance width by root difference of squares, sqrt(1 - 1/TUR²).

    Raises:
        Unreadable: DEC007, the ratio is below 1: no width would be left.
    """
    if ratio < 1:
        raise Unreadable("DEC007", f"uncertainty ratio {ratio} is below 1", "measure with a better gauge")
    return sqrt(1 - 1 / ratio**2)


@dataclass(frozen=True, slots=True)
class Risks:
    """Global risks, 0 to 1: ``consumer``, bad and accepted; ``producer``, good and rejected."""

    consumer: float
    producer: float


def global_risks(
    mean: Fraction, deviation: Fraction, tolerance: Zone, u: Fraction, accepted: Zone | None
) -> Risks:
    """The risks over the whole production (JCGM 106:2012 clause 9.5), process and measurement normal.

    ``mean`` and ``deviation`` (standard, above 0) are those of the true values of the process, ``u`` (above
    0) the standard uncertainty of a reading; all in one unit. ``accepted`` is the acceptance zone, None if it
    vanished (then every good piece is rejected).

    Raises:
        Unreadable: DEC003, ``deviation`` or ``u`` is not above 0.
    """
    if deviation <= 0 or u <= 0:
        raise Unreadable("DEC003", "the spread of process and measurement must be above 0")
    good = conformance_probability(mean, deviation, tolerance)
    if accepted is None:
        return Risks(0.0, good)
    scale = float(u / deviation)
    low, high = _scores(tolerance, mean, deviation)
    gates = _scores(accepted, mean, deviation)
    bad_accepted = _accepted(-_FAR, low, gates, scale) + _accepted(high, _FAR, gates, scale)
    return Risks(bad_accepted, max(0.0, good - _accepted(low, high, gates, scale)))


def _scores(one: Zone, mean: Fraction, deviation: Fraction) -> tuple[float, float]:
    low = _score(one.lower, mean, deviation, float("-inf"))
    return low, _score(one.upper, mean, deviation, float("inf"))


_FAR = 12.0
"""Standard scores beyond this hold less than 1e-32 of a normal distribution."""


def _accepted(start: float, end: float, gates: tuple[float, float], scale: float) -> float:
    """Probability of a true standard score between ``start`` and ``end`` whose reading falls in the gates."""
    from scipy.integrate import quad

    start, end = max(start, -_FAR), min(end, _FAR)
    if start >= end:
        return 0.0

    def density(score: float) -> float:
        chance = _below((gates[1] - score) / scale) - _below((gates[0] - score) / scale)
        return exp(-score * score / 2) / sqrt(2 * pi) * chance

    # the chance steps from 0 to 1 within a few ``scale`` of a gate: pieces end there, so none is missed
    steps = {gate + times * scale for gate in gates for times in (-8, -2, 0, 2, 8)}
    points = sorted({start, end, *(point for point in (*steps, 0.0) if start < point < end)})
    return float(sum(quad(density, a, b, epsabs=1e-12)[0] for a, b in pairwise(points)))
