"""Limits as printed beside a box."""

from __future__ import annotations

import json

import pytest

from traveler.cli import main as shell
from traveler.definition.plan import PlanLimits
from traveler.sheets.templates import templates
from traveler.sheets.views.limits import limit_view, padded
from traveler.sheets.words import words

SAY = words("en", templates())


@pytest.mark.parametrize(
    ("limits", "expected"),
    [
        (
            PlanLimits(text="24 N·m ± 1.5", unit="N·m", lower="22.5", upper="25.5", nominal="24", decimals=1),
            "22.5 to 25.5",
        ),
        (
            PlanLimits(text="25 H7", unit="mm", lower="25", upper="25.021", nominal="25", decimals=3),
            "25.000 to 25.021",
        ),
        (
            PlanLimits(text="0.0 ± 0.3 mm", unit="mm", lower="-0.3", upper="0.3", nominal="0", decimals=1),
            "−0.3 to 0.3",
        ),
        (PlanLimits(text="max 0.05 mm", unit="mm", upper="0.05", decimals=2), ""),
        (PlanLimits(text="min 8 N", unit="N", lower="8"), ""),
        (PlanLimits(text="10 to 12 mm", unit="mm", lower="10", upper="12"), ""),
        (
            PlanLimits(text="1/4 ± 1/64 in", unit="in", lower="0.234375", upper="0.265625", nominal="1/4"),
            "15/64 to 17/64",
        ),
        (
            PlanLimits(text="1/16 ± 1/8 in", unit="in", lower="-0.0625", upper="0.1875", nominal="0.0625"),
            "−1/16 to 3/16",
        ),
        (PlanLimits(text="1 1/2 ± 1/2 in", unit="in", lower="1", upper="2", nominal="1.5"), "1 to 2"),
        (PlanLimits(text="24 +2/-1 N·m", unit="N·m", lower="23", upper="26", nominal="24"), "23 to 26"),
    ],
)
def test_the_range_is_spelled_out_where_it_is_not_written(limits, expected):
    view = limit_view(limits, None, SAY)
    assert (view.text, view.range, view.accept) == (limits.text, expected, "")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("1/4 in ± 1/128", "31/128 to 33/128"),
        ("1/8 in ± 1/3", "−5/24 to 11/24"),
        ("24 N·m ± 1.5", "22.5 to 25.5"),
        ("0.0 ± 0.3 mm", "−0.3 to 0.3"),
        ("25 H7", "25.000 to 25.021"),
        ("90 deg ISO 2768-m leg 50 mm", "89.5 to 90.5"),
        ("30 deg ISO 2768-m leg 100 mm", "29° 40' to 30° 20'"),
    ],
)
def test_the_range_on_the_sheet_is_the_one_that_definition_limits_shows(text, shown, capsys):
    assert shell.run(["definition", "limits", text, "--json"]) == 0
    screen = json.loads(capsys.readouterr().out)
    view = limit_view(PlanLimits(text=text, unit=screen["unit"]), None, SAY)
    assert view.range == shown
    spelled = view.range.replace("−", "-")
    assert screen["describe"] in (spelled, f"{spelled} {view.unit}")


def test_acceptance_limits_take_the_place_of_the_range():
    limits = PlanLimits(text="24 N·m ± 1.5", unit="N·m", lower="22.5", upper="25.5", nominal="24", decimals=1)
    view = limit_view(limits, "22.9 to 25.1 N·m", SAY)
    assert view.range == ""
    assert view.accept == "accept 22.9 to 25.1 N·m"


@pytest.mark.parametrize(
    ("number", "decimals", "expected"),
    [("24", 1, "24.0"), ("0.041", 2, "0.041"), ("-1.5", 2, "−1.50"), ("1/3", 2, "1/3"), ("7", 0, "7")],
)
def test_numbers_keep_what_they_have_and_gain_decimals(number, decimals, expected):
    assert padded(number, decimals) == expected


@pytest.mark.parametrize(
    ("text", "unit", "shown"),
    [
        ("240 ± 10 1/min", "rpm", "1/min"),
        ("240 rpm ± 10", "rpm", "rpm"),
        ("24 Nm ± 1.5", "N·m", "Nm"),
        ("25 H7", "mm", "mm"),
        ("max 0.05 mm", "mm", "mm"),
    ],
)
def test_the_unit_stands_as_the_definition_wrote_it(text, unit, shown):
    assert limit_view(PlanLimits(text=text, unit=unit), None, SAY).unit == shown
