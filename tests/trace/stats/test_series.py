"""Readings of many units laid into series: like with like."""

from datetime import timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.quantity import convert
from traveler.trace.stats.series import Narrowed


def labels(collector):
    return [check_series.label for check_series in collector.series()]


def test_limits_of_two_revisions_are_never_in_one_series(collect):
    near = [
        check_series
        for check_series in collect(check="runout").series()
        if check_series.place == "end=near" and not check_series.again
    ]
    assert [(check_series.limits_text, check_series.mark,
    len(check_series.points)) for check_series in near] == [
        ("max 0.06 mm", "[revision A]", 30), ("max 0.05 mm", "[revision B]", 30),
    ]  # fmt: skip
    assert {point.revision for point in near[0].points} == {"A"}


def test_limits_of_two_variants_are_told_apart(collect):
    pulls = collect(check="belt-pull").series()
    assert {(pull.mark, pull.limits_text) for pull in pulls} == {
        ("[variant 4]", "16.0 to 20.0 N"), ("[variant 6]", "24.0 to 28.0 N"),
    }  # fmt: skip
    assert all({point.variant} == pull.variants for pull in pulls for point in pull.points[:1])


def test_equal_limits_are_one_series_and_bear_no_mark(collect):
    (only,) = collect(check="pin-height").series()
    assert (only.mark, only.revisions, only.variants, len(only.points)) == ("", {"A", "B"}, {"4", "6"}, 60)


def test_inches_and_micrometres_are_converted_exactly(collect, year):
    (only,) = collect(check="arm-length").series()
    written = {}
    with year.store.reading() as records:
        for point in only.points:
            entry = next(entry for entry in records.entries(point.unit) if entry.seq == point.seq)
            written[point.unit] = (Fraction(entry.body.value), entry.body.unit)
    assert {unit for _, unit in written.values()} == {"mm", "in", "µm"}
    for point in only.points:
        value, unit = written[point.unit]
        factor = {"mm": Fraction(1), "in": Fraction(254, 10), "µm": Fraction(1, 1000)}[unit]
        assert point.value == value * factor


def test_readings_are_in_the_order_in_which_they_were_taken(collect):
    for check_series in collect().series():
        moments = [point.at for point in check_series.points]
        assert moments == sorted(moments)


def test_the_inspectors_repeat_is_a_series_of_its_own(collect):
    assert [check_series.again for check_series in collect(check="runout").series()] == [False] * 4 + [
        True
    ] * 2


def test_series_come_in_the_order_of_the_work(collect):
    operations = [check_series.operation for check_series in collect().series()]
    assert operations == sorted(operations, key=["10", "20", "Q", "C"].index)


def test_a_position_narrows(collect):
    found = collect(check="runout", position={"end": "far"}).series()
    assert {finding.place for finding in found} == {"end=far"}


def test_a_window_counts_what_was_done_in_it(collect, lives):
    begun = [life.unit.issued for life in lives.values()]
    since, until = begun[10], begun[20] - timedelta(minutes=1)
    (only,) = collect(check="pin-height", since=since, until=until).series()
    assert len(only.points) == 10
    assert all(since <= point.at <= until for point in only.points)
    assert not collect(check="pin-height", since=begun[-1] + timedelta(days=9)).series()


def test_first_tries_leave_repeats_out_and_know_statements(collect):
    tries = list(collect().tries())
    assert {attempt.check for attempt in tries} == {
        "runout", "taper", "pin-height", "arm-length", "burrs", "brake", "belt-pull", "gross-mass",
    }  # fmt: skip
    failed = [attempt for attempt in tries if not attempt.passed]
    assert [attempt.check for attempt in failed].count("brake") == 18
    assert [attempt.check for attempt in failed].count("burrs") == 1


def test_the_worst_reading_is_the_one_nearest_to_a_limit(collect):
    for check_series in collect().series():
        worst = check_series.nearest()
        assert worst is not None
        assert check_series.limits.margin(worst.value) == min(
            check_series.limits.margin(point.value) for point in check_series.points
        )


@given(st.fractions(min_value=-1000, max_value=1000), st.sampled_from(["in", "µm", "m", "mil"]))
def test_conversion_there_and_back_loses_nothing(value, unit):
    assert convert(convert(value, unit, "mm"), "mm", unit) == value


@pytest.mark.parametrize(
    ("check", "position", "wanted"),
    [("runout", {"end": "far"}, True), ("runout", {"end": "near"}, False), ("taper", {}, False)],
)
def test_what_is_wanted(check, position, wanted):
    asked = Narrowed(check="runout", position=position)
    assert asked.wants(check, (("spindle", "1"), ("end", "far"))) is wanted
