"""The small types: texts by language, flags, whole numbers, one spelling."""

from __future__ import annotations

import pytest
from pydantic import BaseModel, ValidationError

from traveler.definition.fields import Flag, Text, Whole, one_spelling, text_in


class Sample(BaseModel):
    text: Text = "x"
    whole: Whole = 1
    flag: Flag = False


@pytest.mark.parametrize(
    ("text", "language", "expected"),
    [
        ("plain", "es", "plain"),
        ({"en": "frame", "es": "bastidor"}, "es", "bastidor"),
        ({"en": "frame", "es": "bastidor"}, "de", "frame"),
        ({"fr": "cadre", "de": "Rahmen"}, "es", "Rahmen"),
        (None, "en", ""),
    ],
)
def test_the_text_of_a_language(text: str | dict[str, str] | None, language: str, expected: str) -> None:
    assert text_in(text, language) == expected


@pytest.mark.parametrize(("written", "value"), [("1", 1), ("35", 35), (35, 35), ("010", 10)])
def test_whole_numbers(written: str | int, value: int) -> None:
    assert Sample(whole=written).whole == value  # type: ignore[arg-type]


@pytest.mark.parametrize("written", ["0", "-1", "1.0", "1_0", "1e1", "ten", "", "١", True, 0, 1.5])
def test_what_is_no_whole_number(written: object) -> None:
    with pytest.raises(ValidationError):
        Sample(whole=written)  # type: ignore[arg-type]


@pytest.mark.parametrize(("written", "value"), [("true", True), ("false", False), (True, True)])
def test_flags(written: object, value: bool) -> None:
    assert Sample(flag=written).flag is value  # type: ignore[arg-type]


@pytest.mark.parametrize("written", ["yes", "no", "on", "1", "True", "", 1])
def test_what_is_no_flag(written: object) -> None:
    with pytest.raises(ValidationError):
        Sample(flag=written)  # type: ignore[arg-type]


@pytest.mark.parametrize("written", ["", "   ", {}, {"english": "x"}, {"en": ""}, ["x"]])
def test_what_is_no_text(written: object) -> None:
    with pytest.raises(ValidationError):
        Sample(text=written)  # type: ignore[arg-type]


def test_one_spelling_reaches_keys_lists_and_texts() -> None:
    written = {"e\u0301": ["\u03bcm", {"a": "A\u030a"}], "n": 3}
    assert one_spelling(written) == {"é": ["µm", {"a": "Å"}], "n": 3}
