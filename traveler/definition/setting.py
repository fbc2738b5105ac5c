"""What a definition is expanded for: one variant, its variables, the options ordered, the language."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Protocol

from traveler.definition.model import Definition, Variant
from traveler.definition.words import LANGUAGE, said

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
class Setting:
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
        return fill(said(text, self.language), self.variables)

    def number(self, text: str) -> str:
        """A number, or the variable of this name."""
        return self.variables.get(text, fill(text, self.variables))


def variables_of(variant: str, mass: str | None, further: dict[str, str]) -> dict[str, str]:
    """The variables of one variant by name."""
    return {"variant": variant, **({"mass": mass} if mass else {}), **further}


def fill(text: str, variables: dict[str, str]) -> str:
    """The text with ``{name}`` replaced by the variable of that name; unknown names stay as they are."""
    return PLACEHOLDER.sub(lambda found: variables.get(found[1], found[0]), text)
