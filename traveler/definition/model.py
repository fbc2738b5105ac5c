"""The model of a product definition. Numbers are text as written; ``check.py`` reads them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from traveler.definition.positions import Declared
from traveler.definition.steps import CautionLine, Step
from traveler.definition.words import Flag, Name, Role, Text, Value, Whole, Written

Mark = Literal[
    "fragile", "no-hand-hooks", "this-way-up", "keep-from-sunlight", "protect-from-radiation", "keep-dry",
    "centre-of-gravity", "do-not-roll", "no-hand-truck-here", "no-forks", "clamp-here", "do-not-clamp-here",
    "stacking-limit-mass", "stacking-limit-number", "do-not-stack", "sling-here", "temperature-limits",
]  # fmt: skip
"""The 17 handling marks of ISO 780:2015, under our names."""

FINAL, CRATING = "Q", "C"
"""The operation numbers of the final checklist and of crating."""


class Shape(BaseModel):
    """A part of a definition: immutable, and unknown keys are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Serials(Shape):
    """How serial (or lot) numbers are made: see ``serial.py``."""

    pattern: Written
    check_character: Literal["mod37_2", "mod37_36"] = "mod37_2"


class Variant(BaseModel):
    """One variant: its title, its mass, and any variables that the rest may use, as written."""

    model_config = ConfigDict(frozen=True, extra="allow")
    __pydantic_extra__: dict[str, Written] = Field(init=False)

    title: Text
    mass: Written | None = None
    gtin: Written | None = None

    @property
    def variables(self) -> dict[str, str]:
        """The further numbers this variant sets, by name in alphabetical order."""
        return dict(sorted((self.__pydantic_extra__ or {}).items()))


class Option(Shape):
    """Something a customer may order on top; steps and packing items say ``only_with``."""

    title: Text
    mass: Written | None = None


class GaugeKind(Shape):
    """A kind of gauge that checks need; the register names the real ones."""

    title: Text
    resolution: Written | None = None


class Operation(Shape):
    """One operation. ``first_piece`` and ``every`` hold for all its checks (see ``docs/definition.md``)."""

    number: Annotated[str, StringConstraints(pattern=r"^[1-9][0-9]{0,3}$")]
    title: Text
    area: Text | None = None
    minutes: Whole | None = None
    cautions: tuple[CautionLine, ...] = ()
    first_piece: Flag | None = None
    every: Whole | None = None
    steps: tuple[Step, ...] = Field(min_length=1)
    sign: Role


class Crate(Shape):
    """The crate: sizes and masses as written; ``wood_mark: required`` asks for the mark of ISPM 15."""

    title: Text
    inside: Written | None = None
    empty_mass: Written | None = None
    wood_mark: Literal["required", "none"] | None = None


class PackingItem(Shape):
    """One line of the packing list. ``mass`` is that of one piece, or ``variant``."""

    item: Text
    quantity: Written = "1"
    mass: Written | None = None
    number: Written | None = None
    only_for: tuple[Value, ...] = ()
    only_with: tuple[Name, ...] = ()


class Crating(Shape):
    """Crate, marks, steps and packing list."""

    crate: Crate
    marks: tuple[Mark, ...] = ()
    area: Text | None = None
    minutes: Whole | None = None
    cautions: tuple[CautionLine, ...] = ()
    steps: tuple[Step, ...] = ()
    packing_list: tuple[PackingItem, ...] = ()
    sign: Role = "packer"


Called = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{1,40}$")]
"""The name of a position, of a value or of a variable."""


class Definition(Shape):
    """One product (or part made in lots), one revision, all variants."""

    format: Literal["1"] = "1"
    product: Name
    title: Text
    revision: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9.-]{0,11}$")]
    revised: Annotated[str, StringConstraints(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]
    change: Text | None = None
    approved_by: Written
    gtin: Written | None = None
    track: Literal["serial", "lot"] = "serial"
    serials: Serials
    variants: dict[Value, Variant] = Field(min_length=1)
    options: dict[Name, Option] = {}
    positions: dict[Name, Declared] = {}
    gauges: dict[Name, GaugeKind] = {}
    names: dict[Called, Text] = {}
    operations: tuple[Operation, ...] = Field(min_length=1)
    final_checks: tuple[Step, ...] = ()
    crating: Crating | None = None
    arrival_check: tuple[Name, ...] = ()
