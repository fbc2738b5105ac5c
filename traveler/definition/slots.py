"""The axes of a repeated check and the slots they span."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from traveler.definition.plan import Axis, Slot, SlotKind
from traveler.definition.positions import NamedPosition
from traveler.definition.setting import Setting

Where = tuple[tuple[str, str], ...]
"""One combination of position values, like ``(("spindle", "3"), ("end", "far"))``."""


def axes(at: tuple[NamedPosition, ...], setting: Setting) -> tuple[Axis, ...]:
    """The positions of a step with the values they take in this setting, in the order written."""
    return tuple(_axis(position, setting) for position in at)


def _axis(position: NamedPosition, setting: Setting) -> Axis:
    given = position
    if position.count is None and position.values is None:
        declared = setting.definition.positions[position.name]
        given = NamedPosition(name=position.name, count=declared.count, values=declared.values)
    if given.values is not None:
        return Axis(name=given.name, values=given.values)
    count = int(setting.number(given.count or "0"))
    return Axis(name=given.name, values=tuple(str(number) for number in range(1, count + 1)))


def narrowed(whole: tuple[Axis, ...], at: tuple[NamedPosition, ...], setting: Setting) -> tuple[Axis, ...]:
    """The axes of a check that is repeated, cut down to the values ``at`` names."""
    wanted = {axis.name: axis for axis in axes(at, setting)}
    return tuple(wanted.get(axis.name, axis) for axis in whole)


def pieces(every: int | None, setting: Setting) -> tuple[Axis, ...]:
    """The pieces of a lot that are checked in the run, where the quantity is known: every n-th."""
    if every is None or setting.quantity is None:
        return ()
    numbers = range(every, setting.quantity + 1, every) or (setting.quantity,)
    return (Axis(name="piece", values=tuple(str(number) for number in numbers)),)


def combinations(spanned: tuple[Axis, ...]) -> Iterator[Where]:
    """Every combination of values, the last axis running fastest; one empty one without axes."""
    names = [axis.name for axis in spanned]
    for values in product(*(axis.values for axis in spanned)):
        yield tuple(zip(names, values, strict=True))


def slot_id(step: str, where: Where) -> str:
    """``30-2/spindle=3,end=far``, or the step's id alone."""
    return f"{step}/{','.join(f'{name}={value}' for name, value in where)}" if where else step


def label(text: str, where: Where) -> str:
    """``Spindle run-out: spindle 3, end far``."""
    return f"{text}: {', '.join(f'{name} {value}' for name, value in where)}" if where else text


def spanned_slots(
    step: str, kind: SlotKind, text: str, spanned: tuple[Axis, ...], role: str | None
) -> tuple[Slot, ...]:
    """A slot for every combination of the axes."""
    return tuple(
        Slot(id=slot_id(step, where), kind=kind, label=label(text, where), position=where, role=role)
        for where in combinations(spanned)
    )
