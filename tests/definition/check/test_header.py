"""The head of a definition: date, serial pattern, trade item numbers."""

from __future__ import annotations

from collections.abc import Callable

import pytest

Write = Callable[..., str]
Marks = Callable[[str], None]


@pytest.mark.parametrize("day", ["2026-02-30", "2026-13-01", "2025-02-29", "0000-01-01"])
def test_a_revision_needs_a_day_of_the_calendar(write: Write, finds_marks: Marks, day: str) -> None:
    finds_marks(write().replace("revised: 2026-01-05", f"revised: {day}   # !DEF316"))


def test_a_leap_day_is_a_day(write: Write, finds_marks: Marks) -> None:
    finds_marks(write().replace("2026-01-05", "2024-02-29"))


@pytest.mark.parametrize(
    "pattern",
    ["BL-{yy}", "BL-{n}-{n}", "bl-{n}", "BL-{week}-{n}", "BL--{n}", "-{n}", "{yy}{ww}{mm}{n}", "BL {n}"],
)
def test_a_serial_pattern_must_give_serials(write: Write, finds_marks: Marks, pattern: str) -> None:
    finds_marks(write().replace('{pattern: "BL-{yy}{ww}-{n:04}"}', f'{{pattern: "{pattern}"}}   # !SER003'))


def test_an_unknown_check_character_system_is_named(write: Write, finds_marks: Marks) -> None:
    finds_marks(write().replace('{n:04}"}', '{n:04}", check_character: mod10}   # !DEF005'))


@pytest.mark.parametrize("system", ["mod37_2", "mod37_36"])
def test_both_check_character_systems_are_taken(write: Write, finds_marks: Marks, system: str) -> None:
    finds_marks(write().replace('{n:04}"}', f'{{n:04}}", check_character: {system}}}'))


# 9506000134352 is a GTIN of GS1's own samples, from memory; its check digit was recomputed.
@pytest.mark.parametrize("gtin", ["9506000134352", "09506000134352", "012345678905", "96385074"])
def test_a_right_trade_item_number_is_taken(write: Write, finds_marks: Marks, gtin: str) -> None:
    finds_marks(write(tail=f"gtin: {gtin}\n"))


@pytest.mark.parametrize(
    "gtin",
    ["9506000134353", "9506000134532", "950600013435", "95060001343521", "9506-000", "٩٦٣٨٥٠٧٤"],
)
def test_a_wrong_trade_item_number_is_told(write: Write, finds_marks: Marks, gtin: str) -> None:
    finds_marks(write(tail=f"gtin: {gtin}   # !DEF317\n"))


def test_each_variant_may_have_its_own_trade_item_number(write: Write, finds_marks: Marks) -> None:
    text = write().replace("mass: 20 kg}", 'mass: 20 kg, gtin: "96385075"}   # !DEF317')
    finds_marks(text)
