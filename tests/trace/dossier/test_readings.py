"""A reading as it is shown: how near, where among its neighbors, exact in JSON."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from traveler.measure.limits import parse_limits
from traveler.trace.dossier.pages import strip_of
from traveler.trace.dossier.readings import Neighbour, ReadingShown

F = Fraction
READING = ReadingShown(
    slot="30-2/spindle=3,end=far", check="runout", title="Spindle run-out (TIR)", where="spindle 3, end far",
    step="30-2", operation="30 Spindles", limits=parse_limits("max 0.05 mm"), accept=None, value=F("0.049"),
    unit="mm", decimals=3, state="in", seq=31, by="tkiln", day="2026-11-02", gauge="IND-03",
)  # fmt: skip


def neighbours(*values: str) -> tuple[Neighbour, ...]:
    return tuple(Neighbour(f"U{at}", F(value)) for at, value in enumerate(values))


def test_its_place_among_the_others_is_told_toward_the_side_it_is_on():
    high = replace(READING, before=neighbours("0.03", "0.04"), after=neighbours("0.05"))
    assert high.place == "higher than 2 of 3 other units"
    low = replace(READING, value=F("0.01"), before=neighbours("0.03"))
    assert low.place == "lower than 1 of 1 other unit"
    assert READING.place == ""


def test_outermost_takes_enough_neighbours_and_all_of_them_on_one_side():
    few = replace(READING, before=neighbours(*["0.03"] * 9))
    assert not few.extreme
    assert replace(READING, before=neighbours(*["0.03"] * 10)).extreme
    assert not replace(READING, before=neighbours(*["0.03"] * 10, "0.049")).extreme


@pytest.mark.parametrize(
    ("limits", "value", "near"),
    [("max 0.05 mm", "0.045", True), ("max 0.05 mm", "0.044", False), ("42.00 ± 0.15 mm", "41.87", True),
     ("42.00 ± 0.15 mm", "41.89", False), ("min 8 N", "8.5", True)],
)  # fmt: skip
def test_near_is_the_last_tenth_of_the_tolerance(limits, value, near):
    assert replace(READING, limits=parse_limits(limits), value=F(value)).near is near


@pytest.mark.parametrize(
    ("limits", "value", "outside"),
    [("max 0.05 mm", "0.05", 1), ("42.00 ± 0.15 mm", "42.00", 0), ("42.00 ± 0.15 mm", "41.85", 1),
     ("min 8 N", "16", 0)],
)  # fmt: skip
def test_how_far_out_is_one_at_the_limit(limits, value, outside):
    assert replace(READING, limits=parse_limits(limits), value=F(value)).outside == outside


def test_adjusted_is_the_last_reading_as_found():
    found = ((F("0.09"), True), (F("0.06"), True), (F("0.07"), False))
    assert replace(READING, found=found).adjusted == F("0.06")
    assert READING.adjusted is None


def test_worked_out_values_are_rounded_for_people_and_exact_in_json():
    worked = replace(READING, value=F(1, 62), decimals=2, worked=True)
    assert worked.text == "0.016 mm"
    assert worked.as_dict()["value"] == "1/62"


def test_the_strip_says_in_words_what_it_shows():
    shown = strip_of(replace(READING, before=neighbours("0.03")))
    assert shown.words == (
        "Spindle run-out (TIR), spindle 3, end far: 0.049 mm against max 0.05 mm, in; "
        "higher than 1 of 1 other unit."
    )
    assert shown.labels == ("", "max 0.050")
