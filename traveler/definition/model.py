"""The model of a product definition, its canonical content with a digest, and its JSON Schema.

Numbers are text as written; the checks read them. Canonical content is RFC 8785 JSON of the model: keys
sorted, every number as the text that was written, text in Unicode NFC with one micro sign. Comments, key
order, quoting and line endings change nothing; any changed text does. Records keep it, and it loads again.
"""

from __future__ import annotations

import hashlib
import json
from typing import Annotated, Any, Literal

import rfc8785
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from traveler.definition.fields import (
    Declared,
    Flag,
    Frozen,
    Name,
    Role,
    Text,
    Value,
    Whole,
    Written,
    one_spelling,
)
from traveler.definition.steps import CautionLine, Step

Mark = Literal[
    "fragile", "no-hand-hooks", "this-way-up", "keep-from-sunlight", "protect-from-radiation", "keep-dry",
    "centre-of-gravity", "do-not-roll", "no-hand-truck-here", "no-forks", "clamp-here", "do-not-clamp-here",
    "stacking-limit-mass", "stacking-limit-number", "do-not-stack", "sling-here", "temperature-limits",
]  # fmt: skip
"""The 17 handling marks of ISO 780:2015, under our names."""


class Serials(Frozen):
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


class Option(Frozen):
    """Something a customer may order on top; steps and packing items say ``only_with``."""

    title: Text
    mass: Written | None = None


class GaugeKind(Frozen):
    """A kind of gauge that checks need; the register names the real ones."""

    title: Text
    resolution: Written | None = None


class Operation(Frozen):
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


class Crate(Frozen):
    """The crate: sizes and masses as written; ``wood_mark: required`` asks for the mark of ISPM 15."""

    title: Text
    inside: Written | None = None
    empty_mass: Written | None = None
    wood_mark: Literal["required", "none"] | None = None


class PackingItem(Frozen):
    """One line of the packing list. ``mass`` is that of one piece, or ``variant``."""

    item: Text
    quantity: Written = "1"
    mass: Written | None = None
    number: Written | None = None
    only_for: tuple[Value, ...] = ()
    only_with: tuple[Name, ...] = ()


class Crating(Frozen):
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


class Definition(Frozen):
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


def canonical_content(definition: Definition) -> bytes:
    """The content as RFC 8785 canonical JSON, UTF-8. What is not given is left out.

    Leaving out defaults keeps the digest of a definition when a later version of the program
    knows further keys. The default of a key never changes within one ``format``.
    """
    content = definition.model_dump(mode="json", exclude_defaults=True)
    content["format"] = definition.format
    return bytes(rfc8785.dumps(one_spelling(content)))


def definition_digest(definition: Definition) -> str:
    """SHA-256 of the canonical content, 64 hexadecimal digits."""
    return hashlib.sha256(canonical_content(definition)).hexdigest()


def from_canonical(content: bytes) -> Definition:
    """The definition of a kept canonical content.

    Raises:
        ValueError: the bytes are not the content of a definition.
    """
    return Definition.model_validate(json.loads(content))


DIALECT = "https://json-schema.org/draft/2020-12/schema"
_ANY_SCALAR = ["string", "number", "boolean"]


def definition_schema() -> dict[str, Any]:
    """JSON Schema 2020-12 of one definition file.

    An editor reads ``10`` as a number where our loader keeps the text; so wherever the model has a text, the
    schema allows any scalar. A key without a value is left out rather than null, which keeps an editor's
    complaint at the very key that is wrong. ``traveler definition check`` reports the rest.
    """
    schema: dict[str, Any] = _for_editors(Definition.model_json_schema(by_alias=True, mode="validation"))
    return {
        "$schema": DIALECT,
        "title": "Product definition",
        **{k: v for k, v in schema.items() if k != "title"},
    }


def _for_editors(part: Any) -> Any:
    if isinstance(part, list):
        return [_for_editors(inner) for inner in part]
    if not isinstance(part, dict):
        return part
    choices = [inner for inner in part.get("anyOf", ()) if inner != {"type": "null"}]
    if len(choices) == 1:
        part = {**{k: v for k, v in part.items() if k not in ("anyOf", "default")}, **choices[0]}
    loose = {name: _for_editors(value) for name, value in part.items()}
    if loose.get("type") == "string" and "enum" not in loose and "const" not in loose:
        loose["type"] = _ANY_SCALAR
    if "patternProperties" in loose:
        loose.setdefault("additionalProperties", False)  # a text by language is nothing else
    if loose.get("const") == "1":
        loose = {**{k: v for k, v in loose.items() if k not in ("const", "type")}, "enum": ["1", 1]}
    return loose
