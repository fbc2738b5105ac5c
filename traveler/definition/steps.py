"""The steps of an operation, and what a check may say besides its limits: how to adjust, what to work out."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag, WithJsonSchema
from pydantic_core import PydanticCustomError

from traveler.definition.fields import At, Flag, Frozen, Name, Role, Text, Value, Whole, Written
from traveler.measure.geometry.functions import FUNCTIONS, OPTIONS

Point = tuple[Written, Written]
"""Coordinates; a number without a unit is in mm."""


class ScrewRule(Frozen):
    """One screw with a known effect: ``{screw: 1.25 mm, effect: 0.8 mm/turn, increases: clockwise}``.

    ``screw`` is the pitch, ``effect`` how far one turn moves the reading, ``increases`` the direction
    that makes the reading larger.
    """

    word: ClassVar[str] = "screw"
    screw: Written
    effect: Written
    increases: Text
    say: Text | None = None


class LevelRule(Frozen):
    """Leveling feet: ``{level: feet, pitch: 1.5 mm, places: {A: [0, 0], B: [600, 0], ...}}``.

    ``level`` names the position of the check whose values are the feet, or says what they are called;
    ``raises`` is the direction of turning that lifts the machine; ``fixed`` a foot that stays as it is.
    """

    word: ClassVar[str] = "level"
    level: Written
    pitch: Written
    places: dict[Value, Point] = Field(min_length=3)
    raises: Text | None = None
    fixed: Value | None = None
    say: Text | None = None


class LearnRule(Frozen):
    """The effect is learned from two readings with the adjustment noted: ``{learn: true, by: turn}``."""

    word: ClassVar[str] = "learn"
    learn: Flag
    by: Written | None = None
    say: Text | None = None


class BendRule(Frozen):
    """An angle bent over or under: correct by the deviation times a plain gain, ``{bend: 0.9}``."""

    word: ClassVar[str] = "bend"
    bend: Written
    say: Text | None = None


def _which(written: Any) -> str | None:
    if isinstance(written, str):
        return "a sentence"
    if not isinstance(written, dict):
        return f"a {written.word} rule" if hasattr(written, "word") else None
    keys = set(written)
    rule = next((f"a {key} rule" for key in ("screw", "level", "learn", "bend") if key in keys), None)
    by_language = keys and all(len(key) == 2 for key in keys) and keys != {"by"}
    return rule or ("a sentence" if by_language else None)


Adjust = Annotated[
    Annotated[Text, Tag("a sentence")]
    | Annotated[ScrewRule, Tag("a screw rule")]
    | Annotated[LevelRule, Tag("a level rule")]
    | Annotated[LearnRule, Tag("a learn rule")]
    | Annotated[BendRule, Tag("a bend rule")],
    Discriminator(
        _which,
        custom_error_type="adjust",
        custom_error_message="a sentence, or a rule with one of screw, level, learn, bend is expected",
    ),
]


class How(Frozen):
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
        **{name: {"type": "string", "description": function.says} for name, function in FUNCTIONS.items()},
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


Signal = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
CautionLine = Annotated[dict[Signal, Text], Field(min_length=1, max_length=1)]
"""``WARNING: Frame weighs 31 kg.`` with a signal word as in ANSI Z535 / ISO 3864."""


class Part(Frozen):
    """A part to fetch; nothing is recorded about it. ``quantity`` is a number or a variable."""

    number: Written
    title: Text
    quantity: Written = "1"


class AnyStep(Frozen):
    """What every step may say."""

    word: ClassVar[str] = ""

    id: Name | None = None
    note: Text | None = None
    cautions: tuple[CautionLine, ...] = ()
    picture: Written | None = None
    parts: tuple[Part, ...] = ()
    at: At = ()
    only_for: tuple[Value, ...] = ()
    only_with: tuple[Name, ...] = ()
    by: Role | None = None

    @property
    def text(self) -> str | dict[str, str]:
        """What the step says after its first word."""
        text: str | dict[str, str] = getattr(self, self.word)
        return text


class DoStep(AnyStep):
    """Something to do; ticked."""

    word: ClassVar[str] = "do"
    do: Text


class FitStep(AnyStep):
    """A part goes in whose serial or lot is kept."""

    word: ClassVar[str] = "fit"
    fit: Text
    number: Written
    trace: Literal["serial", "lot"]


class OnPieces(AnyStep):
    """What a check in a lot may say: on the first piece before the run, or on every n-th piece."""

    first_piece: Flag | None = None
    every: Whole | None = None


class JudgedStep(OnPieces):
    """A check whose value is judged against limits."""

    limits: Written
    adjust: Adjust | None = None
    decision_rule: Literal["simple", "guarded"] | None = None
    rounding: Literal["absolute", "rounding"] | None = None


class MeasureStep(JudgedStep):
    """A reading against limits."""

    word: ClassVar[str] = "measure"
    measure: Text
    gauge: Name | None = None


class WorkOutStep(JudgedStep):
    """A value worked out from readings, against limits."""

    word: ClassVar[str] = "work_out"
    work_out: Text
    how: WorkedOut


class ConfirmStep(OnPieces):
    """A statement that is looked at and is true."""

    word: ClassVar[str] = "confirm"
    confirm: Text


class WitnessStep(AnyStep):
    """A hold point: work stops until somebody with the role ``by`` signs."""

    word: ClassVar[str] = "witness"
    witness: Text
    by: Role


class PhotoStep(AnyStep):
    """A photograph."""

    word: ClassVar[str] = "photo"
    photo: Text


class CountStep(AnyStep):
    """Good, rework and scrap of a lot are counted."""

    word: ClassVar[str] = "count"
    count: Text


class PackStep(AnyStep):
    """Where the packing list is ticked off; without one, it comes after the last crating step."""

    word: ClassVar[str] = "pack"
    pack: Text


class AgainStep(AnyStep):
    """A check of an earlier step is repeated; ``at`` says at which of its positions, all without it."""

    word: ClassVar[str] = "again"
    again: Name


KINDS: tuple[type[AnyStep], ...] = (
    DoStep, FitStep, MeasureStep, WorkOutStep, ConfirmStep, WitnessStep, PhotoStep, CountStep, PackStep,
    AgainStep,
)  # fmt: skip
WORDS: tuple[str, ...] = tuple(kind.word for kind in KINDS)


def word_of(written: Any) -> str | None:
    """The word that says what a step is; None if there is none."""
    if isinstance(written, AnyStep):
        return _tag(written.word)
    keys = written if isinstance(written, dict) else {}
    return next((_tag(word) for word in WORDS if word in keys), None)


def _tag(word: str) -> str:
    return f"{'an' if word == 'again' else 'a'} {word} step"


Step = Annotated[
    Annotated[DoStep, Tag("a do step")]
    | Annotated[FitStep, Tag("a fit step")]
    | Annotated[MeasureStep, Tag("a measure step")]
    | Annotated[WorkOutStep, Tag("a work_out step")]
    | Annotated[ConfirmStep, Tag("a confirm step")]
    | Annotated[WitnessStep, Tag("a witness step")]
    | Annotated[PhotoStep, Tag("a photo step")]
    | Annotated[CountStep, Tag("a count step")]
    | Annotated[PackStep, Tag("a pack step")]
    | Annotated[AgainStep, Tag("an again step")],
    Discriminator(
        word_of, custom_error_type="step", custom_error_message="a step starts with one of its words"
    ),
]
