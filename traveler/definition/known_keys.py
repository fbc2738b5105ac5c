"""Which keys the model knows at a path, for the hint after an unknown key."""

from __future__ import annotations

from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel, Tag

from traveler.definition.model import Definition
from traveler.definition.rules import KEYS, How


def known_keys(path: tuple[str | int, ...]) -> list[str]:
    """The keys of the model at a path as the model reports it; empty where any key may stand."""
    shape: Any = Definition
    for part in path:
        shape = _inside(_bare(shape, str(part)), part)
    model = _bare(shape, "")
    if model is How:
        return list(KEYS)
    return list(model.model_fields) if _is_model(model) else []


def _is_model(shape: Any) -> bool:
    return isinstance(shape, type) and issubclass(shape, BaseModel)


def _bare(shape: Any, tag: str) -> Any:
    """A type without its annotations and without ``None``; of a union the member of this tag."""
    while True:
        if get_origin(shape) is Annotated:
            shape = get_args(shape)[0]
            continue
        members = [one for one in get_args(shape) if one is not type(None)] if _is_union(shape) else []
        if len(members) == 1:
            shape = members[0]
            continue
        tagged = [
            one for one in members if any(isinstance(note, Tag) and note.tag == tag for note in get_args(one))
        ]
        if not tagged:
            return shape
        shape = tagged[0]


def _is_union(shape: Any) -> bool:
    return (not _is_model(shape) and type(None) in get_args(shape)) or "Union" in type(shape).__name__


def _inside(shape: Any, part: str | int) -> Any:
    """The type of what stands under a key or at an index; the type itself where the part is a tag."""
    if _is_model(shape):
        fields = shape.model_fields
        return fields[part].annotation if part in fields else shape
    inner = get_args(shape)
    if get_origin(shape) is tuple and isinstance(part, int):
        return inner[0] if len(inner) == 2 and inner[1] is ... else inner[min(part, len(inner) - 1)]
    if get_origin(shape) is dict and part != "[key]":
        return inner[1]
    return shape
