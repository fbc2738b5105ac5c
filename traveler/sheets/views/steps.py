"""Operations and their steps as views. The boxes enter the form in the order of the work."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from traveler.definition.plan import Caution, Operation, PackingItem, Slot, Step, StepKind
from traveler.sheets.pdf import fonts
from traveler.sheets.pdf.fonts import CUT, Space
from traveler.sheets.pictures import StepPicture
from traveler.sheets.templates import templates
from traveler.sheets.views.boxes import Box, Form, Shape
from traveler.sheets.views.grid import GridMaker, GridView, position, runs_over
from traveler.sheets.views.limits import LimitView, adjust_text, limit_view
from traveler.sheets.words import Words, operation_title, step_text, translated


@dataclass(frozen=True, slots=True)
class LabeledBox:
    """A box and the word beside it.

    Without a box the word stands alone, ``end`` puts it at the right edge.
    """

    box: Box | None
    label: str = ""
    end: bool = False


WriteRow = tuple[LabeledBox, ...]
"""Boxes side by side in the gray column."""


@dataclass(frozen=True, slots=True)
class PackedView:
    """One line of the packing list with its tick box."""

    item: str
    number: str
    quantity: str
    mass: str
    box: Box | None


@dataclass(frozen=True, slots=True)
class StepView:
    """One step. ``write`` holds the rows of boxes for the gray column on the right."""

    id: str
    number: int
    text: str
    part: str = ""
    limits: LimitView | None = None
    details: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    stop: bool = False
    picture: StepPicture | None = None
    write: tuple[WriteRow, ...] = ()
    grids: tuple[GridView, ...] = ()
    packing: tuple[PackedView, ...] = ()
    breaks: bool = False
    """Whether it may run over a page, between its tables."""


@dataclass(frozen=True, slots=True)
class SignView:
    """The line that closes an operation."""

    text: str
    role: str
    sign: Box
    when: Box


@dataclass(frozen=True, slots=True)
class OperationView:
    """One operation. ``continued`` heads the pages it runs over to."""

    number: str
    title: str
    place: str
    continued: str
    cautions: tuple[Caution, ...]
    steps: tuple[StepView, ...]
    sign: SignView | None


def _none(name: str, step: str) -> StepPicture | None:  # noqa: ARG001 - a sheet without pictures
    return None


@dataclass(frozen=True, slots=True)
class StepWriter:
    """Makes the views for one sheet: knows its form, words, acceptance limits (by check) and pictures."""

    form: Form
    say: Words
    acceptance: Mapping[str, str] = field(default_factory=dict)
    picture: Callable[[str, str], StepPicture | None] = _none

    def view(self, step: Step) -> StepView:
        """The view of one step."""
        make: dict[StepKind, Callable[[Step], StepView]] = {
            StepKind.FIT: self._fit,
            StepKind.MEASURE: self._measure,
            StepKind.WORK_OUT: self._work_out,
            StepKind.WITNESS: self._witness,
            StepKind.PACK: self._pack,
            StepKind.COUNT: self._count,
        }
        step = step.model_copy(update={"text": step_text(step, self.say)})
        view = make.get(step.kind, self._tick)(step)
        picture = self.picture(step.picture, step.id) if step.picture else None
        details = (*view.details, *self._pieces(step))
        return replace(view, details=details, cautions=step.cautions, picture=picture, breaks=runs_over(step))

    def _pieces(self, step: Step) -> tuple[str, ...]:
        """Which pieces of a lot a step is done on."""
        if step.every is not None:
            return (self.say("On one piece in {count}.", count=step.every),)
        return (self.say("On the first piece, before the run."),) if step.first_piece else ()

    def _view(self, step: Step, write: tuple[WriteRow, ...], *details: str) -> StepView:
        lines = tuple(line for line in details if line)
        return StepView(id=step.id, number=step.number, text=step.text, details=lines, write=write)

    def _box(self, step: Step, name: str, shape: Shape, *words: str) -> Box:
        return self.form.box(name, ": ".join((f"{step.id} {step.text}", *words)), shape)

    def _initials(self, step: Step) -> LabeledBox:
        return LabeledBox(self._box(step, f"{step.id}#by", "initials", self.say("initials")), end=True)

    def _tick(self, step: Step) -> StepView:
        words = {StepKind.CONFIRM: self.say("yes"), StepKind.PHOTO: self.say("taken")}
        word = words.get(step.kind, self.say("done"))
        parts = " · ".join(f"{part.quantity}\u00a0×\u00a0{part.number} {part.title}" for part in step.parts)
        if step.axes:
            view = self._view(step, ((LabeledBox(None, word), self._initials(step)),), parts, step.note)
            return replace(view, grids=self._grid(step, step.text, None))
        ticks = [LabeledBox(self._box(step, slot.id, "tick"), word) for slot in step.slots]
        return self._view(step, ((*ticks, self._initials(step)),), parts, step.note)

    def _fit(self, step: Step) -> StepView:
        lot = step.trace == "lot"
        label = self.say("lot number") if lot else self.say("serial number")
        asked = (
            self.say("Copy the lot number from the label.")
            if lot
            else self.say("Copy the serial number from the part.")
        )
        last = (LabeledBox(None, label), self._initials(step))
        text, part = self.say("Fit: {part}", part=step.text), step.part_number or ""
        if step.axes:
            view = self._view(step, (last,), asked, step.note)
            return replace(view, text=text, part=part, grids=self._grid(step, f"{step.text}: {label}", None))
        wide = [(LabeledBox(self._box(step, slot.id, "wide", label)),) for slot in step.slots]
        return replace(self._view(step, (*wide, last), asked, step.note), text=text, part=part)

    def _measure(self, step: Step) -> StepView:
        limits = self._limits(step)
        details = (step.gauge.title if step.gauge else "", step.note, *adjust_text(step.adjust, self.say))
        if step.axes:
            view = self._view(step, (self._gauge(step),), *details)
            return replace(view, limits=limits, grids=self._grid(step, step.text, limits))
        rows = [
            self._reading(step, slot, limits, found=found)
            for slot in step.slots
            for found in self._turns(step)
        ]
        return replace(self._view(step, (*rows, self._gauge(step)), *details), limits=limits)

    def _limits(self, step: Step) -> LimitView | None:
        return (
            limit_view(step.limits, self.acceptance.get(step.check or ""), self.say) if step.limits else None
        )

    def _turns(self, step: Step) -> tuple[bool, ...]:
        """An as-found box comes before the box that counts, where the check can be adjusted."""
        return (True, False) if step.adjust is not None else (False,)

    def _reading(self, step: Step, slot: Slot, limits: LimitView | None, *, found: bool) -> WriteRow:
        words = [limits.text] if limits else []
        if found:
            label = self.say("as found")
            return (LabeledBox(self._box(step, f"{slot.id}#found", "found", *words, label), label),)
        return (LabeledBox(self._box(step, slot.id, "reading", *words), limits.unit if limits else ""),)

    def _gauge(self, step: Step) -> WriteRow:
        gauge = self._box(step, f"{step.id}#gauge", "gauge", self.say("gauge number"))
        return (LabeledBox(gauge, self.say("gauge")), self._initials(step))

    def _grid(self, step: Step, title: str, limits: LimitView | None) -> tuple[GridView, ...]:
        text, unit = (limits.text, limits.unit) if limits else ("", "")
        words = ": ".join(part for part in (f"{step.id} {title}", text) if part)
        return GridMaker(step, self.form, self.say, words, text, unit).tables()

    def _work_out(self, step: Step) -> StepView:
        limits = self._limits(step)
        note = self.say("Calculated by the tool when the readings are recorded.")
        if step.axes:
            grid = self._grid(step, step.text, limits)
            return replace(self._view(step, (), note, step.note), limits=limits, grids=grid)
        hint, unit = self.say("calculated by the tool"), limits.unit if limits else ""
        words = f"{step.id} {step.text} ({hint})"
        boxes = [self.form.box(slot.id, words, "reading", read_only=True) for slot in step.slots]
        rows = [(LabeledBox(box, unit),) for box in boxes]
        return replace(self._view(step, tuple(rows), note, step.note), limits=limits)

    def _witness(self, step: Step) -> StepView:
        role, when = translated(step.role or "", self.say), self.say("date and time")
        rows: list[WriteRow] = []
        for slot in step.slots:
            where = position(slot, self.say)
            label = ", ".join(part for part in (role, where) if part)
            rows.append((LabeledBox(self._box(step, slot.id, "sign", label), label),))
            rows.append(
                (LabeledBox(self._box(step, f"{slot.id}#at", "sign", where, when), self.say("date, time")),)
            )
        waits = self.say("Do not continue until this is signed.")
        return replace(self._view(step, tuple(rows), waits, step.note), stop=True)

    def _pack(self, step: Step) -> StepView:
        slots = {slot.id for slot in step.slots}
        lines = tuple(
            packed(item, self._box(step, item.slot, "tick", item.item) if item.slot in slots else None)
            for item in step.packing
        )
        row = (LabeledBox(None, self.say("all packed")), self._initials(step))
        return replace(self._view(step, (row,), step.note), packing=lines)

    def _count(self, step: Step) -> StepView:
        rows: list[WriteRow] = []
        for slot in step.slots:
            for name, word in (
                (slot.id, "good"),
                (f"{slot.id}#rework", "rework"),
                (f"{slot.id}#scrap", "scrap"),
            ):
                label = translated(word, self.say)
                rows.append((LabeledBox(self._box(step, name, "reading", label), label),))
        rows.append((LabeledBox(None, self.say("pieces")), self._initials(step)))
        return self._view(step, tuple(rows), step.note)


def packed(item: PackingItem, box: Box | None) -> PackedView:
    """One line of a packing list."""
    return PackedView(item.item, item.number or "", item.quantity, item.mass or "", box)


CONTINUED_MM = 174.0
"""Width free for the line of a continued operation, a little on the safe side."""


def operation_view(operation: Operation, writer: StepWriter) -> OperationView:
    """The view of one operation with all its steps."""
    say = writer.say
    title = operation_title(operation, say)
    minutes = "" if operation.minutes is None else say("{minutes}\u00a0min", minutes=operation.minutes)
    return OperationView(
        number=operation.number,
        title=title,
        place=" · ".join(part for part in (operation_place(operation, say), minutes) if part),
        continued=continued(operation.number, title, say),
        cautions=operation.cautions,
        steps=tuple(writer.view(step) for step in operation.steps),
        sign=sign_view(operation, writer),
    )


def continued(number: str, title: str, say: Words) -> str:
    """The line that heads the pages an operation runs over to; a title that is too long is cut."""
    line, kept, space = (
        say("{number}  {title}, continued", number=number, title=title),
        title,
        continued_line(),
    )
    while len(kept) > 1 and not space.fits(line):
        kept = kept.removesuffix(CUT)[:-1].rstrip() + CUT
        line = say("{number}  {title}, continued", number=number, title=kept)
    return line


def continued_line() -> Space:
    """The space of that line."""
    return Space(fonts.font_face(fonts.SANS_BOLD, templates()), 11, CONTINUED_MM, 1)


def operation_place(operation: Operation, say: Words) -> str:
    """Where it is done; crating says too that it waits for the release."""
    waits = say("after release only") if operation.number == "C" else ""
    return " · ".join(part for part in (operation.area, waits) if part)


def sign_view(operation: Operation, writer: StepWriter) -> SignView | None:
    """The line that closes an operation, or None where nobody signs."""
    slot, say = operation.sign, writer.say
    if slot is None:
        return None
    role = translated(slot.role, say) if slot.role else say("signed")
    title, when = say("operation {number} complete", number=operation.number), say("date and time")
    return SignView(
        text=say("Operation {number} complete, no open items", number=operation.number),
        role=role,
        sign=writer.form.box(slot.id, f"{title}: {role}", "sign"),
        when=writer.form.box(f"{slot.id}#at", f"{title}: {when}", "when"),
    )
