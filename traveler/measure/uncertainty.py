"""Measurement uncertainty: components, combination, coverage factor (JCGM 100:2008).

Components are kept as exact variances, so that a budget combines without rounding; roots are taken once, at
the end (``roots``). Only Student's t is a binary floating-point number, turned into an exact one as it comes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import erfc, exp, floor, log, pi, sqrt
from typing import Literal, NamedTuple

from traveler.measure.number import Unreadable, format_number, square_root


class Zone(NamedTuple):
    """Bounds of a zone, both inclusive; None where there is no such bound."""

    lower: Fraction | None
    upper: Fraction | None

    def holds(self, value: Fraction) -> bool:
        """Whether the value lies between the bounds or on one of them."""
        return (self.lower is None or value >= self.lower) and (self.upper is None or value <= self.upper)

    def margin(self, value: Fraction) -> Fraction:
        """How far inside the nearest bound the value lies; negative outside, 0 on the bound.

        A zone without bounds has no margin; 0 is given.
        """
        below = [] if self.lower is None else [value - self.lower]
        above = [] if self.upper is None else [self.upper - value]
        return min(below + above, default=Fraction(0))

    @property
    def width(self) -> Fraction | None:
        """Its width; None if it has one bound only."""
        return None if self.lower is None or self.upper is None else self.upper - self.lower


def acceptance_zone(tolerance: Zone, guard_band: Fraction) -> Zone | None:
    """The tolerance zone with each bound moved inwards by the guard band; None if nothing is left.

    A negative guard band widens it (guarded rejection, JCGM 106:2012 8.3.3).
    """
    lower = None if tolerance.lower is None else tolerance.lower + guard_band
    upper = None if tolerance.upper is None else tolerance.upper - guard_band
    return None if lower is not None and upper is not None and lower > upper else Zone(lower, upper)


def rejection_zone(tolerance: Zone, uncertainty: Fraction) -> Zone:
    """The zone beyond whose bounds nonconformity is proven (ISO 14253-1: tolerance widened by U)."""
    widened = acceptance_zone(tolerance, -uncertainty)
    return tolerance if widened is None else widened


def proven(value: Fraction, tolerance: Zone, uncertainty: Fraction) -> Literal["pass", "undecided", "fail"]:
    """What a reading proves: conformity, nonconformity, or neither (ISO 14253-1)."""
    accepted = acceptance_zone(tolerance, uncertainty)
    if accepted is not None and accepted.holds(value):
        return "pass"
    return "undecided" if rejection_zone(tolerance, uncertainty).holds(value) else "fail"


Statement = Literal["pass", "conditional pass", "conditional fail", "fail"]


def statement(value: Fraction, tolerance: Zone, guard_band: Fraction) -> Statement:
    """The non-binary statement with a guard band (ILAC-G8:09/2019 clause 4.2.3)."""
    accepted = acceptance_zone(tolerance, guard_band)
    if accepted is not None and accepted.holds(value):
        return "pass"
    if tolerance.holds(value):
        return "conditional pass"
    return "conditional fail" if rejection_zone(tolerance, guard_band).holds(value) else "fail"


def width_over_uncertainty(tolerance: Zone, uncertainty: Fraction) -> Fraction | None:
    """Test uncertainty ratio: width of the tolerance over that of the uncertainty, 2 · U (ANSI/NCSL Z540.3).

    With one bound only the standard names no width. Common practice, no source: the distance of the bound
    from zero stands for it, as for a run-out or a gap, which cannot be negative. None where that is 0 or U is
    0. U is that with k = 2; scale another one first.
    """
    bound = tolerance.upper if tolerance.upper is not None else tolerance.lower
    width = tolerance.width if tolerance.width is not None else abs(bound or Fraction(0))
    return width / (2 * uncertainty) if width and uncertainty > 0 else None


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


def _scores(text: Zone, mean: Fraction, deviation: Fraction) -> tuple[float, float]:
    low = _score(text.lower, mean, deviation, float("-inf"))
    return low, _score(text.upper, mean, deviation, float("inf"))


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


@dataclass(frozen=True, slots=True)
class Component:
    """One contribution: its variance (square of the standard uncertainty, in the unit of the input squared).

    ``sensitivity`` turns the input into the result (JCGM 100:2008 5.1.3). ``freedom`` are the degrees of
    freedom; None: infinitely many, the value is taken as known.
    """

    name: str
    variance: Fraction
    freedom: Fraction | None = None
    sensitivity: Fraction = Fraction(1)

    @property
    def u(self) -> Fraction:
        """Its standard uncertainty in the unit of the result."""
        return abs(self.sensitivity) * square_root(self.variance)

    def times(self, sensitivity: Fraction) -> Component:
        """The same contribution with this sensitivity."""
        return replace(self, sensitivity=sensitivity)


@dataclass(frozen=True, slots=True)
class ReadingSeries:
    """What repeated readings say (JCGM 100:2008 4.2): mean, standard deviation s, and u of the mean."""

    mean: Fraction
    variance: Fraction
    count: int

    @property
    def s(self) -> Fraction:
        """Experimental standard deviation of one reading."""
        return square_root(self.variance)

    def component(self, name: str = "repeatability", readings: int | None = None) -> Component:
        """Type A component of the mean of ``readings`` readings (all of the series, where not said)."""
        return Component(name, self.variance / (readings or self.count), Fraction(self.count - 1))


def type_a(readings: Sequence[Fraction]) -> ReadingSeries:
    """The series of two or more readings.

    Raises:
        Unreadable: UNC001, fewer than two readings.
    """
    count = len(readings)
    if count < 2:
        raise Unreadable("UNC001", f"{count} reading shows no spread; two or more are needed", "read again")
    mean = sum(readings, Fraction(0)) / count
    return ReadingSeries(
        mean, sum(((reading - mean) ** 2 for reading in readings), Fraction(0)) / (count - 1), count
    )


def rectangular(name: str, half_width: Fraction) -> Component:
    """Anywhere within ±a, evenly: u = a / √3 (JCGM 100:2008 4.3.7)."""
    return Component(name, _not_negative(half_width) ** 2 / 3)


def triangular(name: str, half_width: Fraction) -> Component:
    """Within ±a, rather in the middle: u = a / √6 (JCGM 100:2008 4.3.9)."""
    return Component(name, _not_negative(half_width) ** 2 / 6)


def u_shaped(name: str, half_width: Fraction) -> Component:
    """Swinging between -a and +a, rather at the ends: u = a / √2 (JCGM 101:2008 6.4.6.1, arcsine)."""
    return Component(name, _not_negative(half_width) ** 2 / 2)


def normal(
    name: str, expanded: Fraction, k: Fraction = Fraction(2), freedom: Fraction | None = None
) -> Component:
    """From a certificate: u = U / k (JCGM 100:2008 4.3.3).

    Raises:
        Unreadable: UNC002, U is negative or k is not above 0.
    """
    if k <= 0:
        raise Unreadable("UNC002", f"coverage factor {k} is not above 0", "give the k of the certificate")
    return Component(name, (_not_negative(expanded) / k) ** 2, freedom)


def resolution(name: str, step: Fraction) -> Component:
    """The last digit of a display, one step wide: u = step / √12 (JCGM 100:2008 F.2.2.1)."""
    return Component(name, _not_negative(step) ** 2 / 12)


def _not_negative(value: Fraction) -> Fraction:
    if value < 0:
        raise Unreadable("UNC002", f"uncertainty {value} is below 0", "give 0 or more")
    return value


@dataclass(frozen=True, slots=True)
class Budget:
    """Components put together. ``correlations``: pairs of places in ``components`` → r from -1 to 1."""

    components: tuple[Component, ...]
    correlations: tuple[tuple[int, int, Fraction], ...] = ()

    @property
    def variance(self) -> Fraction:
        """Square of the combined standard uncertainty (JCGM 100:2008 5.1.2; with correlation 5.2.2)."""
        total = sum(
            (component.sensitivity**2 * component.variance for component in self.components), Fraction(0)
        )
        for first, second, r in self.correlations:
            component, two = self.components[first], self.components[second]
            total += (
                2
                * r
                * component.sensitivity
                * two.sensitivity
                * square_root(component.variance * two.variance)
            )
        return max(total, Fraction(0))

    @property
    def u(self) -> Fraction:
        """Combined standard uncertainty."""
        return square_root(self.variance)

    @property
    def freedom(self) -> Fraction | None:
        """Effective degrees of freedom (Welch-Satterthwaite, JCGM 100:2008 G.4.1); None: infinitely many."""
        spent = sum(
            (
                (component.sensitivity**2 * component.variance) ** 2 / component.freedom
                for component in self.components
                if component.freedom
            ),
            Fraction(0),
        )
        return self.variance**2 / spent if spent else None

    def coverage_factor(self, probability: Fraction = Fraction(95, 100)) -> Fraction:
        """Coverage factor k for this probability, by Student's t (JCGM 100:2008 G.4.1).

        The degrees of freedom are cut down to a whole number.

        Raises:
            Unreadable: UNC003, the probability is not between 0 and 1.
        """
        freedom = self.freedom
        return student_t(None if freedom is None else max(1, floor(freedom)), probability)

    def expanded(self, probability: Fraction = Fraction(95, 100)) -> Fraction:
        """Expanded uncertainty U = k · u for this coverage.

        Raises:
            Unreadable: as :meth:`coverage_factor`.
        """
        return self.coverage_factor(probability) * self.u


def combine(
    components: Sequence[Component], correlations: Mapping[tuple[int, int], Fraction] | None = None
) -> Budget:
    """The budget of these components.

    Raises:
        Unreadable: UNC004, a correlation outside -1 to 1, or of a component that is not there.
    """
    listed = tuple((first, second, r) for (first, second), r in (correlations or {}).items())
    for first, second, r in listed:
        if not -1 <= r <= 1 or first == second or not {first, second} <= set(range(len(components))):
            what = f"correlation {r} of components {first} and {second} cannot be"
            raise Unreadable(
                "UNC004", what, "give r from -1 to 1 for two different components, counted from 0"
            )
    return Budget(tuple(components), listed)


def student_t(freedom: int | None, probability: Fraction) -> Fraction:
    """The two-sided quantile of Student's t, k for this coverage; freedom None: infinitely many.

    JCGM 100:2008 Table G.2.

    Raises:
        Unreadable: UNC003, the probability is not between 0 and 1.
    """
    from scipy.stats import norm, t

    if not 0 < probability < 1:
        raise Unreadable("UNC003", f"coverage probability {probability} is not between 0 and 1", "write 0.95")
    tail = float((1 + probability) / 2)
    return Fraction(float(norm.ppf(tail) if freedom is None else t.ppf(tail, freedom)))


def rounded_uncertainty(u: Fraction, digits: int = 2) -> str:
    """An uncertainty with this many significant digits, ties to the even one (JCGM 100:2008 7.2.6).

    >>> rounded(Fraction("0.03166"))
    '0.032'
    """
    if u == 0:
        return "0"
    scale = Fraction(10) ** (_leading(u) - digits + 1)
    value = round(u / scale) * scale
    return format_number(value, max(0, digits - 1 - _leading(value)))


def _leading(value: Fraction) -> int:
    """The power of ten of the first significant digit of a value that is not 0."""
    power = len(str(abs(value.numerator))) - len(str(value.denominator))
    return power if abs(value) >= Fraction(10) ** power else power - 1
