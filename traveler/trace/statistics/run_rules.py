"""Run rules: patterns on a control chart that chance alone seldom makes.

Three sets are ready. ``ISO_7870_2`` is the default: the tests that ISO 7870-2 shows for assignable causes
(a point beyond the limits, seven in a row on one side, seven in a row rising or falling) with the zone
test two of three beyond two sigma, that standard's warning limits. ``WESTERN_ELECTRIC`` are the four zone
rules of 1956, ``NELSON`` the eight tests of 1984. More rules find more and cry
wolf more often; ``docs/statistics.md`` gives the measured rates.

Strictness: a point on a line is not beyond it, a point on the centre line ends a run, equal neighbours end
a trend, and the point a signal is laid on must itself be one of those beyond.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from traveler.trace.statistics.exact import scaled
from traveler.trace.statistics.result import Result


class Shape(StrEnum):
    """What a pattern looks for."""

    BEYOND = "beyond"
    ONE_SIDE = "one side"
    TREND = "trend"
    ALTERNATING = "alternating"
    ZONE = "zone"
    HUGGING = "hugging"
    AVOIDING = "avoiding"


@dataclass(frozen=True)
class Pattern(Result):
    """One pattern: at least ``count`` of ``window`` neighbours; ``sigmas`` where it asks for a distance."""

    number: int
    shape: Shape
    count: int
    window: int
    sigmas: int = 0

    @property
    def words(self) -> str:
        """The pattern as a person would tell it."""
        return _WORDS[self.shape].format(count=self.count, window=self.window, sigmas=self.sigmas)


_WORDS = {
    Shape.BEYOND: "beyond the control limit",
    Shape.ONE_SIDE: "{count} in a row on one side of the centre line",
    Shape.TREND: "{count} in a row, each higher (or each lower) than the one before",
    Shape.ALTERNATING: "{count} in a row going up and down by turns",
    Shape.ZONE: "{count} of {window} beyond {sigmas} sigma on the same side",
    Shape.HUGGING: "{count} in a row within {sigmas} sigma of the centre line: limits too wide?",
    Shape.AVOIDING: "{count} in a row with none within {sigmas} sigma: two sources mixed",
}


@dataclass(frozen=True)
class Signal(Result):
    """A pattern that was found: ``first`` to ``last`` are the points it is made of (indices from 0).

    ``flagged`` are the points at which the pattern was complete; a longer run flags several and stays one
    signal. ``side`` is +1 above or rising, −1 below or falling, 0 where there is no side.
    ``pattern`` tells the rule, ``words`` this case of it.
    """

    rule: int
    first: int
    last: int
    flagged: tuple[int, ...]
    side: int
    pattern: str
    words: str


Scores = Sequence[Fraction]
"""Points as distances from the centre line in sigmas; above is positive."""


def _sign(value: int) -> int:
    return (value > 0) - (value < 0)


def _all_one(signs: Sequence[int]) -> int:
    """The common sign of all, or 0."""
    return signs[0] if signs[0] and len(set(signs)) == 1 else 0


def _steps(points: Sequence[int]) -> list[int]:
    return [_sign(b - a) for a, b in pairwise(points)]


def _zone(points: Sequence[int], reach: int, count: int) -> int:
    side = _sign(points[-1])
    beyond = sum(side * point > reach for point in points)
    return side if side * points[-1] > reach and beyond >= count else 0


def _alternating(points: Sequence[int], _reach: int, _count: int) -> bool:
    return all(a * b < 0 for a, b in pairwise(_steps(points)))


_FOUND: dict[Shape, Callable[[Sequence[int], int, int], int | bool]] = {
    Shape.BEYOND: lambda points, reach, _: _sign(points[-1]) if abs(points[-1]) > reach else 0,
    Shape.ONE_SIDE: lambda points, *_: _all_one([_sign(point) for point in points]),
    Shape.TREND: lambda points, *_: _all_one(_steps(points)),
    Shape.ALTERNATING: _alternating,
    Shape.ZONE: _zone,
    Shape.HUGGING: lambda points, reach, _: all(abs(point) < reach for point in points),
    Shape.AVOIDING: lambda points, reach, _: all(abs(point) > reach for point in points),
}
_SIDED = frozenset({Shape.BEYOND, Shape.ONE_SIDE, Shape.TREND, Shape.ZONE})

_LIMIT = Pattern(1, Shape.BEYOND, 1, 1, 3)
ISO_7870_2 = (
    _LIMIT,
    Pattern(2, Shape.ONE_SIDE, 7, 7),
    Pattern(3, Shape.TREND, 7, 7),
    Pattern(4, Shape.ZONE, 2, 3, 2),
)
WESTERN_ELECTRIC = (
    _LIMIT,
    Pattern(2, Shape.ZONE, 2, 3, 2),
    Pattern(3, Shape.ZONE, 4, 5, 1),
    Pattern(4, Shape.ONE_SIDE, 8, 8),
)
NELSON = (
    _LIMIT,
    Pattern(2, Shape.ONE_SIDE, 9, 9),
    Pattern(3, Shape.TREND, 6, 6),
    Pattern(4, Shape.ALTERNATING, 14, 14),
    Pattern(5, Shape.ZONE, 2, 3, 2),
    Pattern(6, Shape.ZONE, 4, 5, 1),
    Pattern(7, Shape.HUGGING, 15, 15, 1),
    Pattern(8, Shape.AVOIDING, 8, 8, 1),
)


def flagged(scores: Scores, pattern: Pattern) -> list[tuple[int, int]]:
    """The points at which the pattern is complete, each with its side (±1, or 0 where there is none)."""
    found = []
    points, scale = scaled(scores)
    reach = pattern.sigmas * scale
    for end in range(_shortest(pattern) - 1, len(points)):
        window = points[max(0, end - pattern.window + 1) : end + 1]
        side = _FOUND[pattern.shape](window, reach, pattern.count)
        if side:
            found.append((end, int(side) if pattern.shape in _SIDED else 0))
    return found


def _shortest(pattern: Pattern) -> int:
    """The fewest points that can complete the pattern: two beyond two sigma need no third."""
    return pattern.count if pattern.shape is Shape.ZONE else pattern.window


def _start(scores: Scores, end: int, side: int, pattern: Pattern) -> int:
    """The first point that belongs to the pattern completed at ``end``."""
    first = max(0, end - pattern.window + 1)
    if pattern.shape is not Shape.ZONE:
        return first
    return next(at for at in range(first, end + 1) if side * scores[at] > pattern.sigmas)


def _signal(scores: Scores, run: list[tuple[int, int]], pattern: Pattern) -> Signal:
    side, last = run[0][1], run[-1][0]
    first = _start(scores, run[0][0], side, pattern)
    return Signal(
        rule=pattern.number,
        first=first,
        last=last,
        flagged=tuple(end for end, _ in run),
        side=side,
        pattern=pattern.words,
        words=_words(first, last, side, pattern),
    )


_SIDES = {
    Shape.BEYOND: {1: "above the upper control limit", -1: "below the lower control limit"},
    Shape.ONE_SIDE: {1: "{length} in a row above the centre line",
                     -1: "{length} in a row below the centre line"},
    Shape.TREND: {1: "{length} in a row, each higher than the one before",
                  -1: "{length} in a row, each lower than the one before"},
    Shape.ZONE: {1: "{count} of {window} more than {sigmas} sigma above the centre line",
                 -1: "{count} of {window} more than {sigmas} sigma below the centre line"},
}  # fmt: skip


def _words(first: int, last: int, side: int, pattern: Pattern) -> str:
    """``points 5 to 11: 7 in a row above the centre line``; a person counts from 1."""
    where = f"point {last + 1}" if first == last else f"points {first + 1} to {last + 1}"
    text = _SIDES[pattern.shape][side] if side else pattern.words
    return f"{where}: " + text.format(
        length=last - first + 1, count=pattern.count, window=pattern.window, sigmas=pattern.sigmas
    )


def signals(scores: Scores, patterns: Sequence[Pattern] = ISO_7870_2) -> tuple[Signal, ...]:
    """Every signal, in the order of the points that complete them; neighbouring ones of one kind are one.

    Args:
        scores: the points as exact distances from the centre line in sigmas.
        patterns: the rules to apply.
    """
    found = []
    for pattern in patterns:
        run: list[tuple[int, int]] = []
        for end, side in flagged(scores, pattern):
            if run and (end, side) != (run[-1][0] + 1, run[-1][1]):
                found.append(_signal(scores, run, pattern))
                run = []
            run.append((end, side))
        if run:
            found.append(_signal(scores, run, pattern))
    return tuple(sorted(found, key=lambda one: (one.flagged[0], one.rule)))
