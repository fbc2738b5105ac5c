"""One YAML file of a shop's folder, read into its model: everything wrong with it, with line and column."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from traveler.definition.source import Path as NodePath
from traveler.definition.source import Plain, places, plain, read_source
from traveler.finding import Finding, Place, blocking

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

Model = TypeVar("Model", bound=BaseModel)
Places = Mapping[NodePath, Place]
"""Path of a value → where it stands in the file."""

DATES = frozenset({"on", "since", "until", "left", "withdrawn"})
"""Keys whose value is a day."""

MOMENTS = frozenset({"out", "back"})
"""Keys whose value is a day, or a day with a time of day."""

_DAY = r"\d{4}-\d\d-\d\d"
_WRITTEN = {
    **dict.fromkeys(DATES, (_DAY, "a day", "write it as 2026-01-05")),
    **dict.fromkeys(
        MOMENTS,
        (
            rf"{_DAY}([T ]\d\d:\d\d(:\d\d)?(Z|[+-]\d\d:\d\d)?)?",
            "a day with a time",
            "write it as 2026-01-05T14:30, or as 2026-01-05",
        ),
    ),
}
"""Key → how its value is written, what that is called, and what to write instead."""

_SAID = {
    "missing": "'{key}' is missing",
    "extra_forbidden": "there is no key '{key}' here",
    "literal_error": "{input} is not one of {expected}",
    "enum": "{input} is not one of {expected}",
    "int_parsing": "{input} is not a whole number",
    "bool_parsing": "{input} is neither true nor false",
    "string_pattern_mismatch": "{input} is not spelt like an id ({pattern})",
    "greater_than": "{input} is too small: more than {gt} is expected",
    "greater_than_equal": "{input} is too small: at least {ge} is expected",
    "tuple_type": "a list is expected here",
    "string_type": "a text is expected here",
    "model_type": "keys with values are expected here",
    "dict_type": "keys with values are expected here",
}
_CODES = {"extra_forbidden": "SHP002", "missing": "SHP003"}


@dataclass(frozen=True, slots=True)
class ReadFile(Generic[Model]):
    """What a file says (None if it cannot be used), what is wrong with it, and where each value stands."""

    says: Model | None
    findings: tuple[Finding, ...]
    places: Places = field(default_factory=dict)


def read_file(path: Path, model: type[Model]) -> ReadFile[Model]:
    """The file's content as ``model``; every scalar arrives as text and keeps its digits.

    Findings: SHP001 no such file, or not text; SHP002 unknown key; SHP003 key missing; SHP004 value not
    understood; and those of :func:`traveler.definition.source.read_source`.
    """
    name = str(path)
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        what = f"not text in UTF-8: byte {problem.start + 1} is {problem.object[problem.start]:#04x}"
        return ReadFile(None, (Finding("SHP001", what, Place(name), hint="save the file as UTF-8"),))
    except OSError as problem:
        what = f"cannot be read: {problem.strerror}"
        return ReadFile(None, (Finding("SHP001", what, Place(name), hint="'traveler set-up' writes one"),))
    source = read_source(text, name)
    if source.root is None:
        return ReadFile(None, source.findings)
    where, content = places(source.root), plain(source.root)
    days = tuple(_wrong_days(content, where))
    findings = (*source.findings, *days)
    try:
        says = model.model_validate(content)
    except ValidationError as problem:
        said = {one.place for one in days}
        told = (_finding(one, model, where, name) for one in problem.errors(include_url=False))
        return ReadFile(None, (*findings, *(one for one in told if one.place not in said)), where)
    return ReadFile(None if blocking(findings) else says, findings, where)


def nearest(where: Places, path: NodePath, file: str) -> Place:
    """The place of the value at ``path``, or of the nearest one around it that is there."""
    while path and path not in where:
        path = path[:-1]
    return where.get(path, Place(file, 1, 1))


def _finding(problem: ErrorDetails, model: type[BaseModel], where: Places, file: str) -> Finding:
    kind, path = problem["type"], tuple(problem["loc"])
    key = str(path[-1]) if path else ""
    pattern = _SAID.get(kind)
    said = {**problem.get("ctx", {}), "key": key, "input": _quoted(problem["input"])}
    what = pattern.format(**said) if pattern else f"{said['input']}: {problem['msg']}"
    hint = _did_you_mean(key, _fields(model, path[:-1])) if kind == "extra_forbidden" else ""
    return Finding(_CODES.get(kind, "SHP004"), what, nearest(where, path, file), hint=hint)


def _quoted(value: object) -> str:
    text = "this" if value is None or isinstance(value, dict | list) else str(value)
    return f"'{text[:60]}{'…' if len(text) > 60 else ''}'" if text != "this" else text


def _did_you_mean(key: str, known: list[str]) -> str:
    close = get_close_matches(key, known, n=1)
    return f"did you mean '{close[0]}'?" if close else f"known here: {', '.join(known)}"


def _fields(model: type[BaseModel], path: NodePath) -> list[str]:
    """The keys that may stand at ``path`` within the model."""
    inside: type[BaseModel] | None = model
    for part in path:
        if isinstance(part, str) and inside is not None and part in inside.model_fields:
            inside = next(_models(inside.model_fields[part].annotation), None)
    return list(inside.model_fields) if inside is not None else []


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from _models(part)


def _wrong_days(content: Plain, where: Places, path: NodePath = ()) -> Iterator[Finding]:
    """SHP004 for days that are not written year-month-day: pydantic would take ``20260105`` for seconds."""
    if isinstance(content, list):
        for index, item in enumerate(content):
            yield from _wrong_days(item, where, (*path, index))
    elif isinstance(content, dict):
        for key, value in content.items():
            pattern, called, hint = _WRITTEN.get(key, ("", "", ""))
            if pattern and isinstance(value, str) and not re.fullmatch(pattern, value):
                place = where.get((*path, key), Place())
                yield Finding("SHP004", f"'{value}' is not {called}", place, hint=hint)
            yield from _wrong_days(value, where, (*path, key))
