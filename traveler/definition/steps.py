"""The steps of an operation. Which kind a step is, is said by the first word it is written with."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag

from traveler.definition.positions import At
from traveler.definition.rules import Adjust, WorkedOut
from traveler.definition.words import Flag, Name, Role, Text, Value, Whole, Written

Signal = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
CautionLine = Annotated[dict[Signal, Text], Field(min_length=1, max_length=1)]
"""``WARNING: Frame weighs 31 kg.`` with a signal word as in ANSI Z535 / ISO 3864."""


class Part(BaseModel):
    """A part to fetch; nothing is recorded about it. ``quantity`` is a number or a variable."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    number: Written
    title: Text
    quantity: Written = "1"


class AnyStep(BaseModel):
    """What every step may say."""

    model_config = ConfigDict(frozen=True, extra="forbid")
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
        said: str | dict[str, str] = getattr(self, self.word)
        return said


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


class MeasureStep(OnPieces):
    """A reading against limits."""

    word: ClassVar[str] = "measure"
    measure: Text
    limits: Written
    gauge: Name | None = None
    adjust: Adjust | None = None
    decision_rule: Literal["simple", "guarded"] | None = None
    rounding: Literal["absolute", "rounding"] | None = None


class WorkOutStep(OnPieces):
    """A value worked out from readings, against limits."""

    word: ClassVar[str] = "work_out"
    work_out: Text
    how: WorkedOut
    limits: Written
    adjust: Adjust | None = None
    decision_rule: Literal["simple", "guarded"] | None = None
    rounding: Literal["absolute", "rounding"] | None = None


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
