"""Positions: the places one check is repeated at.

A position is written as a count (``{count: spindles}``, ``8``) or as a list of values (``[near, far]``).
``at`` names positions, in the order they are printed and put into slot ids, so its order has meaning and
is kept as pairs in the canonical form.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, WithJsonSchema
from pydantic_core import PydanticCustomError

from traveler.definition.words import Name, Value

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


class Position(BaseModel):
    """The values a position takes: counted from 1, or listed. Both None: as declared under ``positions``."""

    model_config = ConfigDict(frozen=True, extra="forbid")

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
        return [one for entry in written for one in _named(entry)]
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
