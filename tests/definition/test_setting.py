"""Axes of a check and the slots they span."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from traveler.definition.fields import NamedPosition, read_at
from traveler.definition.model import Definition
from traveler.definition.plan import Axis, SlotKind
from traveler.definition.setting import (
    VariantSetting,
    axes,
    checked_pieces,
    combinations,
    fill_variables,
    narrowed,
    slot_id,
    spanned_slots,
)


@pytest.fixture
def setting(write: Callable[..., str], good: Callable[[str], Definition]) -> VariantSetting:
    return VariantSetting(good(write()), "3")


def at(written: object) -> tuple[NamedPosition, ...]:
    return tuple(NamedPosition(**position) for position in read_at(written))


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("spindle", [("spindle", ("1", "2", "3"))]),
        (["spindle", "end"], [("spindle", ("1", "2", "3")), ("end", ("near", "far"))]),
        ({"screw": "2"}, [("screw", ("1", "2"))]),
        ({"screw": {"count": "spindles"}}, [("screw", ("1", "2", "3"))]),
        (["end", {"side": ["left"]}], [("end", ("near", "far")), ("side", ("left",))]),
        ([{"row": "1", "column": "2"}], [("row", ("1",)), ("column", ("1", "2"))]),
        ([], []),
    ],
)
def test_positions_take_their_values_in_the_order_written(
    setting: VariantSetting, written: object, expected: list[tuple[str, tuple[str, ...]]]
) -> None:
    assert [(axis.name, axis.values) for axis in axes(at(written), setting)] == expected


def test_the_last_position_runs_fastest() -> None:
    spanned = (Axis(name="a", values=("1", "2")), Axis(name="b", values=("x", "y")))
    found = [slot_id("10-1", where) for where in combinations(spanned)]
    assert found == ["10-1/a=1,b=x", "10-1/a=1,b=y", "10-1/a=2,b=x", "10-1/a=2,b=y"]


def test_without_positions_there_is_one_slot() -> None:
    slots = spanned_slots("10-1", SlotKind.TICK, "Look.", (), None)
    assert [(slot.id, slot.label, slot.position) for slot in slots] == [("10-1", "Look.", ())]


def test_a_label_names_the_place() -> None:
    axes_of_one_place = (Axis(name="spindle", values=("3",)), Axis(name="end", values=("far",)))
    (slot,) = spanned_slots("30-2", SlotKind.READING, "Run-out", axes_of_one_place)
    assert (slot.label, slot.position_text) == ("Run-out: spindle 3, end far", "spindle 3, end far")
    (alone,) = spanned_slots("30-2", SlotKind.READING, "Run-out", ())
    assert (alone.label, alone.position_text) == ("Run-out", "")


def test_a_repeat_is_cut_down_to_the_values_named(setting: VariantSetting) -> None:
    whole = axes(at(["spindle", "end"]), setting)
    cut = narrowed(whole, at({"spindle": ["2"]}), setting)
    assert [(axis.name, axis.values) for axis in cut] == [("spindle", ("2",)), ("end", ("near", "far"))]


@pytest.mark.parametrize(
    ("every", "quantity", "expected"),
    [(None, 50, ()), (10, None, ()), (10, 35, ("10", "20", "30")), (10, 10, ("10",)), (10, 4, ("4",))],
)
def test_every_so_many_pieces_are_checked_and_at_least_one(
    setting: VariantSetting, every: int | None, quantity: int | None, expected: tuple[str, ...]
) -> None:
    lot = VariantSetting(setting.definition, "3", quantity=quantity)
    found = checked_pieces(every, lot)
    assert tuple(value for axis in found for value in axis.values) == expected


def test_unknown_variables_stay_as_they_are() -> None:
    assert fill_variables("{a} and {b}, {A}, {}", {"a": "1"}) == "1 and {b}, {A}, {}"
