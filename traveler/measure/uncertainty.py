"""Measurement uncertainty: components, combination, coverage factor (JCGM 100:2008).

Components are kept as exact variances, so that a budget combines without rounding; roots are taken once, at
the end (``roots``). Only Student's t is a binary floating-point number, turned into an exact one as it comes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import floor

from traveler.measure.number import format_number
from traveler.measure.roots import root
from traveler.measure.unreadable import Unreadable


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
        return abs(self.sensitivity) * root(self.variance)

    def times(self, sensitivity: Fraction) -> Component:
        """The same contribution with this sensitivity."""
        return replace(self, sensitivity=sensitivity)


@dataclass(frozen=True, slots=True)
class Series:
    """What repeated readings say (JCGM 100:2008 4.2): mean, standard deviation s, and u of the mean."""

    mean: Fraction
    variance: Fraction
    count: int

    @property
    def s(self) -> Fraction:
        """Experimental standard deviation of one reading."""
        return root(self.variance)

    def component(self, name: str = "repeatability", readings: int | None = None) -> Component:
        """Type A component of the mean of ``readings`` readings (all of the series, where not said)."""
        return Component(name, self.variance / (readings or self.count), Fraction(self.count - 1))


def type_a(readings: Sequence[Fraction]) -> Series:
    """The series of two or more readings.

    Raises:
        Unreadable: UNC001, fewer than two readings.
    """
    count = len(readings)
    if count < 2:
        raise Unreadable("UNC001", f"{count} reading shows no spread; two or more are needed", "read again")
    mean = sum(readings, Fraction(0)) / count
    return Series(mean, sum(((one - mean) ** 2 for one in readings), Fraction(0)) / (count - 1), count)


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
        total = sum((one.sensitivity**2 * one.variance for one in self.components), Fraction(0))
        for first, second, r in self.correlations:
            one, two = self.components[first], self.components[second]
            total += 2 * r * one.sensitivity * two.sensitivity * root(one.variance * two.variance)
        return max(total, Fraction(0))

    @property
    def u(self) -> Fraction:
        """Combined standard uncertainty."""
        return root(self.variance)

    @property
    def freedom(self) -> Fraction | None:
        """Effective degrees of freedom (Welch-Satterthwaite, JCGM 100:2008 G.4.1); None: infinitely many."""
        spent = sum(
            (
                (one.sensitivity**2 * one.variance) ** 2 / one.freedom
                for one in self.components
                if one.freedom
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


def rounded(u: Fraction, digits: int = 2) -> str:
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
