"""The plan: a definition expanded for one variant, with every slot.

A slot is one place where the floor can write. Its id is the box on the paper, the form field in the PDF,
the row of an import file, the key of an entry and the line in the verdict.

Slot ids: ``OPERATION-STEP``, then ``/position=value,position=value`` where a check is repeated
(``30-2/spindle=3,end=far``); ``OPERATION/sign`` for the signature that closes an operation; packing
items are ``C-5/item=2``. Letters, digits and ``-/=,_`` only, never a period (PDF form names reserve it).

A sheet may give a slot more than one box. The further boxes are named after the slot they write to, with a
last part after ``#``: ``30-2/spindle=3#found`` (as-found reading), ``30-2#gauge`` (gauge used for the
whole step), ``30-2#by`` (initials for the step), ``30/sign#at`` (date and time of a signature).
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from functools import cached_property

from traveler.definition.fields import CRATING, Frozen


class SlotKind(StrEnum):
    """What is written into a slot."""

    TICK = "tick"
    READING = "reading"
    WORKED = "worked"
    PART = "part"
    CONFIRM = "confirm"
    WITNESS = "witness"
    SIGN = "sign"
    PHOTO = "photo"
    PACKED = "packed"
    COUNT = "count"


class StepKind(StrEnum):
    """What a step asks for; the word the definition uses for it."""

    DO = "do"
    FIT = "fit"
    MEASURE = "measure"
    WORK_OUT = "work_out"
    CONFIRM = "confirm"
    WITNESS = "witness"
    PHOTO = "photo"
    PACK = "pack"
    COUNT = "count"


class PlanLimits(Frozen):
    """Limits of a check: the text rules (``traveler.measure.limits`` reads it), the rest explains it.

    ``text`` is complete: ``expected`` and variables are already replaced by their numbers. ``lower``,
    ``upper`` and ``nominal`` are exact numbers as text in ``unit``; None where there is no such limit.
    """

    text: str
    unit: str
    lower: str | None = None
    upper: str | None = None
    nominal: str | None = None
    decimals: int = 0


class Caution(Frozen):
    """A signal word (DANGER, WARNING, CAUTION, NOTICE as in ANSI Z535 / ISO 3864) and its sentence."""

    signal: str
    text: str


class PartLine(Frozen):
    """A part to fetch for a step; nothing is recorded about it. ``quantity`` is a number as text."""

    number: str
    title: str
    quantity: str = "1"


class GaugeNeed(Frozen):
    """The kind of gauge a check needs."""

    kind: str
    title: str
    resolution: str | None = None


class Adjustment(Frozen):
    """How to bring a reading in: a sentence, or a rule whose advice the tool computes.

    ``rule`` is ``text``, ``screw``, ``level``, ``learn`` or ``bend``; ``values`` holds its numbers as
    written in the definition (each with its unit), ``places`` the coordinates of the feet as written (a
    number without a unit is in mm). Keys of ``values``: screw: ``screw`` (pitch), ``effect`` (reading per
    turn), ``increases`` (direction); level: ``level`` (the position whose values are the feet), ``pitch``,
    perhaps ``raises`` and ``fixed``; learn: perhaps ``by`` (what the adjustment is counted in); bend:
    ``bend`` (gain). ``text`` is a sentence beside the rule.
    """

    rule: str
    text: str = ""
    values: dict[str, str] = {}
    places: dict[str, tuple[str, str]] = {}


class WorkOut(Frozen):
    """A value worked out from readings: a named function, the check it reads, the position it runs along.

    ``along`` None: over all positions; several positions are joined by commas. ``coordinates`` are keyed by
    the values of these positions, joined by commas (``A``, ``2,3``); a number without a unit is in mm.
    ``options`` are those of the function (``traveler/measure/geometry/functions.py``).
    """

    function: str
    check: str
    along: str | None = None
    options: dict[str, str] = {}
    coordinates: dict[str, tuple[str, str]] = {}


class Axis(Frozen):
    """One position of a repeated check and the values it takes, in printing order."""

    name: str
    values: tuple[str, ...]


def where_text(position: tuple[tuple[str, str], ...]) -> str:
    """Where a repeated check is read: ``spindle 3, end far``."""
    return ", ".join(f"{name} {value}" for name, value in position)


def where_key(position: tuple[tuple[str, str], ...]) -> str:
    """The same as in slot ids: ``spindle=3,end=far``."""
    return ",".join(f"{name}={value}" for name, value in position)


class Slot(Frozen):
    """One place where the floor can write."""

    id: str
    kind: SlotKind
    label: str
    position: tuple[tuple[str, str], ...] = ()
    role: str | None = None
    """Who may write here; None: everybody who may do the operation."""
    repeats: str | None = None
    """For ``again:``: the slot that was measured first."""
    inputs: tuple[str, ...] = ()
    """For a worked-out slot: the slots whose accepted readings it is worked out from."""

    @property
    def position_text(self) -> str:
        """The position in words; empty where the check is not repeated."""
        return where_text(self.position)


class Step(Frozen):
    """One step with its slots. ``number`` counts from 1 within the operation; ``id`` is ``30-2``."""

    id: str
    number: int
    kind: StepKind
    text: str
    note: str = ""
    check: str | None = None
    cautions: tuple[Caution, ...] = ()
    picture: str | None = None
    parts: tuple[PartLine, ...] = ()
    limits: PlanLimits | None = None
    rule: str | None = None
    """Decision rule of this check, ``simple`` or ``guarded``; None: the shop's."""
    rounding: str | None = None
    """How a reading is compared, ``absolute`` or ``rounding`` (ASTM E29); None: the shop's."""
    gauge: GaugeNeed | None = None
    adjust: Adjustment | None = None
    how: WorkOut | None = None
    trace: str | None = None
    """For ``fit``: ``serial`` or ``lot``."""
    part_number: str | None = None
    role: str | None = None
    """For ``witness``: whose signature work waits for."""
    axes: tuple[Axis, ...] = ()
    packing: tuple[PackingItem, ...] = ()
    first_piece: bool = False
    every: int | None = None
    slots: tuple[Slot, ...] = ()


class PackingItem(Frozen):
    """One line of the packing list; quantity and mass as text, mass of one piece with its unit."""

    slot: str
    item: str
    quantity: str
    mass: str | None = None
    number: str | None = None


class Operation(Frozen):
    """One operation. ``number`` is ``10``, ``20`` ... or ``Q`` (final checklist) or ``C`` (crating)."""

    number: str
    title: str
    area: str = ""
    minutes: int | None = None
    cautions: tuple[Caution, ...] = ()
    steps: tuple[Step, ...] = ()
    sign: Slot | None = None
    counts: bool = False

    def slots(self) -> Iterator[Slot]:
        """Every slot in the order of the work, the closing signature last."""
        for step in self.steps:
            yield from step.slots
        if self.sign is not None:
            yield self.sign


class Crate(Frozen):
    """The crate: sizes and masses as written, whether the wood needs a treatment mark (ISPM 15)."""

    title: str
    inside: str | None = None
    empty_mass: str | None = None
    wood_mark: str | None = None
    gross_mass: str | None = None
    """Expected gross mass, worked out from variant, crate and packing list."""


class Plan(Frozen):
    """One variant of one revision of one product, as an ordered list of operations.

    Dates are ISO 8601 text. ``digest`` is that of the definition (SHA-256, hex), not of the plan.
    """

    format: int = 1
    product: str
    title: str
    revision: str
    revised: str
    change: str = ""
    approved_by: str
    digest: str
    track: str = "serial"
    variant: str
    variant_title: str = ""
    mass: str | None = None
    gtin: str | None = None
    options: tuple[str, ...] = ()
    """Titles of the options ordered."""
    language: str = "en"
    variables: dict[str, str] = {}
    names: dict[str, str] = {}
    """What positions, values of them and variables are called on sheets, where not by their own name."""
    operations: tuple[Operation, ...]
    crate: Crate | None = None
    marks: tuple[str, ...] = ()
    arrival_check: tuple[str, ...] = ()

    def slots(self) -> Iterator[Slot]:
        """Every slot of the plan in the order of the work."""
        for operation in self.operations:
            yield from operation.slots()

    def steps(self) -> Iterator[Step]:
        """Every step of the plan in the order of the work."""
        for operation in self.operations:
            yield from operation.steps

    @cached_property
    def has_crating(self) -> bool:
        """Whether it is crated at all; what is not goes from its release into stock or to the customer."""
        return any(operation.number == CRATING for operation in self.operations)

    @cached_property
    def by_slot(self) -> dict[str, Slot]:
        """Slot id → slot."""
        return {slot.id: slot for slot in self.slots()}

    @cached_property
    def step_of(self) -> dict[str, Step]:
        """Slot id → the step it belongs to; signatures of operations belong to none."""
        return {slot.id: step for step in self.steps() for slot in step.slots}

    @cached_property
    def operation_of(self) -> dict[str, Operation]:
        """Slot id → the operation it belongs to."""
        return {slot.id: operation for operation in self.operations for slot in operation.slots()}

    def part_number(self, slot: str | None, named: str | None) -> str | None:
        """The number of the part fitted in a slot: the one named with it, else that of the step."""
        step = self.step_of.get(slot or "")
        return named or (step.part_number if step is not None else None)

    def check(self, check: str) -> Step | None:
        """The step that measures or works out the check of this id."""
        return next((step for step in self.steps() if step.check == check), None)


Step.model_rebuild()
