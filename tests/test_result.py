"""Answers as JSON: one way for all of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import Enum, StrEnum
from fractions import Fraction
from pathlib import Path
from typing import ClassVar

import pytest

from traveler.finding import Finding, Place
from traveler.record.entry import Noted
from traveler.result import Result, as_json


class Color(Enum):
    RED = "red"


class Weight(StrEnum):
    LIGHT = "light"


@dataclass(frozen=True, slots=True)
class Part(Result):
    number: str
    mass: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Machine(Result):
    json_keys: ClassVar[str] = "*part serial first=part.mass cover=other.number parts"

    serial: str
    part: Part
    other: Part | None = None

    @property
    def parts(self) -> tuple[Part, ...]:
        return (self.part,)


def test_without_keys_every_field_is_told_by_its_name() -> None:
    assert Part("P-1", Fraction(1, 8)).as_dict() == {"number": "P-1", "mass": "0.125"}


def test_keys_are_told_in_their_order_with_parts_spread_and_paths_followed() -> None:
    told = Machine("BW4", Part("P-1", Fraction(1, 3))).as_dict()
    assert list(told.items()) == [
        ("number", "P-1"),
        ("mass", "0.333333333333333"),
        ("serial", "BW4"),
        ("first", "0.333333333333333"),
        ("cover", None),
        ("parts", [{"number": "P-1", "mass": "0.333333333333333"}]),
    ]


def test_a_key_that_names_nothing_is_a_defect_and_not_left_out() -> None:
    class Wrong(Result):
        json_keys = "nothing"

    with pytest.raises(AttributeError):
        Wrong().as_dict()


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (True, True),
        (3, 3),
        (None, None),
        (Weight.LIGHT, "light"),
        (Color.RED, "red"),
        (date(2026, 11, 28), "2026-11-28"),
        (datetime(2026, 11, 28, 7, 5, tzinfo=UTC), "2026-11-28T07:05:00+00:00"),
        (Decimal("0.10"), "0.1"),
        (Path("a/b.pdf"), "a/b.pdf"),
        (frozenset({"b", "a"}), ["a", "b"]),
        ({1: (Fraction(1, 2),)}, {"1": ["0.5"]}),
    ],
)
def test_a_value_is_told_as_json_knows_it(value: object, told: object) -> None:
    assert as_json(value) == told
    assert type(as_json(value)) is type(told)


def test_findings_and_entries_are_told_as_they_tell_themselves() -> None:
    finding = Finding("RES001", "no such slot", Place(unit="BW4"))
    assert as_json((finding,)) == [finding.as_dict()]
    assert as_json(Noted(text="oiled")) == Noted(text="oiled").model_dump(mode="json")


def test_a_value_without_one_form_is_refused() -> None:
    with pytest.raises(TypeError, match="complex has no one form in JSON"):
        as_json(1j)
