"""Adjust rules and worked-out values as the plan holds them."""

from __future__ import annotations

from collections.abc import Callable

from traveler.definition.expand import expand, sorted_places
from traveler.definition.model import Definition
from traveler.definition.plan import Adjustment, Plan
from traveler.measure.geometry.work_out import work_out
from traveler.measure.quantity import parse_quantity

Write = Callable[..., str]
Good = Callable[[str], Definition]

PLACES = "{C: [0, 400], A: [0, 0], B: [600 mm, 0]}"


def planned(operation: Write, good: Good, steps: str) -> Plan:
    return expand(good(operation(steps)), "2", "")


def adjust(operation: Write, good: Good, rule: str, unit: str = "mm") -> Adjustment:
    steps = f"- measure: X\n  at: {{foot: [A, B, C]}}\n  limits: 0 ± 1 {unit}\n  adjust: {rule}\n"
    found = next(planned(operation, good, steps).steps()).adjust
    assert found is not None
    return found


def test_a_sentence_with_variables(operation: Write, good: Good) -> None:
    found = adjust(operation, good, "Turn all {spindles} screws.")
    assert found == Adjustment(rule="text", text="Turn all 2 screws.")


def test_a_screw_keeps_its_numbers_as_written(operation: Write, good: Good) -> None:
    found = adjust(
        operation, good, "{screw: 1.250 mm, effect: 0.8 mm/turn, increases: clockwise, say: Gently.}"
    )
    assert found.rule == "screw"
    assert found.values == {"screw": "1.250 mm", "effect": "0.8 mm/turn", "increases": "clockwise"}
    assert found.text == "Gently."


def test_levelling_feet_come_in_the_order_of_their_names(operation: Write, good: Good) -> None:
    found = adjust(
        operation, good, f"{{level: foot, pitch: 1.5 mm, raises: clockwise, fixed: A, places: {PLACES}}}"
    )
    assert found.values == {"level": "foot", "pitch": "1.5 mm", "raises": "clockwise", "fixed": "A"}
    assert list(found.places.items()) == [("A", ("0", "0")), ("B", ("600 mm", "0")), ("C", ("0", "400"))]


def test_learned_and_bent(operation: Write, good: Good) -> None:
    assert adjust(operation, good, "{learn: true, by: turn}").values == {"by": "turn"}
    assert adjust(operation, good, "{learn: true}").values == {}
    assert adjust(operation, good, "{bend: 0.9}", "deg").values == {"bend": "0.9"}


def test_names_of_places_are_ordered_by_number_where_they_are_numbers() -> None:
    places = dict.fromkeys(("10", "2", "1"), ("0", "0"))
    assert list(sorted_places(places)) == ["1", "2", "10"]


GRID = """\
    - measure: Height
      id: height
      at: {row: 2, column: [L, M, R]}
      limits: 0 ± 1 mm
    - work_out: Flatness
      how: {flatness: height, grid: {row: 50.5 mm, column: 2 in}, method: least-squares}
      limits: max 0.5 mm
    - work_out: Flatness
      how: {straightness: height, along: column, grid: {column: 2 in}}
      limits: max 0.5 mm
"""


def test_a_grid_becomes_coordinates_of_its_points(operation: Write, good: Good) -> None:
    flat, straight = list(planned(operation, good, GRID).steps())[1:]
    assert flat.how is not None
    assert flat.how.coordinates == {
        "1,L": ("0.0 mm", "0 in"),
        "1,M": ("0.0 mm", "2 in"),
        "1,R": ("0.0 mm", "4 in"),
        "2,L": ("50.5 mm", "0 in"),
        "2,M": ("50.5 mm", "2 in"),
        "2,R": ("50.5 mm", "4 in"),
    }
    assert flat.how.options == {"method": "least-squares"}
    assert flat.how.along is None
    assert straight.how is not None
    assert straight.how.coordinates == {"L": ("0 in", "0 mm"), "M": ("2 in", "0 mm"), "R": ("4 in", "0 mm")}
    assert [slot.id for slot in straight.slots] == ["10-3/row=1", "10-3/row=2"]


def test_what_the_plan_holds_can_be_worked_out(operation: Write, good: Good) -> None:
    height, *worked = planned(operation, good, GRID).steps()
    taken = {slot.id: (slot.position, parse_quantity(f"0.0{n} mm")) for n, slot in enumerate(height.slots)}
    values = []
    for step in worked:
        assert step.how is not None
        for slot in step.slots:
            readings = [taken[given] for given in slot.inputs]
            how = step.how
            found = work_out(
                how.function,
                readings,
                along=how.along,
                options=how.options,
                coordinates=how.coordinates,
                unit="mm",
            )
            values.append(found.value.value)
    assert values == [0, 0, 0]  # heights that rise evenly lie in one plane and on straight lines


def test_sides_become_options(operation: Write, good: Good) -> None:
    steps = """\
        - measure: Diagonal
          id: diagonal
          at: {way: [rising, falling]}
          limits: 700 ± 5 mm
        - work_out: Squareness
          how: {squareness: diagonal, sides: [600 mm, 400 mm]}
          limits: max 1 mm
    """
    step = list(planned(operation, good, steps).steps())[1]
    assert step.how is not None
    assert step.how.options == {"side_1": "600 mm", "side_2": "400 mm"}
