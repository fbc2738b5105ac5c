"""What changed between two definitions, as a person would say it.

``30.2 Spindle run-out (TIR): max 0.08 mm → max 0.05 mm``
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher
from fractions import Fraction
from typing import Any

from pydantic import BaseModel

from traveler.definition.fields import CRATING, FINAL, text_in
from traveler.definition.model import Crating, Definition, Operation
from traveler.definition.steps import AnyStep

ALIKE = Fraction(3, 5)
"""Share of equal text from which a step counts as the same step, reworded."""


@dataclass(frozen=True, slots=True)
class NumberedStep:
    """A step with its operation and its number there."""

    operation: str
    number: int
    step: AnyStep

    @property
    def where(self) -> str:
        """``30.2``."""
        return f"{self.operation}.{self.number}"

    @property
    def text(self) -> str:
        """What the step says, in one language."""
        return text_in(self.step.text)


def numbered_steps(definition: Definition) -> list[NumberedStep]:
    """All steps of a definition in the order of the work."""
    parts = [(operation.number, operation.steps) for operation in definition.operations]
    parts.append((FINAL, definition.final_checks))
    parts.append((CRATING, definition.crating.steps if definition.crating else ()))
    return [NumberedStep(name, n, step) for name, steps in parts for n, step in enumerate(steps, start=1)]


def pair_steps(
    before: list[NumberedStep], after: list[NumberedStep]
) -> tuple[list[tuple[NumberedStep | None, NumberedStep]], list[NumberedStep]]:
    """Each new step with the old one it was (None: it is new), and the old ones that are gone."""
    left = list(before)
    found: dict[int, NumberedStep] = {}
    for same in (_same_id, _same_place_and_text, _same_text, _alike):
        for at, new in enumerate(after):
            if at not in found and (old := _first(left, new, same)) is not None:
                found[at] = old
                left.remove(old)
    return [(found.get(at), new) for at, new in enumerate(after)], left


def _first(
    left: list[NumberedStep], new: NumberedStep, same: Callable[[NumberedStep, NumberedStep], bool]
) -> NumberedStep | None:
    return next((old for old in left if same(old, new)), None)


def _same_id(old: NumberedStep, new: NumberedStep) -> bool:
    return old.step.id is not None and old.step.id == new.step.id


def _same_text(old: NumberedStep, new: NumberedStep) -> bool:
    return old.step.word == new.step.word and old.text == new.text and not _other_id(old, new)


def _same_place_and_text(old: NumberedStep, new: NumberedStep) -> bool:
    return old.operation == new.operation and _same_text(old, new)


def _alike(old: NumberedStep, new: NumberedStep) -> bool:
    if old.operation != new.operation or old.step.word != new.step.word or _other_id(old, new):
        return False
    return SequenceMatcher(None, old.text, new.text).ratio() >= ALIKE


def _other_id(old: NumberedStep, new: NumberedStep) -> bool:
    """Whether both have ids, and different ones: then they are different checks."""
    return None not in (old.step.id, new.step.id) and old.step.id != new.step.id


ABSENT = "not given"
_SECTIONS = {"variants": "variant", "options": "option", "positions": "position", "gauges": "gauge kind"}
_APART = ("operations", "final_checks", "crating", "serials", *_SECTIONS)


def definition_changes(old: Definition, new: Definition) -> list[str]:
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
        yield from _change(f"{label}{name.replace('_', ' ')}", before.get(name), after.get(name))


def _change(label: str, old: Any, new: Any) -> Iterator[str]:
    if old != new:
        yield f"{label}: {_value_text(old)} → {_value_text(new)}"


def _named(word: str, before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[str]:
    for name in (*before, *(name for name in after if name not in before)):
        label = f"{word} {name}"
        if name not in after:
            yield f"{label}: removed"
        elif name not in before:
            yield f"{label}: added, {_value_text(after[name])}"
        else:
            yield from _fields(f"{label}, ", before[name], after[name])


def _operations(before: tuple[Operation, ...], after: tuple[Operation, ...]) -> Iterator[str]:
    old = {operation.number: operation for operation in before}
    new = {operation.number: operation for operation in after}
    for number in sorted({*old, *new}, key=int):
        if number not in new:
            yield f"{number} {text_in(old[number].title)}: removed"
        elif number not in old:
            yield f"{number} {text_in(new[number].title)}: added"
        else:
            parts = (_without(_dump(part), ("steps", "number")) for part in (old[number], new[number]))
            yield from _fields(f"{number} {text_in(new[number].title)}, ", *parts)


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
    for numbered_step in gone:
        yield f"{numbered_step.where} removed: {_summary(numbered_step)}"


def _step(old: NumberedStep, new: NumberedStep) -> Iterator[str]:
    if old.step == new.step:
        return
    before, after = _dump(old.step), _dump(new.step)
    word = new.step.word
    if before.get(word) != after.get(word):
        yield f"{new.where}: '{_value_text(before.get(word))}' → '{_value_text(after.get(word))}'"
    yield from _change(f"{new.where} {new.text}", before.get("limits"), after.get("limits"))
    apart = (word, "limits")
    yield from _fields(f"{new.where} {new.text}, ", _without(before, apart), _without(after, apart))


def _summary(numbered_step: NumberedStep) -> str:
    limits = getattr(numbered_step.step, "limits", None)
    return f"{numbered_step.step.word} '{numbered_step.text}'" + (f", {limits}" if limits else "")


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
        {_value_text(item["item"]): _without(item, ("item",)) for item in version.get("packing_list", ())}
        for version in (old, new)
    )
    yield from _named("packing item", *items)


def _value_text(value: Any) -> str:
    """A value of a definition in one line, as a person would write it."""
    if value is None:
        return ABSENT
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | tuple):
        return ", ".join(_entry(inner) for inner in value) or "none"
    if isinstance(value, dict):
        parts = (f"{name.replace('_', ' ')} {_value_text(inner)}" for name, inner in value.items())
        return ", ".join(parts) or "no details"
    return str(value)


def _entry(value: Any) -> str:
    """One entry of a list; a position of a step by its name and, where it has its own, its values."""
    if isinstance(value, dict) and "name" in value and set(value) <= {"name", "count", "values"}:
        own = value.get("count") or value.get("values")
        return f"{value['name']} ({_value_text(own)})" if own else str(value["name"])
    return _value_text(value)
