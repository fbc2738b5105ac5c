"""How an adjustment is listed on paper."""

from __future__ import annotations

import pytest

from traveler.definition.plan import Adjustment
from traveler.sheets.templates import templates
from traveler.sheets.views.limits import adjust_text
from traveler.sheets.words import words

SAY = words("en", templates())
NOTE = "If outside limits: write the value as found, adjust, measure again."


@pytest.mark.parametrize(
    ("adjust", "expected"),
    [
        (None, ()),
        (
            Adjustment(rule="text", text="turn the bush."),
            ("If outside limits: write the value as found, then: turn the bush.",),
        ),
        (
            Adjustment(
                rule="screw", values={"screw": "1.25 mm", "effect": "0.8 mm/turn", "increases": "clockwise"}
            ),
            (
                NOTE,
                "Turns = (target − reading) ÷ 0.8 mm/turn.",
                "The reading rises when turned clockwise.",
            ),
        ),
        (
            Adjustment(
                rule="level", values={"pitch": "1.5 mm", "raises": "clockwise"}, places={"A": ("0", "0")}
            ),
            (NOTE, "One turn of a foot is 1.5 mm.", "A foot rises when turned clockwise."),
        ),
        (
            Adjustment(rule="learn", text="Turn the screw."),
            (
                "If outside limits: write the value as found, then: Turn the screw.",
                (
                    "Write down each adjustment between two readings. "
                    "The tool calculates the next one from them."
                ),
            ),
        ),
        (
            Adjustment(rule="bend", values={"bend": "1"}),
            (NOTE, "Correct the bend by the difference and measure again."),
        ),
    ],
)
def test_each_rule_in_words(adjust, expected):
    assert adjust_text(adjust, SAY) == expected
