"""Gauge studies: published results, an independent analysis of variance, and simulated gauges."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path
from statistics import mean
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.measure.distributions import highest_range, spread_of_mean_range, spread_of_one_range
from traveler.measure.gauge_study import (
    Design,
    GaugeStudy,
    Share,
    StudyReading,
    design_of,
    expanded_uncertainty,
    study,
)
from traveler.measure.number import Unreadable

REFERENCE = yaml.load(
    (Path(__file__).parents[1] / "reference" / "gauge_rr.yaml").read_text(encoding="utf-8"),
    Loader=yaml.CBaseLoader,  # noqa: S506 - makes texts only
)
CASES = {case["id"]: case for case in REFERENCE["cases"]}


def readings_of(table: list[list[list[str]]]) -> list[StudyReading]:
    return [
        StudyReading(f"P{part}", f"O{operator}", str(trial), Fraction(value))
        for part, by_operator in enumerate(table, 1)
        for operator, trials in enumerate(by_operator, 1)
        for trial, value in enumerate(trials, 1)
    ]


def reference_design(name: str) -> Design:
    return design_of(readings_of(REFERENCE["tables"][name]))


@pytest.mark.parametrize("name", [name for name, case in CASES.items() if case["op"] == "constant"])
def test_factors_meet_the_published_tables(name: str) -> None:
    case = CASES[name]
    kind, count = case["input"]["name"], int(next(v for k, v in case["input"].items() if k != "name"))
    found = {
        "K1": spread_of_mean_range,
        "K2": spread_of_one_range,
        "K3": spread_of_one_range,
        "D4": highest_range,
    }[kind](count)
    assert abs(found - Fraction(case["expect"])) <= Fraction(case["tol"])


def test_average_and_range_meets_the_published_results() -> None:
    case = CASES["aiag_avg_range_basic"]
    found = study(reference_design("aiag"), "average-range")
    sd = {name: share.sd for name, share in found.shares.items()}
    values = {
        "R_bar": found.mean_range,
        "X_diff": found.operator_range,
        "R_p": found.part_range,
        "EV": sd["repeatability"],
        "AV": sd["reproducibility"],
        "GRR": sd["gauge"],
        "PV": sd["part"],
        "TV": sd["total"],
    }
    assert set(values) == set(case["expect"])
    for name, value in values.items():
        assert value is not None
        assert abs(value - Fraction(case["expect"][name])) <= Fraction(case["tol"]), name
    assert round(float(found.shares["gauge"].of_variation or 0), 1) == 26.7
    assert found.categories == 5


def test_the_analysis_of_variance_meets_the_reference_table() -> None:
    case = CASES["aiag_anova_table"]
    rows = {row.source: row for row in study(reference_design("aiag")).table}
    short = {
        "part": "part",
        "oper": "operator",
        "inter": "interaction",
        "error": "repeatability",
        "total": "total",
    }
    for name, text in case["expect"].items():
        kind, _, source = name.partition("_")
        row = rows[short[source]]
        value = {"SS": row.squares, "MS": row.mean_square, "F": row.f, "p": row.p}[kind]
        assert value is not None
        assert float(value) == pytest.approx(
            float(text), rel=float(case["tol_rel"]), abs=float(case["tol"])
        ), name


def of_shares(
    gauge: Fraction = Fraction(1), part: Fraction = Fraction(1), percent: int | str = 1
) -> GaugeStudy:
    """A study of which only the spread of gauge and parts is known."""
    shares = {
        name: Share(name, sd**2, sd, Fraction(percent), None, None)
        for name, sd in (("gauge", gauge), ("part", part))
    }
    return GaugeStudy("anova", Design({}), shares)


def test_the_number_of_categories_is_cut_down_to_a_whole_number() -> None:
    case = CASES["ndc_floor"]
    pv, grr = (Fraction(case["input"][name]) for name in ("PV", "GRR"))
    assert of_shares(gauge=grr, part=pv).categories == int(case["expect"])
    assert of_shares(gauge=Fraction(0), part=pv).categories is None


@pytest.mark.parametrize("name", [name for name, case in CASES.items() if case["op"] == "grr_band"])
def test_the_share_of_the_gauge_falls_into_its_band(name: str) -> None:
    assert of_shares(percent=CASES[name]["input"]["pct_grr"]).band == CASES[name]["expect"]


def test_edges_of_the_bands_belong_to_the_middle() -> None:
    assert of_shares(percent=10).band == of_shares(percent=30).band == "may be acceptable"
    assert of_shares(percent="9.999").band == "acceptable"
    assert of_shares(percent="30.001").band == "not acceptable"


def as_table(design: Design) -> Any:
    import pandas as pd

    rows = [(p, o, float(v)) for (p, o), cell in design.cells.items() for v in cell]
    return pd.DataFrame(rows, columns=["part", "operator", "value"])


@pytest.mark.parametrize("name", ["aiag", "caliper"])
def test_statsmodels_finds_the_same_sums_of_squares(name: str) -> None:
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    design = reference_design(name)
    table = anova_lm(ols("value ~ C(part) * C(operator)", as_table(design)).fit())
    found = {row.source: row for row in study(design).table}
    pairs = {
        "C(part)": "part",
        "C(operator)": "operator",
        "C(part):C(operator)": "interaction",
        "Residual": "repeatability",
    }
    for theirs, ours in pairs.items():
        assert float(found[ours].squares) == pytest.approx(table.loc[theirs, "sum_sq"], rel=1e-8)
        assert found[ours].freedom == table.loc[theirs, "df"]
    both = table.loc["C(part):C(operator)"]
    assert float(found["interaction"].p or 0) == pytest.approx(both["PR(>F)"], rel=1e-8)


def test_an_interaction_that_may_be_chance_is_pooled_unless_asked_for() -> None:
    design = reference_design("aiag")
    auto, with_it = study(design), study(design, interaction="with")
    assert auto.pooled
    assert not with_it.pooled
    assert study(design, interaction="without").shares == auto.shares
    # mean squares of the table: repeatability apart, or with the interaction's 18 degrees of freedom
    assert float(with_it.shares["repeatability"].variance) == pytest.approx(0.04598, abs=1e-5)
    assert float(auto.shares["repeatability"].variance) == pytest.approx((2.75893 + 0.35898) / 78, abs=1e-6)


def simulated(seed: int, *, parts: int = 40, operators: int = 30, trials: int = 4) -> GaugeStudy:
    """A gauge with part 4, operator 1, interaction 1, repeatability 2 standard deviations."""
    noise = random.Random(seed)
    of_part = [noise.gauss(0, 4) for _ in range(parts)]
    of_operator = [noise.gauss(0, 1) for _ in range(operators)]
    readings = []
    for p, by_part in enumerate(of_part):
        for o, by_operator in enumerate(of_operator):
            both = noise.gauss(0, 1)
            for t in range(trials):
                value = by_part + by_operator + both + noise.gauss(0, 2)
                readings.append(StudyReading(str(p), str(o), str(t), Fraction(f"{value:.3f}")))
    return study(design_of(readings), interaction="with")


def test_the_variances_that_went_into_a_simulated_gauge_come_out_again() -> None:
    studies = [simulated(seed) for seed in range(4)]
    for name, variance, within in (
        ("repeatability", 4, 0.1),
        ("interaction", 1, 0.2),
        ("operator", 1, 0.4),
        ("part", 16, 0.3),
    ):
        found = mean(float(gauge_study.shares[name].variance) for gauge_study in studies)
        assert found == pytest.approx(variance, rel=within), name


cells = st.lists(
    st.lists(st.lists(st.integers(-9, 9), min_size=3, max_size=3), min_size=2, max_size=2),
    min_size=2,
    max_size=4,
)


@settings(deadline=None)
@given(cells, st.sampled_from(("anova", "average-range")), st.integers(1, 50))
def test_shares_add_up_and_do_not_depend_on_the_unit(table, method, tolerance) -> None:
    small = study(design_of(readings_of(table)), method, tolerance=Fraction(tolerance))
    large = study(
        design_of(
            [StudyReading(m.part, m.operator, m.trial, 1000 * m.value + 7) for m in readings_of(table)]
        ),
        method,
        tolerance=Fraction(1000 * tolerance),
    )
    shares = small.shares
    assert shares["gauge"].variance == shares["repeatability"].variance + shares["reproducibility"].variance
    assert shares["total"].variance == shares["gauge"].variance + shares["part"].variance
    assert all(share.variance >= 0 for share in shares.values())
    assert large.categories == small.categories
    assert large.band == small.band
    for name, share in shares.items():
        assert large.shares[name].of_variance == share.of_variance
        assert float(large.shares[name].of_tolerance or 0) == pytest.approx(float(share.of_tolerance or 0))


@settings(deadline=None)
@given(cells, st.sampled_from(("anova", "average-range")), st.randoms(use_true_random=False))
def test_the_order_of_the_readings_does_not_matter(table, method, order) -> None:
    readings = readings_of(table)
    shuffled = readings[:]
    order.shuffle(shuffled)
    assert study(design_of(shuffled), method).shares == study(design_of(readings), method).shares


def test_readings_that_never_vary_give_no_shares_and_no_categories() -> None:
    still = design_of(readings_of([[["5"] * 2] * 2] * 3))
    for method in ("anova", "average-range"):
        found = study(still, method)
        assert found.categories is None
        assert found.band is None
        assert found.shares["gauge"].of_variation is None
        assert found.shares["gauge"].sd == 0


def test_a_range_far_above_the_others_is_pointed_out() -> None:
    table = [[[str(part), f"{part}.1"], [f"{part}.1", str(part)]] for part in range(10)]
    table[3][1] = ["3", "9"]
    assert study(design_of(readings_of(table)), "average-range").wild == (("P4", "O2"),)


def test_uncertainty_takes_the_larger_of_repeatability_and_resolution_and_the_calibration() -> None:
    found = study(reference_design("caliper"), interaction="with")
    repeatability, reproducibility = (
        found.shares[name].variance for name in ("repeatability", "reproducibility")
    )
    assert expanded_uncertainty(found) ** 2 == pytest.approx(float(4 * (repeatability + reproducibility)))
    coarse = expanded_uncertainty(found, resolution=Fraction(1), calibration=Fraction(1, 2), k=Fraction(3))
    assert float(coarse) ** 2 == pytest.approx(9 * (1 / 12 + float(reproducibility) + 1 / 4))


INCOMPLETE = {
    "one part": ([("A", "x", 2), ("A", "y", 2)], "STU005 a study needs two parts or more, there are 1"),
    "one operator": (
        [("A", "x", 2), ("B", "x", 2)],
        "STU005 a study needs two operators or more, there are 1",
    ),
    "one trial": ([(p, o, 1) for p in "AB" for o in "xy"], "STU005 each part was measured once"),
    "a missing trial": (
        [("A", "x", 2), ("A", "y", 2), ("B", "x", 2), ("B", "y", 1)],
        "STU006 operator y measured part B 1 times, 2 are expected",
    ),
    "a missing cell": (
        [("A", "x", 2), ("A", "y", 2), ("B", "x", 2)],
        "STU006 operator y measured part B 0 times",
    ),
    "nothing": ([], "STU005 a study needs two parts or more, there are 0"),
}


@pytest.mark.parametrize("name", INCOMPLETE)
def test_a_design_with_gaps_is_refused(name: str) -> None:
    often, message = INCOMPLETE[name]
    readings = [
        StudyReading(part, by, str(n), Fraction(n)) for part, by, count in often for n in range(count)
    ]
    with pytest.raises(Unreadable, match=message):
        design_of(readings)
