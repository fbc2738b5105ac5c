"""One series told in full: what is said, what is not, and whether it agrees with others' programs."""

from datetime import UTC, datetime, timedelta
from fractions import Fraction

import numpy as np
import pytest

from traveler.measure.limits import parse_limits
from traveler.trace.stats.series import CheckSeries, FirstLook, Point
from traveler.trace.stats.series_report import (
    CHARTED,
    FEWEST,
    drift_text,
    index_text,
    series_cells,
    series_report,
)
from traveler.trace.stats.unit_readings import AdjustmentTrial
from traveler.verdict.state import SlotState

BEGUN = datetime(2026, 9, 14, tzinfo=UTC)


def series(values, limits="22.5 to 25.5 N·m", **more):
    bounds = parse_limits(limits) if limits else None
    made = CheckSeries(
        "torque", False, (), "N·m", (bounds.lower, bounds.upper) if bounds else (None, None), bounds, **more
    )
    for at, value in enumerate(values):
        moment = BEGUN + timedelta(hours=at)
        made.points.append(
            Point(f"U{at:04}", moment, 3, Fraction(str(value)), SlotState.IN, "tkiln", "TW-02", "A", "4")
        )
        made.firsts.append(FirstLook(f"U{at:04}", moment, True))
    return made


def drawn(n, seed=1, middle=24.0, spread=0.3):
    return [f"{value:.2f}" for value in np.random.default_rng(seed).normal(middle, spread, n)]


def about(report, word):
    return [text for told, text in report.sentences() if told == word]


@pytest.mark.parametrize("n", range(FEWEST))
def test_too_few_readings_give_no_index_and_say_so(n):
    report = series_report(series(drawn(n)))
    assert report.capability is None
    assert index_text(report) == "too few"
    (said,) = about(report, "capability")
    assert (
        said == f"{n} reading{'' if n == 1 else 's'}: too few for a capability index; at least 10 are needed."
    )


def test_few_readings_give_an_index_marked_as_rough():
    report = series_report(series(drawn(12)))
    assert "too few for more than a first estimate" in about(report, "capability")[0]
    assert index_text(report).split()[0].endswith("?")
    assert not index_text(series_report(series(drawn(40)))).split()[0].endswith("?")


def test_a_check_without_limits_has_nothing_to_be_capable_of():
    report = series_report(series(drawn(40), None))
    assert index_text(report) == "no limits"
    assert about(report, "capability") == ["The check has no limits: there is no capability index."]
    assert report.worst() == ""
    assert report.as_dict()["limits"] is None


def test_equal_readings_have_no_index():
    report = series_report(series(["24.0"] * 30))
    assert index_text(report) == "all equal"
    assert drift_text(report) == "steady"
    assert "all 30 readings are equal" in " ".join(about(report, "capability"))


def test_indices_agree_with_numpy():
    from scipy import stats

    values = drawn(60)
    found = series_report(series(values)).capability
    x = np.array([float(value) for value in values])
    s = x.std(ddof=1)
    assert float(found.overall.width.value) == pytest.approx(3.0 / (6 * s), rel=1e-9)
    assert float(found.overall.nearest.value) == pytest.approx(
        min(25.5 - x.mean(), x.mean() - 22.5) / (3 * s), rel=1e-9
    )
    sigma = np.abs(np.diff(x)).mean() / 1.128379167
    assert float(found.within.width.value) == pytest.approx(3.0 / (6 * sigma), rel=1e-6)
    assert float(found.normal.shapiro_wilk) == pytest.approx(stats.shapiro(x).statistic, rel=1e-6)


def test_a_one_sided_check_has_one_index_and_a_one_sided_interval():
    report = series_report(series(drawn(60), "max 25.5 N·m"))
    assert report.capability.overall.width is None
    assert {bound.side for bound in report.tolerance} == {"upper"}
    assert "Pp " not in " ".join(about(report, "capability"))
    lower = series_report(series(drawn(60), "min 22.5 N·m"))
    assert {bound.side for bound in lower.tolerance} == {"lower"}


def test_the_normal_interval_is_left_out_where_readings_are_not_normal():
    skewed = [f"{22.6 + item:.2f}" for item in np.random.default_rng(3).exponential(0.4, 120)]
    report = series_report(series(skewed))
    assert report.normal.judgement == "refuted"
    assert [bound.method for bound in report.tolerance] == ["distribution-free"]
    assert [bound.method for bound in series_report(series(drawn(60))).tolerance] == [
        "normal",
        "distribution-free",
    ]


def test_the_chart_and_the_drift_are_of_the_last_readings():
    report = series_report(series(drawn(CHARTED + 50)))
    assert (report.n, len(report.chart.readings), report.trend.n) == (CHARTED + 50, CHARTED, CHARTED)
    assert about(report, "chart")[0].startswith(f"The last {CHARTED} of {CHARTED + 50} readings.")


def test_a_drift_toward_a_limit_is_marked():
    rising = [f"{float(value) + 0.01 * at:.2f}" for at, value in enumerate(drawn(60, spread=0.05))]
    report = series_report(series(rising))
    assert drift_text(report) == "up !"
    away = series_report(series(rising, "min 22.5 N·m"))
    assert drift_text(away) == "up"
    assert drift_text(series_report(series(drawn(60)))) == "steady"
    assert drift_text(series_report(series(drawn(5)))) == "too few"


def test_adjustments_are_told_by_whether_the_advice_was_followed():
    made = series(drawn(20))
    made.trials += [AdjustmentTrial(True, True)] * 3 + [
        AdjustmentTrial(True, False),
        AdjustmentTrial(False, False),
        AdjustmentTrial(None, None),
    ]
    (said,) = about(series_report(made), "adjusting")
    assert said == (
        "Adjusted as advised 4 times, in at the next reading 3 of 4; "
        "not as advised 1 time, in at the next reading 0 of 1; "
        "not said whether as advised 1 time, not read again."
    )


def test_a_line_says_check_limits_count_index_drift_and_worst():
    report = series_report(series(["24.0", "25.4", "23.9", *drawn(30)]))
    found = series_cells(report)
    assert found[1:6] == ("torque", "", "22.5 to 25.5 N·m", "33", "100 %")
    assert found[-1] == "25.4 U0001"


def test_json_holds_text_for_numbers_and_the_sentences():
    told = series_report(series(drawn(30))).as_dict()
    assert told["n"] == 30
    assert isinstance(told["capability"]["overall"]["nearest"]["value"], str)
    assert {sentence["about"] for sentence in told["sentences"]} >= {
        "capability",
        "chart",
        "drift",
        "tolerance interval",
    }
    assert "readings" not in told["chart"]


def test_an_empty_series_says_so():
    report = series_report(series([]))
    assert series_cells(report)[4] == "0"
    assert report.as_dict()["worst"] is None
    assert report.sentences()
