"""The strip of a reading: everything stands where its number says, and nothing needs color."""

from __future__ import annotations

import re
from fractions import Fraction
from xml.etree import ElementTree as ET

from hypothesis import given
from hypothesis import strategies as st

from traveler.sheets.dossier import HEIGHT, LEFT, RIGHT, WIDTH, Strip, draw, strip_scale

F = Fraction
SVG = "{http://www.w3.org/2000/svg}"
STRIP = Strip(
    value=F("0.049"), upper=F("0.05"), labels=("", "max 0.05"), words="Run-out: 0.049 mm",
    before=(F("0.031"), F("0.033"), F("0.033")), after=(F("0.040"),),
)  # fmt: skip


def drawn(strip: Strip) -> ET.Element:
    return ET.fromstring(str(draw(strip)))  # noqa: S314 - our own drawing


def places(strip: Strip) -> list[tuple[float, float]]:
    """Every x and y that is drawn."""
    found: list[tuple[float, float]] = []
    for element in drawn(strip).iter():
        for x, y in (("x1", "y1"), ("x2", "y2"), ("cx", "cy"), ("x", "y")):
            if x in element.attrib:
                found.append((float(element.attrib[x]), float(element.attrib[y])))
        for point in element.attrib.get("points", "").split():
            x, y = point.split(",")
            found.append((float(x), float(y)))
    return found


def test_each_neighbour_is_one_sign_before_as_circles_after_as_triangles():
    root = drawn(STRIP)
    assert len(root.findall(f"{SVG}circle")) == 3
    assert len([match for match in root.findall(f"{SVG}polygon") if match.attrib["fill"] == "none"]) == 1


def test_equal_neighbours_do_not_hide_each_other():
    heights = [value.attrib["cy"] for value in drawn(STRIP).findall(f"{SVG}circle") if value.attrib["cx"]]
    assert len(set(heights)) == 2


def test_the_limit_is_labelled_and_the_drawing_has_words():
    texts = [element.text for element in drawn(STRIP).iter(f"{SVG}text")]
    assert sorted(texts) == ["after", "before", "max 0.05"]
    assert drawn(STRIP).find(f"{SVG}title").text == "Run-out: 0.049 mm"


def test_words_are_escaped():
    strip = Strip(F(1), words="<script>alert(1)</script>", labels=("", "<b>"), upper=F(2))
    assert "<script>" not in str(draw(strip))
    assert "<b>" not in str(draw(strip))


def test_only_black_white_and_one_grey_are_used():
    strip = Strip(F(1), F(0), F(2), F("0.5"), F("1.5"), found=F(3), before=(F(1),), after=(F(9),))
    assert set(re.findall(r"#[0-9a-f]{3,6}", str(draw(strip)))) == {"#000", "#fff", "#dedede"}


def test_as_found_is_an_open_diamond_with_an_arrow():
    strip = Strip(F("42.02"), F("41.85"), F("42.15"), found=F("42.31"))
    fills = [value.attrib["fill"] for value in drawn(strip).findall(f"{SVG}polygon")]
    assert fills == ["#fff", "#000", "#000"]


def test_a_neighbour_far_outside_stands_at_the_edge_as_an_arrow():
    strip = Strip(F(1), F(0), F(2), before=(F(100), F(-100)))
    root = drawn(strip)
    assert root.findall(f"{SVG}circle") == []
    assert {element.text for element in root.iter(f"{SVG}text")} >= {"»", "«"}


def test_what_starts_from_nothing_is_drawn_from_nothing():
    assert strip_scale(Strip(F("0.049"), upper=F("0.05"), before=(F("0.012"),))).least == 0
    noise = Strip(F(64), upper=F(72), before=(F(62),))
    assert strip_scale(noise).least > 50


NUMBERS = st.fractions(min_value=-1000, max_value=1000, max_denominator=1000)


@given(NUMBERS, st.none() | NUMBERS, st.none() | NUMBERS, st.lists(NUMBERS, max_size=6), st.none() | NUMBERS)
def test_whatever_the_numbers_it_stays_inside_and_in_order(value, target, other, others, found):
    lower, upper = (
        (min(target, other), max(target, other)) if None not in (target, other) else (target, other)
    )
    strip = Strip(value, lower, upper, found=found, before=tuple(others), after=tuple(others))
    assert all(-1 <= x <= WIDTH + 2 and -1 <= y <= HEIGHT for x, y in places(strip))
    scale = strip_scale(strip)
    assert LEFT <= scale.at(value) <= RIGHT
    for limit in (lower, upper):
        if limit is not None:
            assert (scale.at(value) > scale.at(limit)) == (value > limit)
