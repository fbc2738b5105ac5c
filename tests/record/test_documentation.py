"""What the documents promise about records is what the program does."""

from __future__ import annotations

import re
import typing
from pathlib import Path

from traveler.record.entry import KINDS, Body
from traveler.record.readers.files import COLUMNS

ROOT = Path(__file__).parent.parent.parent
TEXT = (ROOT / "docs" / "records.md").read_text()


def listed() -> set[str]:
    """Every code in the table of findings, ranges spelled out."""
    codes: set[str] = set()
    for line in TEXT.partition("## Findings")[2].splitlines():
        cell = line.split("|")[1] if line.startswith("|") else ""
        found = re.findall(r"([A-Z]{3})([0-9]{3})", cell)
        if " to " in cell:
            (name, first), (_, last) = found
            codes |= {f"{name}{number:03}" for number in range(int(first), int(last) + 1)}
        codes |= {name + number for name, number in found}
    return codes


def test_every_finding_of_this_room_is_documented_and_no_other():
    used: set[str] = set()
    for path in (ROOT / "traveler" / "record").rglob("*.py"):
        used |= set(re.findall(r'"((?:RES|CHN|STO|ATT)[0-9]{3})"', path.read_text()))
    assert used == listed()


def test_every_kind_of_entry_is_documented():
    union = typing.get_args(Body)[0]
    for kind in typing.get_args(union):
        assert f"`{kind.model_fields['kind'].default}`" in TEXT


def test_columns_and_references_are_documented():
    assert ",".join(COLUMNS) in TEXT
    assert all(f"`{kind}`" in TEXT for kind in KINDS)
