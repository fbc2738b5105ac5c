"""What a check may say besides its limits: how to adjust, and what is worked out from which readings.

Both are small named rules, no formula language. Numbers stay as written; ``check.py`` reads them.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Discriminator, Field, Tag, WithJsonSchema
from pydantic_core import PydanticCustomError

from traveler.definition.words import Flag, Name, Text, Value, Written
from traveler.measure.work_out import FUNCTIONS

OPTIONS: tuple[str, ...] = tuple(sorted({option for one in FUNCTIONS.values() for option in one.options}))
"""What some function takes besides its check; which takes which, ``measure/work_out.py`` says."""

Point = tuple[Written, Written]
"""Coordinates; a number without a unit is in mm."""


class Rule(BaseModel):
    """A rule: immutable, and unknown keys are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Screw(Rule):
    """One screw with a known effect: ``{screw: 1.25 mm, effect: 0.8 mm/turn, increases: clockwise}``.

    ``screw`` is the pitch, ``effect`` how far one turn moves the reading, ``increases`` the direction
    that makes the reading larger.
    """

    screw: Written
    effect: Written
    increases: Text
    say: Text | None = None


class Level(Rule):
    """Levelling feet: ``{level: feet, pitch: 1.5 mm, places: {A: [0, 0], B: [600, 0], ...}}``.

    ``level`` names the position of the check whose values are the feet, or says what they are called;
    ``raises`` is the direction of turning that lifts the machine; ``fixed`` a foot that stays as it is.
    """

    level: Written
    pitch: Written
    places: dict[Value, Point] = Field(min_length=3)
    raises: Text | None = None
    fixed: Value | None = None
    say: Text | None = None


class Learn(Rule):
    """The effect is learned from two readings with the adjustment noted: ``{learn: true, by: turn}``."""

    learn: Flag
    by: Written | None = None
    say: Text | None = None


class Bend(Rule):
    """An angle bent over or under: correct by the deviation times a plain gain, ``{bend: 0.9}``."""

    bend: Written
    say: Text | None = None


def _which(written: Any) -> str | None:
    if isinstance(written, str):
        return "a sentence"
    keys = set(written) if isinstance(written, dict) else set(getattr(written, "model_fields_set", ()))
    rule = next((f"a {key} rule" for key in ("screw", "level", "learn", "bend") if key in keys), None)
    by_language = keys and all(len(key) == 2 for key in keys) and keys != {"by"}
    return rule or ("a sentence" if by_language else None)


Adjust = Annotated[
    Annotated[Text, Tag("a sentence")]
    | Annotated[Screw, Tag("a screw rule")]
    | Annotated[Level, Tag("a level rule")]
    | Annotated[Learn, Tag("a learn rule")]
    | Annotated[Bend, Tag("a bend rule")],
    Discriminator(
        _which,
        custom_error_type="adjust",
        custom_error_message="a sentence, or a rule with one of screw, level, learn, bend is expected",
    ),
]


class How(Rule):
    """What is worked out: a function of the readings of ``check``, along positions (none: all of them).

    ``places`` gives the coordinates of free points by position value, ``grid`` the spacing along each
    position. ``options`` are those of the function (``docs/geometry.md``).
    """

    function: Name
    check: Name
    along: tuple[Name, ...] = ()
    places: dict[Value, Point] | None = None
    grid: dict[Name, Written] | None = None
    options: dict[Name, Written] = {}


def read_how(written: Any) -> Any:
    """``{difference: runout, along: end}`` with function, check and options under their own names.

    ``sides: [600 mm, 400 mm]`` stands for the options ``side_1`` and ``side_2``.
    """
    if not isinstance(written, dict) or "function" in written:
        return written
    named = [key for key in written if key in FUNCTIONS]
    if len(named) != 1:
        raise PydanticCustomError("how", "exactly one function is expected, like {difference: runout}")
    rest = {key: value for key, value in written.items() if key != named[0] and key not in OPTIONS}
    options = {key: value for key, value in written.items() if key in OPTIONS}
    sides = rest.get("sides")
    if isinstance(sides, list) and len(sides) == 2:
        options |= {"side_1": sides[0], "side_2": sides[1]}
        del rest["sides"]
    if isinstance(along := rest.get("along"), str):
        rest["along"] = [along]
    return {
        "function": named[0],
        "check": written[named[0]],
        **rest,
        **({"options": options} if options else {}),
    }


KEYS: tuple[str, ...] = (*FUNCTIONS, "along", "places", "grid", "sides", *OPTIONS)
"""What may be written under ``how``."""

_POINT = {"type": "array", "minItems": 2, "maxItems": 2, "items": {"type": "string"}}
_HOW_SCHEMA = {
    "type": "object",
    "properties": {
        **{name: {"type": "string", "description": one.says} for name, one in FUNCTIONS.items()},
        "along": {"oneOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]},
        "places": {"type": "object", "additionalProperties": _POINT},
        "grid": {"type": "object", "additionalProperties": {"type": "string"}},
        "sides": _POINT,
        **{option: {"type": "string"} for option in OPTIONS},
    },
    "oneOf": [{"required": [name]} for name in FUNCTIONS],
    "additionalProperties": False,
}

WorkedOut = Annotated[How, BeforeValidator(read_how), WithJsonSchema(_HOW_SCHEMA)]
