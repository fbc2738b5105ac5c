"""How long judging 300 readings takes, against the same comparisons in binary floating point."""

from __future__ import annotations

import timeit

import pytest

from traveler.measure import quantity
from traveler.measure.judge import judge_reading
from traveler.measure.limits import parse_limits
from traveler.measure.quantity import parse_quantity

COUNT = 300
TEXTS = [f"0.{n:03} mm" for n in range(COUNT)]


def best(work: object) -> float:
    """Milliseconds of the best of twenty runs."""
    return min(timeit.repeat(work, number=1, repeat=20)) * 1000  # type: ignore[arg-type]


@pytest.mark.bench
def test_judging_three_hundred_readings() -> None:
    limits = parse_limits("max 0.05 mm")
    readings = [parse_quantity(text) for text in TEXTS]
    uncertainty = parse_quantity("0.003 mm")

    def from_text() -> None:
        quantity._parse.cache_clear()
        for text in TEXTS:
            judge_reading(parse_limits("max 0.05 mm"), parse_quantity(text))

    baseline = best(lambda: [float(text[:-3]) <= 0.05 for text in TEXTS])
    rows = {
        "exact, readings parsed": best(lambda: [judge_reading(limits, reading) for reading in readings]),
        "exact, from text": best(from_text),
        "guarded, readings parsed": best(
            lambda: [
                judge_reading(limits, reading, uncertainty=uncertainty, rule="guarded")
                for reading in readings
            ]
        ),
    }
    print(f"\nbinary floating point, from text: {baseline:.3f} ms for {COUNT}")
    for name, took in rows.items():
        print(f"{name:<26} {took:7.3f} ms, {took / baseline:6.1f} times the baseline")
    assert sum(judge_reading(limits, reading).state == "in" for reading in readings) == 51
