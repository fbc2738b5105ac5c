"""Judging: exact comparison, the guarded rule, and what a judgment says."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.judge import acceptance, judge_reading
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import Unreadable
from traveler.measure.quantity import Quantity, parse_quantity


@pytest.mark.parametrize(
    ("limits", "reading", "state"),
    [
        ("max 0.05 mm", "0.050 mm", "in"),
        ("max 0.05 mm", "0.05 mm", "in"),
        ("max 0.05 mm", "0,05 mm", "in"),
        ("max 0.05 mm", "5e-2 mm", "in"),
        ("max 0.05 mm", "0.0501 mm", "out"),
        ("max 0.05 mm", "0.0500000000000000001 mm", "out"),
        ("max 0.05 mm", "0.002 in", "out"),  # 0.0508 mm
        ("max 0.05 mm", "50 µm", "in"),
        ("max 0.05 mm", "1.9 mil", "in"),
        ("0.1 to 0.3 mm", "0.3 mm", "in"),
        ("0.1 to 0.3 mm", "0.1 mm", "in"),
        ("0.3 mm ± 0.1", "0.2 mm", "in"),  # 0.3 - 0.1 is not 0.2 in binary
        ("24 N·m ± 1.5", "22.5 Nm", "in"),
        ("24 N·m ± 1.5", "22.49 Nm", "out"),
        ("24 N·m ± 1.5", "18 ft-lb", "in"),
        ("1/4 ± 1/64 in", "17/64 in", "in"),
        ("1/4 ± 1/64 in", "0.26562 in", "in"),
        ("1/4 ± 1/64 in", "0.26563 in", "out"),
        ("25 H7", "25.021 mm", "in"),
        ("25 H7", "25.0211 mm", "out"),
        ("90 ± 0.5 deg", "90° 30'", "in"),
        ("90 ± 0.5 deg", "90° 30' 1\"", "out"),
        ("20 ± 2 °C", "71.6 °F", "in"),
        ("20 ± 2 °C", "295.15 K", "in"),
        ("min 8 N", "7.999 N", "out"),
        ("max 1 mm/m", "0.1 %", "in"),
    ],
)
def test_readings_are_compared_exactly_and_bounds_are_inclusive(
    limits: str, reading: str, state: str
) -> None:
    assert judge_reading(parse_limits(limits), parse_quantity(reading)).state == state


def test_the_reading_comes_back_in_the_unit_of_the_limits_as_it_was_written() -> None:
    found = judge_reading(parse_limits("max 0.05 mm"), parse_quantity("0.002 in"))
    assert str(found.reading) == "0.0508 mm"
    assert found.reading.written == "0.002 in"
    assert found.limits.margin(found.reading.value) == Fraction("-0.0008")


def test_a_reading_of_another_dimension_is_refused() -> None:
    with pytest.raises(Unreadable, match="UNT003"):
        judge_reading(parse_limits("max 0.05 mm"), parse_quantity("0.05 kg"))


@pytest.mark.parametrize(
    ("reading", "state"),
    [
        ("0.046 mm", "in"),
        ("0.047 mm", "in"),
        ("0.0471 mm", "doubtful"),
        ("0.05 mm", "doubtful"),
        ("0.0501 mm", "out"),
    ],
)
def test_the_guarded_rule_tells_in_doubtful_and_out(reading: str, state: str) -> None:
    found = judge_reading(
        parse_limits("max 0.05 mm"),
        parse_quantity(reading),
        uncertainty=parse_quantity("0.003 mm"),
        rule="guarded",
    )
    assert found.state == state
    assert found.acceptance is not None
    assert found.acceptance.describe() == "max 0.047 mm"
    assert found.problems == ()


def test_a_judgement_says_everything_as_text() -> None:
    found = judge_reading(
        parse_limits("max 0.05 mm"),
        parse_quantity("0.049 mm"),
        uncertainty=parse_quantity("3 µm"),
        rule="guarded",
    )
    assert found.as_dict() == {
        "state": "doubtful",
        "reading": "0.049 mm",
        "written": "0.049 mm",
        "limits": {"text": "max 0.05 mm", "lower": None, "upper": "0.05", "unit": "mm"},
        "acceptance": {"text": "max 0.047 mm", "lower": None, "upper": "0.047", "unit": "mm"},
        "probability": "0.747507",  # Φ(0.001 / 0.0015)
        "ratio": "8.33",
        "margin": "0.001",
        "rule": "guarded",
        "rounding": "absolute",
    }


def test_under_the_simple_rule_the_uncertainty_informs_but_does_not_decide() -> None:
    found = judge_reading(
        parse_limits("24 N·m ± 1.5"), parse_quantity("25.5 N·m"), uncertainty=parse_quantity("0.5 N·m")
    )
    assert (found.state, found.probability, found.ratio) == ("in", "0.500000", 3)


def test_the_ratio_is_taken_with_a_coverage_factor_of_two() -> None:
    found = judge_reading(
        parse_limits("24 N·m ± 1.5"),
        parse_quantity("24 N·m"),
        uncertainty=parse_quantity("0.75 N·m"),
        k=Fraction(3),
    )
    assert found.ratio == 3


@pytest.mark.parametrize(
    ("limits", "reading", "uncertainty"),
    [("max 40 °C", "30 °C", "1 °C"), ("max 72 dB(A)", "70 dB(A)", "1 dB(A)")],
)
def test_where_zero_means_nothing_one_bound_has_no_ratio(limits: str, reading: str, uncertainty: str) -> None:
    found = judge_reading(
        parse_limits(limits), parse_quantity(reading), uncertainty=parse_quantity(uncertainty)
    )
    assert found.ratio is None
    assert found.probability == "1" if limits == "" else found.probability is not None


def test_a_guard_band_in_degrees_is_a_difference() -> None:
    found = judge_reading(
        parse_limits("20 ± 2 °C"),
        parse_quantity("21 °C"),
        uncertainty=parse_quantity("0.9 °F"),
        rule="guarded",
    )
    assert found.acceptance is not None
    assert found.acceptance.describe() == "18.5 to 21.5 °C"


@pytest.mark.parametrize(("reading", "state"), [("11 mm", "doubtful"), ("12.1 mm", "out")])
def test_a_guard_band_that_leaves_nothing_is_a_problem_not_a_crash(reading: str, state: str) -> None:
    found = judge_reading(
        parse_limits("10 to 12 mm"),
        parse_quantity(reading),
        uncertainty=parse_quantity("1.1 mm"),
        rule="guarded",
    )
    assert found.state == state
    assert found.acceptance is None
    assert [problem.code for problem in found.problems] == ["DEC001"]
    assert "1.1 mm" in found.problems[0].what
    assert found.as_dict()["acceptance"] is None


def test_a_guarded_reading_without_an_uncertainty_is_a_problem() -> None:
    found = judge_reading(parse_limits("10 to 12 mm"), parse_quantity("11 mm"), rule="guarded")
    assert found.state == "doubtful"
    assert [problem.code for problem in found.problems] == ["DEC002"]
    assert (found.probability, found.ratio) == (None, None)


@pytest.mark.parametrize(
    ("uncertainty", "factor", "k", "code"),
    [
        ("-0.1 mm", 1, 2, "DEC003"),
        ("0.1 mm", -1, 2, "DEC004"),
        ("0.1 mm", 1, 0, "DEC005"),
        ("1 kg", 1, 2, "UNT003"),
    ],
)
def test_an_impossible_uncertainty_or_factor_is_refused(
    uncertainty: str, factor: int, k: int, code: str
) -> None:
    with pytest.raises(Unreadable) as refusal:
        judge_reading(
            parse_limits("10 to 12 mm"),
            parse_quantity("11 mm"),
            uncertainty=parse_quantity(uncertainty),
            rule="guarded",
            guard_factor=Fraction(factor),
            k=Fraction(k),
        )
    assert refusal.value.code == code


def test_acceptance_limits_that_never_end_are_rounded_inwards_so_that_print_and_judgement_agree() -> None:
    limits = parse_limits("10.0 to 12.0 lb")
    expanded = parse_quantity("0.1 kg").difference_to("lb").value
    found, problems = acceptance(limits, expanded)
    assert problems == ()
    assert found is not None
    assert found.describe() == "10.2205 to 11.7795 lb"
    assert found.lower >= limits.lower + expanded
    assert found.upper <= limits.upper - expanded


def test_the_guard_band_is_never_rounded_away() -> None:
    found = judge_reading(
        parse_limits("max 4 mm"),
        parse_quantity("3.9 mm"),
        uncertainty=parse_quantity("0.2 mm"),
        rule="guarded",
        rounding="rounding",
    )
    assert found.state == "doubtful"
    assert (
        judge_reading(parse_limits("max 4 mm"), parse_quantity("4.4 mm"), rounding="rounding").state == "in"
    )


mm = st.fractions(min_value=-100, max_value=100, max_denominator=1000)
positive = st.fractions(min_value=0, max_value=20, max_denominator=1000)


def written(value: Fraction) -> Quantity:
    return Quantity(value, "mm", "", 3)


@given(
    mm, st.fractions(min_value=Fraction(1, 1000), max_value=50, max_denominator=1000), mm, positive, positive
)
def test_more_uncertainty_never_accepts_more(
    low: Fraction, width: Fraction, reading: Fraction, uncertainty: Fraction, more: Fraction
) -> None:
    limits = Limits("", low, low + width, None, "mm", 3)
    rank = {"in": 0, "doubtful": 1, "out": 2}
    simple = judge_reading(limits, written(reading))
    guarded = judge_reading(limits, written(reading), uncertainty=written(uncertainty), rule="guarded")
    doubted = judge_reading(limits, written(reading), uncertainty=written(uncertainty + more), rule="guarded")
    assert rank[simple.state] <= rank[guarded.state] <= rank[doubted.state]
    assert (simple.state == "out") == (guarded.state == "out") == (doubted.state == "out")
    assert (guarded.acceptance is None) == (2 * uncertainty > width) == bool(guarded.problems)


@given(mm, st.fractions(min_value=0, max_value=50, max_denominator=1000), mm, positive)
def test_a_judgement_is_the_same_in_any_unit(
    low: Fraction, width: Fraction, reading: Fraction, uncertainty: Fraction
) -> None:
    limits = Limits("", low, low + width, None, "mm", 3)
    inches = Limits("", low / Fraction("25.4"), (low + width) / Fraction("25.4"), None, "in", 3)
    assert judge_reading(limits, written(reading)).state == judge_reading(inches, written(reading)).state
