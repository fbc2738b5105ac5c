"""What changed between two definitions, told as a person would tell it.

``30.2 Spindle run-out (TIR): max 0.08 mm → max 0.05 mm``
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel

from traveler.definition.matching import NumberedStep, numbered_steps, pair_steps
from traveler.definition.model import Crating, Definition, Operation
from traveler.definition.words import said

ABSENT = "not given"
_SECTIONS = {"variants": "variant", "options": "option", "positions": "position", "gauges": "gauge kind"}
_APART = ("operations", "final_checks", "crating", "serials", *_SECTIONS)


def difference(old: Definition, new: Definition) -> list[str]:
    """The changes from ``old`` to ``new``, a line each, in the order of the file; empty if there are none."""
    before, after = _dump(old), _dump(new)
    lines = list(_fields("", _without(before, _APART), _without(after, _APART)))
    lines += _fields("serials ", before["serials"], after["serials"])
    for section, word in _SECTIONS.items():
        lines += _named(word, before.get(section, {}), after.get(section, {}))
    lines += _operations(old.operations, new.operations)
    lines += _steps(numbered_steps(old), numbered_steps(new))
    lines += _crating(old.crating, new.crating)
    return lines


def _dump(part: BaseModel) -> dict[str, Any]:
    return part.model_dump(mode="json", exclude_defaults=True)


def _without(fields: Mapping[str, Any], names: tuple[str, ...]) -> dict[str, Any]:
    return {name: value for name, value in fields.items() if name not in names}


def _fields(label: str, before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[str]:
    for name in (*before, *(name for name in after if name not in before)):
        old, new = before.get(name), after.get(name)
        if old != new:
            yield f"{label}{name.replace('_', ' ')}: {shown(old)} → {shown(new)}"


def _named(word: str, before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[str]:
    for name in (*before, *(name for name in after if name not in before)):
        label = f"{word} {name}"
        if name not in after:
            yield f"{label}: removed"
        elif name not in before:
            yield f"{label}: added, {shown(after[name])}"
        else:
            yield from _fields(f"{label}, ", before[name], after[name])


def _operations(before: tuple[Operation, ...], after: tuple[Operation, ...]) -> Iterator[str]:
    old = {one.number: one for one in before}
    new = {one.number: one for one in after}
    for number in sorted({*old, *new}, key=int):
        if number not in new:
            yield f"{number} {said(old[number].title)}: removed"
        elif number not in old:
            yield f"{number} {said(new[number].title)}: added"
        else:
            parts = (_without(_dump(one), ("steps", "number")) for one in (old[number], new[number]))
            yield from _fields(f"{number} {said(new[number].title)}, ", *parts)


def _steps(before: list[NumberedStep], after: list[NumberedStep]) -> Iterator[str]:
    pairs, gone = pair_steps(before, after)
    last = -1
    for old, new in pairs:
        if old is None:
            yield f"{new.where} added: {_summary(new)}"
            continue
        at = before.index(old)
        if old.operation != new.operation or at < last:
            yield f"{new.where} {new.text}: was {old.where}"
        last = max(last, at)
        yield from _step(old, new)
    for one in gone:
        yield f"{one.where} removed: {_summary(one)}"


def _step(old: NumberedStep, new: NumberedStep) -> Iterator[str]:
    if old.step == new.step:
        return
    before, after = _dump(old.step), _dump(new.step)
    word = new.step.word
    if before.get(word) != after.get(word):
        yield f"{new.where}: '{shown(before.get(word))}' → '{shown(after.get(word))}'"
    if before.get("limits") != after.get("limits"):
        yield f"{new.where} {new.text}: {shown(before.get('limits'))} → {shown(after.get('limits'))}"
    apart = (word, "limits")
    yield from _fields(f"{new.where} {new.text}, ", _without(before, apart), _without(after, apart))


def _summary(one: NumberedStep) -> str:
    limits = getattr(one.step, "limits", None)
    return f"{one.step.word} '{one.text}'" + (f", {limits}" if limits else "")


def _crating(before: Crating | None, after: Crating | None) -> Iterator[str]:
    if before is None or after is None:
        if before is not after:
            yield f"crating: {'removed' if after is None else 'added'}"
        return
    old, new = _dump(before), _dump(after)
    apart = ("steps", "packing_list", "crate")
    yield from _fields("crating, ", _without(old, apart), _without(new, apart))
    yield from _fields("crate, ", old["crate"], new["crate"])
    items = (
        {shown(item["item"]): _without(item, ("item",)) for item in one.get("packing_list", ())}
        for one in (old, new)
    )
    yield from _named("packing item", *items)


def shown(value: Any) -> str:
    """A value of a definition in one line, as a person would write it."""
    if value is None:
        return ABSENT
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | tuple):
        return ", ".join(_entry(one) for one in value) or "none"
    if isinstance(value, dict):
        return (
            ", ".join(f"{name.replace('_', ' ')} {shown(one)}" for name, one in value.items()) or "no details"
        )
    return str(value)


def _entry(value: Any) -> str:
    """One entry of a list; a position of a step by its name and, where it has its own, its values."""
    if isinstance(value, dict) and "name" in value and set(value) <= {"name", "count", "values"}:
        own = value.get("count") or value.get("values")
        return f"{value['name']} ({shown(own)})" if own else str(value["name"])
    return shown(value)
