"""The cells of a line, for every series of the year."""

from traveler.trace.stats.series_report import HEADS, series_cells


def test_every_line_has_a_cell_for_every_head(report_of):
    lines = list(map(series_cells, report_of().series))
    assert len(lines) == 14
    assert {len(line) for line in lines} == {len(HEADS)}


def test_a_position_and_whose_limits_stand_in_one_cell(report_of):
    cells = list(map(series_cells, report_of("runout").series))
    assert cells[0][:4] == ("10", "runout", "end=near [revision A]", "max 0.06 mm")
    assert cells[-1][:3] == ("Q", "runout (again)", "end=near [revision B]")
