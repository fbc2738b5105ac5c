"""Repeated checks laid out as tables."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.definition.plan import Adjustment, PlanLimits, StepKind
from traveler.sheets.templates import templates
from traveler.sheets.views.boxes import Form
from traveler.sheets.views.grid import ACROSS, GridMaker, bands, chunks, place_text, step_rows
from traveler.sheets.words import words

SAY = words("en", templates())
counts = st.dictionaries(
    st.sampled_from(["head", "side", "row", "hole"]), st.integers(1, 9), min_size=1, max_size=4
)


@settings(deadline=None)  # a loaded machine is no fault
@given(at=counts, adjusted=st.booleans())
def test_every_slot_has_exactly_one_box_and_no_row_more_than_four(step, at, adjusted):
    adjust = Adjustment(rule="text", text="Turn it.") if adjusted else None
    made = step("30", 2, StepKind.MEASURE, "Bore", at=at, adjust=adjust)
    tables = GridMaker(made, Form(), SAY, "Bore").tables()
    cells = [(row.found, box.name) for table in tables for row in table.rows for box in row.cells if box]
    assert sorted(name for found, name in cells if not found) == sorted(slot.id for slot in made.slots)
    found = sorted(name for found, name in cells if found)
    assert found == (sorted(f"{slot.id}#found" for slot in made.slots) if adjusted else [])
    assert all(1 <= len(row.cells) == len(table.columns) <= ACROSS for table in tables for row in table.rows)
    assert sum(len(table.rows) for table in tables) == step_rows(made)


def test_one_position_is_a_row_two_are_a_table_three_are_tables_by_the_first(step):
    def shape(**at: int) -> list[tuple[str, tuple[str, ...], list[str]]]:
        made = step("30", 2, StepKind.MEASURE, "Bore", at=at)
        return [
            (place_text(band.place, None), band.columns, [name for name, _ in band.rows])
            for band in bands(made, 4)
        ]

    assert shape(screw=3) == [("", ("1", "2", "3"), [""])]
    assert shape(spindle=2, end=2) == [("", ("1", "2"), ["1", "2"])]
    assert shape(pump=2, spindle=1, end=2) == [
        ("pump 1", ("1",), ["1", "2"]),
        ("pump 2", ("1",), ["1", "2"]),
    ]


def test_columns_of_a_short_last_row_stand_under_the_others(step):
    made = step("30", 2, StepKind.MEASURE, "Bore", at={"screw": 6})
    assert [band.short for band in bands(made, 4)] == [0, 2]


def test_a_check_over_several_pages_repeats_its_limit(step):
    limits = PlanLimits(text="max 0.05 mm", unit="mm", upper="0.05", decimals=2)
    made = step("30", 2, StepKind.MEASURE, "Bore", at={"head": 8, "row": 5}, limits=limits)
    first, *others = GridMaker(made, Form(), SAY, "Bore", limits.text, "mm").tables()
    assert first.caption == ""
    assert [table.caption for table in others] == ["Bore max 0.05 mm"]


def test_a_table_that_may_break_inside_repeats_its_limit_too(step):
    limits = PlanLimits(text="max 0.05 mm", unit="mm", upper="0.05", decimals=2)
    made = step("30", 2, StepKind.MEASURE, "Bore", at={"head": 3, "row": 30}, limits=limits)
    (table,) = GridMaker(made, Form(), SAY, "Bore", limits.text, "mm").tables()
    assert table.caption == "Bore max 0.05 mm"
    assert (table.across, table.spanned) == (3, 4)


def test_worked_out_values_cannot_be_written(step):
    made = step("30", 3, StepKind.WORK_OUT, "Difference", at={"spindle": 2})
    form = Form()
    (table,) = GridMaker(made, form, SAY, "Difference").tables()
    assert table.worked
    assert all(box.read_only for box in form.boxes.values())


@given(st.lists(st.integers()), st.integers(1, 6))
def test_chunks_put_together_again_are_the_values(values, size):
    made = list(chunks(values, size))
    assert [item for chunk in made for item in chunk] == values
    assert all(len(chunk) == size for chunk in made[:-1])
