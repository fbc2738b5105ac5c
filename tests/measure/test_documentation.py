"""What ``docs/measurement.md`` says about numbers, units, limits and codes is so."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from traveler.measure.limits import parse_limits
from traveler.measure.number import Unreadable, parse_number
from traveler.measure.quantity import parse_unit

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "measurement.md").read_text(encoding="utf-8")
CODE = r"(?:NUM|UNT|LIM|DEC)[0-9]{3}"


def rows(heading: str) -> list[list[str]]:
    """The cells of the first table under a heading."""
    section = PAGE.partition(f"\n## {heading}")[2].partition("\n## ")[0]
    table = section.partition("\n|")[2].partition("\n\n")[0].splitlines()
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in table[2:]]


NUMBERS = [(text, cells[1]) for cells in rows("Numbers") for text in re.findall("`([^`]+)`", cells[0])]
UNITS = [unit for cells in rows("Units") for unit in re.findall(r"Shore A|[^\s,;:`]+", cells[1])]
NO_UNITS = {"degrees", "minutes", "seconds", "12°", "30'", '15"', "differences", "delta", "with", "prefixes",
            "and", "products", "such", "as", "never", "compared", "each", "other"}  # fmt: skip
LIMITS = [
    text.replace("expected", "20 kg")
    for cells in rows("Limits")
    for text in re.findall("`([^`]+)`", cells[0])
]


@pytest.mark.parametrize(("text", "reading"), NUMBERS)
def test_numbers_are_read_or_refused_as_the_page_says(text: str, reading: str) -> None:
    if reading == "refused":
        with pytest.raises(Unreadable):
            parse_number(text)
    else:
        assert parse_number(text)


@pytest.mark.parametrize("unit", [unit for unit in UNITS if unit not in NO_UNITS])
def test_units_on_the_page_are_known_in_this_spelling(unit: str) -> None:
    assert parse_unit(unit).symbol == unit


@pytest.mark.parametrize("text", LIMITS)
def test_limits_on_the_page_are_read(text: str) -> None:
    assert parse_limits(text)


def test_the_page_has_tables_to_try() -> None:
    assert (len(NUMBERS) > 10, len(UNITS) > 80, len(LIMITS) > 15) == (True, True, True)


def test_every_code_is_explained_and_every_explained_code_is_raised() -> None:
    raised = {
        code
        for path in (ROOT / "traveler" / "measure").rglob("*.py")
        for code in re.findall(f'"({CODE})"', path.read_text(encoding="utf-8"))
    }
    explained = re.findall(rf"^\| ({CODE}) \|", PAGE, re.MULTILINE)
    assert raised == set(explained)
    assert len(explained) == len(set(explained))
