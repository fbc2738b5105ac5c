"""Limits as values: how they print, and how they go into another unit."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import Unreadable
from traveler.measure.quantity import convert

REFERENCE = yaml.load(
    (Path(__file__).parents[1] / "reference" / "units.yaml").read_text(encoding="utf-8"),
    Loader=yaml.CBaseLoader,  # noqa: S506 - makes texts only
)
INWARD = {case["id"]: case for case in REFERENCE["cases"] if case["op"] == "limits_inward"}


@pytest.mark.parametrize("name", INWARD)
def test_limits_in_another_unit_are_rounded_inwards(name: str) -> None:
    case = INWARD[name]
    given_inches = f"{case['input']['lower_in']} to {case['input']['upper_in']} in"
    limits = parse_limits(given_inches).to("mm", int(case["input"]["places_mm"]))
    assert limits.describe() == f"{case['expect']['lower_mm']} to {case['expect']['upper_mm']} mm"


def _there(limits: Limits, unit: str) -> Limits | None:
    """The limits in the unit, or None where its decimals leave no room between them (LIM004)."""
    try:
        return limits.to(unit)
    except Unreadable as problem:
        if problem.code != "LIM004":
            raise
        return None


@given(st.integers(0, 10**6), st.integers(1, 10**4), st.sampled_from(["in", "ft", "mm", "µm"]))
def test_limits_in_another_unit_never_admit_more(low: int, width: int, unit: str) -> None:
    limits = Limits("", Fraction(low, 1000), Fraction(low + width, 1000), None, "mm", 3)
    there = _there(limits, unit)
    if there is None:
        return
    assert there.lower is not None
    assert there.upper is not None
    assert limits.lower <= convert(there.lower, unit, "mm")
    assert convert(there.upper, unit, "mm") <= limits.upper


def test_limits_in_another_unit_are_exact_where_six_decimals_do_it() -> None:
    assert parse_limits("1 to 2 in").to("mm").describe() == "25.4 to 50.8 mm"
    assert parse_limits("max 1 N·m").to("lbf·ft").describe() == "max 0.737562 lbf·ft"


def test_rounding_that_leaves_nothing_is_refused() -> None:
    with pytest.raises(Unreadable, match="LIM004"):
        parse_limits("0.0001 to 0.0002 in").to("mm", 2)


def test_limits_of_another_dimension_are_refused() -> None:
    with pytest.raises(Unreadable, match="UNT003"):
        parse_limits("max 1 mm").to("kg")


def test_the_dictionary_holds_exact_numbers_as_text() -> None:
    assert parse_limits("24 N·m ± 1.5").as_dict() == {
        "text": "24 N·m ± 1.5", "lower": "22.5", "upper": "25.5", "unit": "N·m",
    }  # fmt: skip
    assert parse_limits("max 0.05 mm").as_dict()["lower"] is None


def test_one_bound_has_no_width() -> None:
    assert parse_limits("max 0.05 mm").width is None
    assert parse_limits("10 to 12 mm").width == 2


@pytest.mark.parametrize(
    ("text", "span"),
    [("10 to 12 mm", "2"), ("max 0.05 mm", "0.05"), ("min -8 N", "8"), ("max 0 mm", None),
     ("max 40 °C", None), ("20 to 40 °C", "20"), ("max 40 dB", None)],
)  # fmt: skip
def test_one_bound_spans_its_distance_from_zero_where_zero_means_something(
    text: str, span: str | None
) -> None:
    assert parse_limits(text).span == (None if span is None else Fraction(span))
