"""Dialling in a simulated screw: how many readings ``learn`` takes, against halving.

The effect of a turn is known to neither, and every move really made differs from the one noted (10 % standard
deviation). Both begin with the same trial turn and read the same dial. Counts are compared, never times.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from statistics import mean

import pytest

from traveler.measure.adjust.advise import AdjustedReading, advise
from traveler.measure.limits import parse_limits
from traveler.measure.quantity import parse_quantity

LIMITS = parse_limits("0 ± 0.05 mm")
FIRST = Fraction(1, 4)
PATIENCE = 60
"""Readings after which a try counts as given up."""


@dataclass
class Screw:
    """A screw with a hidden effect (mm/turn); the dial shows hundredths of a millimeter."""

    effect: float
    off: float
    noise: random.Random
    slip: float = 0.1
    notes: list[AdjustedReading] = field(default_factory=list)

    def read(self, adjusted: str | None = None) -> Fraction:
        text = f"{self.off:.2f}"
        self.notes.append(AdjustedReading(parse_quantity(text, "mm"), adjusted))
        return Fraction(text)

    def turn(self, turns: Fraction) -> Fraction:
        self.off += self.effect * float(turns) * (1 + self.noise.gauss(0, self.slip))
        return self.read(f"{float(turns):.6f} turn")


def screws(count: int, seed: int, slip: float = 0.1) -> list[Screw]:
    """Screws with effects from 0.1 to 2 mm a turn, either way round, 0.2 to 2 mm off."""
    random_ = random.Random(seed)
    made = []
    for _ in range(count):
        effect = 0.1 * 20 ** random_.random() * random_.choice((1, -1))
        off = random_.uniform(0.2, 2) * random_.choice((1, -1))
        made.append(Screw(effect, off, random.Random(random_.random()), slip))
    return made


def by_learning(screw: Screw) -> int:
    """Readings it takes when every advice of ``learn`` is followed and noted."""
    screw.read()
    while len(screw.notes) < PATIENCE:
        advice = advise("learn", {"learn": "true"}, LIMITS, screw.notes)
        if not advice.needed:
            break
        assert advice.amount is not None
        screw.turn(advice.amount if advice.direction == "clockwise" else -advice.amount)
    return len(screw.notes)


def by_halving(screw: Screw) -> int:
    """Readings it takes to double the turn until the goal is passed, then to halve what encloses it.

    Moves are not quite what was noted: when the enclosed piece has shrunk to half a degree, what was known of
    the far side is forgotten and doubling starts again.
    """
    reading, at, step = screw.read(), Fraction(0), FIRST
    sides = {reading > 0: at}
    while len(screw.notes) < PATIENCE and abs(reading) > Fraction("0.05"):
        move = step if len(sides) == 1 else (sides[True] + sides[False]) / 2 - at
        before, reading, at = reading, screw.turn(move), at + move
        sides[reading > 0] = at
        if len(sides) == 1:
            step = 2 * move if abs(reading) < abs(before) else -2 * move
        elif abs(sides[True] - sides[False]) < Fraction(1, 720):
            sides = {reading > 0: at}
            step = Fraction(1, 72) if move > 0 else -Fraction(1, 72)
    return len(screw.notes)


def counts(way: Callable[[Screw], int], count: int, seed: int, slip: float = 0.1) -> list[int]:
    return [way(screw) for screw in screws(count, seed, slip)]


def test_learning_dials_in_with_at_most_three_quarters_of_the_readings_that_halving_takes() -> None:
    learned, halved = counts(by_learning, 1000, seed=2026), counts(by_halving, 1000, seed=2026)
    assert max(learned) < PATIENCE
    assert mean(learned) <= 0.75 * mean(halved)


@pytest.mark.bench
@pytest.mark.parametrize("slip", [0.0, 0.1, 0.25])
def test_print_the_ratio_of_readings(slip: float, capsys: pytest.CaptureFixture[str]) -> None:
    learned, halved = counts(by_learning, 1000, 1, slip), counts(by_halving, 1000, 1, slip)
    with capsys.disabled():
        print(
            f"\ndial-in, 1,000 screws, moves off by {slip:.0%}: learn {mean(learned):.2f} readings "
            f"(worst {max(learned)}), halving {mean(halved):.2f} (worst {max(halved)}); "
            f"ratio {mean(halved) / mean(learned):.2f}"
        )
    assert mean(learned) < mean(halved)
