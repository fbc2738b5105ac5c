"""What a definition is expanded for: one variant and its variables; the axes and slots these give a check."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product
from typing import Any, Protocol

from traveler.definition.fields import LANGUAGE, NamedPosition, text_in
from traveler.definition.model import Definition, PackingItem, Variant
from traveler.definition.plan import Axis, Slot, SlotKind, where_key, where_text

PLACEHOLDER = re.compile(r"\{([a-z][a-z0-9_-]*)\}")
"""A variable inside a sentence or a limit: ``Fit {spindles} spindles.``"""


class Conditional(Protocol):
    """Something that is there for some variants or with some options only."""

    @property
    def only_for(self) -> tuple[str, ...]:
        """The variants that have it; empty: all."""

    @property
    def only_with(self) -> tuple[str, ...]:
        """The options it comes with."""


@dataclass(frozen=True, slots=True)
class VariantSetting:
    """One variant of a definition with everything its texts may refer to.

    ``quantity`` is that of a lot, where it is known.
    """

    definition: Definition
    variant: str
    language: str = LANGUAGE
    options: tuple[str, ...] = ()
    quantity: int | None = None

    @property
    def chosen(self) -> Variant:
        """The variant itself."""
        return self.definition.variants[self.variant]

    @property
    def variables(self) -> dict[str, str]:
        """Variable → number as written; ``variant`` and ``mass`` are always among them where given."""
        return variables_of(self.variant, self.chosen.mass, self.chosen.variables)

    def holds(self, what: Conditional) -> bool:
        """Whether a step or packing item is there for this variant and these options."""
        fits = not what.only_for or self.variant in what.only_for
        return fits and all(option in self.options for option in what.only_with)

    def say(self, text: str | dict[str, str] | None) -> str:
        """The text in this setting's language, its variables filled in."""
        return fill_variables(text_in(text, self.language), self.variables)

    def number(self, text: str) -> str:
        """A number, or the variable of this name."""
        return self.variables.get(text, fill_variables(text, self.variables))

    def mass_of(self, item: PackingItem) -> str | None:
        """The mass of one piece of a packing item; None where it is not given."""
        mass = self.chosen.mass if item.mass == "variant" else item.mass
        return None if mass is None else self.number(mass)


def variables_of(variant: str, mass: str | None, further: dict[str, str]) -> dict[str, str]:
    """The variables of one variant by name."""
    return {"variant": variant, **({"mass": mass} if mass else {}), **further}


def fill_variables(text: str, variables: dict[str, str]) -> str:
    """The text with ``{name}`` replaced by the variable of that name; unknown names stay as they are."""
    return PLACEHOLDER.sub(lambda found: variables.get(found[1], found[0]), text)


Where = tuple[tuple[str, str], ...]
"""One combination of position values, like ``(("spindle", "3"), ("end", "far"))``."""


def axes(at: tuple[NamedPosition, ...], setting: VariantSetting) -> tuple[Axis, ...]:
    """The positions of a step with the values they take in this setting, in the order written."""
    return tuple(_axis(position, setting) for position in at)


def _axis(position: NamedPosition, setting: VariantSetting) -> Axis:
    given = position
    if position.count is None and position.values is None:
        declared = setting.definition.positions[position.name]
        given = NamedPosition(name=position.name, count=declared.count, values=declared.values)
    if given.values is not None:
        return Axis(name=given.name, values=given.values)
    count = int(setting.number(given.count or "0"))
    return Axis(name=given.name, values=tuple(str(number) for number in range(1, count + 1)))


def narrowed(
    whole: tuple[Axis, ...], at: tuple[NamedPosition, ...], setting: VariantSetting
) -> tuple[Axis, ...]:
    """The axes of a check that is repeated, cut down to the values ``at`` names."""
    wanted = {axis.name: axis for axis in axes(at, setting)}
    return tuple(wanted.get(axis.name, axis) for axis in whole)


def checked_pieces(every: int | None, setting: VariantSetting) -> tuple[Axis, ...]:
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
    return f"{step}/{where_key(where)}" if where else step


def spanned_slots(
    step: str,
    kind: SlotKind,
    text: str,
    spanned: tuple[Axis, ...],
    role: str | None = None,
    more: Callable[[Where], dict[str, Any]] = lambda _: {},
) -> tuple[Slot, ...]:
    """A slot for every combination of the axes; ``more`` are further fields of it."""
    return tuple(
        Slot(
            id=slot_id(step, where),
            kind=kind,
            label=f"{text}: {where_text(where)}" if where else text,
            position=where,
            role=role,
            **more(where),
        )
        for where in combinations(spanned)
    )
