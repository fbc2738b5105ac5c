"""A product told in full: what was planted in the year is found, and nothing is mixed."""

from traveler.trace.stats.report_pages import all_pictures, plot_file_name


def one(report, label):
    return next(found for found in report.series if found.series.label == label)


def test_the_planted_drift_is_found_and_no_other(report_of):
    heading = [found.series.label for found in report_of().series if found.heading_for_limit]
    assert heading == ["pin-height"]
    assert "Drifts upward by 0.20" in one(report_of(), "pin-height").trend.sentence


def test_the_gauge_that_reads_high_is_named(report_of):
    first = report_of("runout").across[0]
    assert first.gauges.sentence.startswith("Reads differently from the others (median): ")
    shifts = {group.name: group.shift for group in first.gauges.groups if group.differs}
    assert shifts["IND-09"] > 0 > shifts["IND-03"]
    assert not any(group.differs for group in first.people.groups)
    assert first.drifting == ()


def test_a_check_read_at_one_place_has_no_positions_to_compare(report_of):
    assert report_of("brake").across[0].positions is None


def test_the_yield_counts_first_readings_not_what_was_put_right(report_of):
    found = report_of().yields
    shares = {line.check: line.first_pass for line in found.checks}
    assert (shares["brake"].hits, shares["brake"].n) == (36, 54)
    assert (shares["burrs"].hits, shares["burrs"].n) == (59, 60)
    assert shares["runout"].hits == shares["runout"].n == 60
    operations = {line.operation: line.first_pass for line in found.operations}
    assert (operations["20"].hits, operations["10"].hits) == (36, 59)


def test_what_went_wrong_is_counted_by_check(report_of):
    bars = {bar.kind: bar.count for bar in report_of().troubles.bars}
    assert bars == {
        "brake: out at the first reading": 18, "brake: stopped": 2, "brake: used as it is": 1,
        "burrs: not confirmed": 1, "runout: struck out": 1,
    }  # fmt: skip


def test_adjusting_is_told_before_against_after(report_of):
    found = one(report_of(), "brake").adjusting
    assert (found.pairs, found.mended, found.spoilt) == (18, 18, 0)
    assert "in the limits 0 % before and 100 % after" in found.sentence
    told = dict(one(report_of(), "brake").sentences())
    assert told["adjusting"].startswith(
        "Adjusted as advised 12 times, in at the next reading 12 of 12; not as"
    )


def test_limits_that_changed_are_told(report_of):
    notes = " ".join(report_of().notes)
    assert "runout had different limits; each is listed separately: " in notes
    assert "max 0.06 mm [revision A]; max 0.05 mm [revision B]" in notes
    assert "pin-height" not in notes


def test_standing_findings_are_counted_where_asked(report_of):
    assert report_of().findings is None
    counted = report_of(findings=True).findings
    assert next(bar.count for bar in counted.bars if bar.kind == "GAU002 gauge unknown") > 0


def test_pictures_have_different_names_that_are_safe_for_files(report_of):
    names = [drawn.name for drawn in all_pictures(report_of("runout"))]
    assert len(names) == len(set(names)) == 2 + 2 * 6
    assert all(plot_file_name(name) == name for name in names)


def test_json_tells_all_of_it(report_of):
    told = report_of("runout").as_dict()
    assert told["product"] == "skein-reel"
    assert [check_series["mark"] for check_series in told["series"]] == ["[revision A]", "[revision B]"] * 3
    assert told["across"][0]["check"] == "runout"
