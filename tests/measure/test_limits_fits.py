"""Fits of two parts, as text."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.limits import is_fit, parse_fit
from traveler.measure.number import Unreadable


@pytest.mark.parametrize("text", ["25 H7/g6", "⌀25 H7/g6", "25 mm H7 / g6", "25H7/g6"])
def test_a_fit_gives_both_parts_and_the_clearance(text: str) -> None:
    assert is_fit(text)
    found = parse_fit(text)
    assert found.hole.describe() == "25.000 to 25.021 mm"
    assert found.shaft.describe() == "24.980 to 24.993 mm"
    assert [str(float(bound)) for bound in found.clearance[:2]] == ["0.007", "0.041"]
    assert found.clearance.kind == "clearance"


@pytest.mark.parametrize("text", ["25 H7", "25 g6/H7", "25 H7/", "H7/g6", "", "25 H7/g6/h6"])
def test_what_is_no_fit_is_refused(text: str) -> None:
    assert not is_fit(text)
    with pytest.raises(Unreadable, match="LIM003"):
        parse_fit(text)


@pytest.mark.parametrize(
    ("text", "code"), [("600 H7/g6", "LIM005"), ("25 H7/u6", "LIM005"), ("25 kg H7/g6", "UNT003")]
)
def test_a_fit_outside_the_tables_is_refused(text: str, code: str) -> None:
    with pytest.raises(Unreadable) as refusal:
        parse_fit(text)
    assert refusal.value.code == code


@given(st.integers(1, 500), st.sampled_from("defgh"), st.integers(5, 9))
def test_shafts_d_to_h_never_bind_in_a_hole_h(nominal: int, letter: str, grade: int) -> None:
    found = parse_fit(f"{nominal} H{grade}/{letter}{grade}").clearance
    assert found.kind == "clearance"
    assert 0 <= found.least < found.greatest
