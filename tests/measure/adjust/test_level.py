"""Leveling feet: turns that bring a simulated bed level in one round, whatever its tilt."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.adjust.advise import Advice, advise
from traveler.measure.adjust.level import least_turning
from traveler.measure.geometry.plane import fitted_plane
from traveler.measure.limits import parse_limits
from traveler.measure.number import Unreadable, exact_text
from traveler.measure.quantity import parse_quantity

RECTANGLE = {"A": ("0", "0"), "B": ("600", "0"), "C": ("600", "400"), "D": ("0", "400")}
TRIPOD = {"A": ("0", "0"), "B": ("600 mm", "0"), "C": ("30 cm", "500 mm")}
SIX = {f"{n}": (str(500 * (n // 2)), str(400 * (n % 2))) for n in range(6)}


def level(
    places: dict[str, tuple[str, str]], heights: dict[str, str], limits: str = "0 ± 0.05 mm", **values: str
) -> Advice:
    readings = {place: parse_quantity(text) for place, text in heights.items()}
    return advise(
        "level",
        {"level": "feet", "pitch": "1.5 mm"} | values,
        parse_limits(limits),
        places=places,
        feet=readings,
    )


def test_each_foot_gets_its_turn_and_direction() -> None:
    advice = level(RECTANGLE, {"A": "0.375 mm", "B": "0 mm", "C": "-0.375 mm", "D": "0 mm"})
    assert advice.text == "A: turn ¼ counter-clockwise; B: leave; C: turn ¼ clockwise; D: leave"
    assert [foot.turns for foot in advice.feet] == [Fraction(-1, 4), 0, Fraction(1, 4), 0]
    assert advice.amount == Fraction(1, 2)
    assert [foot.expected.written for foot in advice.feet] == ["0.000 mm"] * 4
    assert advice.reason == "the bed falls 0.750 mm from A to C"


def test_the_direction_that_raises_is_the_definition_s() -> None:
    advice = level(TRIPOD, {"A": "0.375 mm", "B": "0 mm", "C": "0 mm"}, raises="left")
    assert advice.text == "A: turn ¼ right; B: leave; C: leave"


def test_a_foot_that_is_kept_stays_and_the_others_come_to_it() -> None:
    advice = level(TRIPOD, {"A": "0.3 mm", "B": "0 mm", "C": "-0.3 mm"}, "max 0.05 mm", fixed="A")
    turns = {foot.place: foot.turns for foot in advice.feet}
    assert turns["A"] == 0
    assert turns["B"] > 0
    assert turns["C"] > turns["B"]
    assert advice.reaches


def test_a_kept_foot_outside_the_limits_is_said_not_to_reach_them() -> None:
    advice = level(TRIPOD, {"A": "0.3 mm", "B": "0 mm", "C": "0 mm"}, fixed="A")
    assert not advice.reaches


def test_what_is_left_out_of_plane_is_said() -> None:
    advice = level(RECTANGLE, {"A": "0.2 mm", "B": "0 mm", "C": "0.2 mm", "D": "0 mm"})
    assert not advice.reaches
    assert advice.reason == "the bed is level; A lies 0.1 mm above its plane, which no foot cures"


def test_a_level_bed_is_left_alone() -> None:
    advice = level(RECTANGLE, dict.fromkeys(RECTANGLE, "0.05 mm"))
    assert (advice.needed, advice.text, advice.feet) == (False, "leave the feet as they are", ())


def test_limits_may_be_on_every_reading_on_the_spread_or_on_the_tilt() -> None:
    heights = {"A": "5 mm", "B": "5.03 mm", "C": "5.04 mm"}
    assert level(TRIPOD, heights, "4 to 6 mm").needed is False
    assert level(TRIPOD, heights, "max 0.04 mm").needed is False
    assert level(TRIPOD, heights, "max 0.03 mm").needed is True
    assert level(TRIPOD, heights, "max 0.5 mm/m").needed is False
    assert level(TRIPOD, heights, "max 0.05 mm/m").needed is True
    assert level(TRIPOD, heights, "max 0.001 deg").needed is True
    assert level(TRIPOD, heights, "max 1 deg").needed is False
    assert level(TRIPOD, heights, "min 5.02 mm").reaches


heights = st.integers(-300, 300).map(lambda n: Fraction(n, 100))
plans = st.sampled_from([RECTANGLE, TRIPOD, SIX])
limits_texts = st.sampled_from(
    ["0 ± 0.05 mm", "max 0.05 mm", "max 0.1 mm/m", "0.2 to 0.22 mm", "max 0.01 deg"]
)
fixed_feet = st.sampled_from([None, "first"])


def judged_in(
    limits_text: str, places: dict[str, tuple[Fraction, Fraction]], read: dict[str, Fraction]
) -> bool:
    """Whether a bed meets the limits, judged without the code under test."""
    limits = parse_limits(limits_text)
    if limits.unit == "mm" and limits.lower is not None:
        return all(limits.lower <= height <= limits.upper for height in read.values())
    if limits.unit == "mm":
        return max(read.values()) - min(read.values()) <= limits.upper
    plane = fitted_plane([(*places[place], height) for place, height in read.items()])
    tilt = (plane.x_slope**2 + plane.y_slope**2) ** 0.5
    return tilt <= (Fraction("0.0001") if limits.unit == "mm/m" else Fraction("0.00017453"))


@given(plans, heights, heights, heights, limits_texts, fixed_feet)
def test_followed_exactly_a_flat_bed_is_in_after_one_round(
    places, at, along, aside, limits_text, fixed
) -> None:
    spots = {
        place: tuple(parse_quantity(text, "mm").to("mm").value for text in written)
        for place, written in places.items()
    }
    read = {place: at + along * x / 600 + aside * y / 400 for place, (x, y) in spots.items()}
    values = {"fixed": next(iter(places))} if fixed and limits_text.startswith("max") else {}
    texts = {place: f"{exact_text(height)} mm" for place, height in read.items()}
    advice = level(places, texts, limits_text, **values)
    if not advice.needed:
        assert judged_in(limits_text, spots, read)
        return
    assert advice.reaches
    turned = {foot.place: read[foot.place] + foot.turns * Fraction("1.5") for foot in advice.feet}
    assert judged_in(limits_text, spots, turned)
    if values:
        assert advice.feet[0].turns == 0


@given(st.lists(st.integers(-50, 50), min_size=3, max_size=7))
def test_no_height_takes_less_turning_than_the_one_chosen(rises: list[int]) -> None:
    plane = {str(n): Fraction(rise) for n, rise in enumerate(rises)}
    chosen = least_turning(plane, None, None)
    total = sum(abs(chosen - height) for height in plane.values())
    assert all(total <= sum(abs(other - height) for height in plane.values()) for other in plane.values())
    assert chosen in plane.values()


def test_the_chosen_height_keeps_within_bounds() -> None:
    plane = {"A": Fraction(0), "B": Fraction(5), "C": Fraction(9)}
    assert [least_turning(plane, low, high) for low, high in ((None, None), (7, None), (None, 4))] == [
        5,
        7,
        4,
    ]


REFUSED = {
    "two feet": (
        ({"A": ("0", "0"), "B": ("1", "0")}, {"A": "1 mm", "B": "2 mm"}, {}),
        "ADJ005 leveling needs three",
    ),
    "feet on a line": (
        ({"A": ("0", "0"), "B": ("1", "1"), "C": ("2", "2")}, dict.fromkeys("ABC", "1 mm"), {}),
        "ADJ005 the feet stand on one line",
    ),
    "a foot not read": ((TRIPOD, {"A": "1 mm", "C": "1 mm"}, {}), "ADJ004 there is no reading at B"),
    "a reading at no foot": (
        (TRIPOD, dict.fromkeys("ABCE", "1 mm"), {}),
        "ADJ005 there is no foot E; there are A, B, C",
    ),
    "an unknown kept foot": (
        (TRIPOD, {"A": "1 mm", "B": "2 mm", "C": "1 mm"}, {"fixed": "E"}),
        "ADJ005 there is no foot 'E' to keep",
    ),
    "no pitch": (
        (TRIPOD, dict.fromkeys("ABC", "1 mm"), {"pitch": ""}),
        "ADJ002 the level rule has no 'pitch'",
    ),
    "a pitch of nothing": (
        (TRIPOD, dict.fromkeys("ABC", "1 mm"), {"pitch": "0 mm"}),
        "ADJ003 pitch '0 mm' is not",
    ),
    "a pitch that is not a length": (
        (TRIPOD, dict.fromkeys("ABC", "1 mm"), {"pitch": "5 N"}),
        "ADJ003 pitch '5 N' is no",
    ),
    "readings that are no lengths": ((TRIPOD, dict.fromkeys("ABC", "1 N"), {}), "ADJ003 reading 1 N"),
    "a coordinate that is not a length": (
        (TRIPOD | {"B": ("600 kg", "0")}, dict.fromkeys("ABC", "1 mm"), {}),
        "WRK006 coordinate '600 kg' of B",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_feet_that_cannot_be_levelled_are_refused_with_a_reason(name: str) -> None:
    (places, readings, values), message = REFUSED[name]
    with pytest.raises(Unreadable, match=message):
        level(places, readings, **values)


def test_limits_that_say_nothing_of_heights_are_refused() -> None:
    with pytest.raises(Unreadable, match="ADJ003 limits in N say nothing of heights"):
        level(TRIPOD, dict.fromkeys("ABC", "1 mm"), "max 3 N")
