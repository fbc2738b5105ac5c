"""The small types of a definition: texts, names, flags, whole numbers, and the positions of a check."""

from __future__ import annotations

import re
import unicodedata
from typing import Annotated, Any

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    StringConstraints,
    Tag,
    WithJsonSchema,
)
from pydantic_core import PydanticCustomError


class Frozen(BaseModel):
    """A value: immutable, and unknown keys are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


FINAL, CRATING = "Q", "C"
"""The operation numbers of the final checklist and of crating."""

LANGUAGE = "en"
"""The language that is taken where the one asked for is not given."""

MICRO, GREEK_MU = "\u00b5", "\u03bc"

_Language = Annotated[str, StringConstraints(pattern=r"^[a-z]{2}$")]
_Sentence = Annotated[str, StringConstraints(min_length=1, strip_whitespace=True)]


def _how_given(value: object) -> str:
    return "texts by language" if isinstance(value, dict) else "a text"


Text = Annotated[
    Annotated[_Sentence, Tag("a text")]
    | Annotated[dict[_Language, _Sentence], Field(min_length=1), Tag("texts by language")],
    Discriminator(_how_given),
]
"""A text, or a mapping from language to text: ``{en: Frame, es: Bastidor}``."""


def text_in(text: str | dict[str, str] | None, language: str = LANGUAGE) -> str:
    """The text in a language; where it is not given, in English, else in the first language by name."""
    if text is None or isinstance(text, str):
        return text or ""
    return text.get(language) or text.get(LANGUAGE) or text[min(text)]


def one_spelling(value: Any) -> Any:
    """Every text in Unicode NFC with one micro sign (U+00B5), through lists and mappings.

    What looks the same on paper is then the same text, and has the same digest.
    """
    if isinstance(value, str):
        return unicodedata.normalize("NFC", value).replace(GREEK_MU, MICRO)
    if isinstance(value, dict):
        return {one_spelling(key): one_spelling(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [one_spelling(inner) for inner in value]
    return value


def _whole(value: Any) -> Any:
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    if isinstance(value, str) and re.fullmatch(r"[0-9]{1,6}", value.strip()):
        return int(value)
    raise PydanticCustomError("whole", "a whole number is expected, like 10")


def _flag(value: Any) -> Any:
    if isinstance(value, bool):
        return value
    if value in ("true", "false"):
        return value == "true"
    raise PydanticCustomError("flag", "true or false is expected")


Whole = Annotated[
    int, BeforeValidator(_whole), Field(ge=1), WithJsonSchema({"type": "integer", "minimum": 1})
]
"""A whole number from 1."""

Flag = Annotated[bool, BeforeValidator(_flag), WithJsonSchema({"type": "boolean"})]
"""``true`` or ``false``; ``yes`` and ``no`` stay texts."""

Name = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_-]{0,39}$")]
"""A name of ours: small letters, digits, ``-``, ``_``; starts with a letter."""

Value = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{1,20}$")]
"""One value of a position; it becomes part of slot ids, so no space, period, slash or comma."""

Written = Annotated[str, StringConstraints(min_length=1, max_length=200, strip_whitespace=True)]
"""A number with its unit, limits, a file name: text that another check understands."""

Role = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_-]{0,39}$")]
"""A role of people, like ``assembler``."""


def languages_of(text: str) -> tuple[str, ...]:
    """``("es", "en")`` for ``es+en``: the first is printed large, the second small below it.

    >>> languages_of("es")
    ('es',)
    """
    return tuple(part.strip() for part in text.split("+"))


_COUNT = {"type": ["integer", "string"], "description": "a count: a number, or a variable of the variants"}
_VALUES = {"type": "array", "minItems": 1, "items": {"type": ["string", "integer"]}}
_SPECIFICATION: dict[str, Any] = {
    "oneOf": [
        _COUNT,
        _VALUES,
        {
            "type": "object",
            "properties": {"count": _COUNT},
            "required": ["count"],
            "additionalProperties": False,
        },
    ]
}
_BY_NAME = {"type": "object", "minProperties": 1, "additionalProperties": _SPECIFICATION}


class Position(Frozen):
    """The values a position takes: counted from 1, or listed. Both None: as declared under ``positions``."""

    count: str | None = None
    values: tuple[Value, ...] | None = None


class NamedPosition(Position):
    """A position used by one step."""

    name: Name


def read_position(written: Any) -> Any:
    """``8``, ``spindles``, ``{count: 8}`` or ``[near, far]`` as a position."""
    if isinstance(written, str):
        return {"count": written}
    if isinstance(written, list | tuple):
        if not written:
            raise PydanticCustomError("position", "a list of values is expected, like [near, far]")
        return {"values": written}
    if isinstance(written, dict) and set(written) <= {"count", "values"} and written:
        return written
    raise PydanticCustomError("position", "a count or a list is expected, like {count: 8} or [near, far]")


def _named(written: Any) -> list[dict[str, Any]]:
    """One entry of ``at`` as positions with their names."""
    if isinstance(written, str):
        return [{"name": written}]
    if isinstance(written, dict) and isinstance(written.get("name"), str):
        return [written]
    if isinstance(written, dict):
        return [{"name": name, **read_position(given)} for name, given in written.items()]
    raise PydanticCustomError("at", "positions are expected, like [spindle, end] or {screw: 8}")


def read_at(written: Any) -> Any:
    """``spindle``, ``[spindle, end]``, ``{screw: 8}`` or ``[spindle, {side: [left, right]}]`` in order."""
    if isinstance(written, list | tuple):
        return [item for entry in written for item in _named(entry)]
    return _named(written)


Declared = Annotated[Position, BeforeValidator(read_position), WithJsonSchema(_SPECIFICATION)]
At = Annotated[
    tuple[NamedPosition, ...],
    BeforeValidator(read_at),
    WithJsonSchema(
        {
            "oneOf": [
                {"type": "string"},
                {"type": "array", "items": {"oneOf": [{"type": "string"}, _BY_NAME]}},
                _BY_NAME,
            ]
        }
    ),
]
