"""Plan → views of operations and steps. The boxes enter the form in the order of the work."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from traveler.definition.plan import Operation, PackingItem, Slot, Step, StepKind
from traveler.sheets.adjust_text import adjust_text
from traveler.sheets.boxes import Form
from traveler.sheets.grid_view import GridMaker, GridView, position
from traveler.sheets.limit_text import LimitView, limit_view
from traveler.sheets.pictures import Picture
from traveler.sheets.step_view import Labelled, OperationView, PackedView, SignView, StepView, WriteRow
from traveler.sheets.words import Words


def _none(name: str, step: str) -> Picture | None:  # noqa: ARG001 - a sheet without pictures
    return None


@dataclass(slots=True)
class StepWriter:
    """Makes the views for one sheet: knows its form, words, acceptance limits (by check) and pictures."""

    form: Form
    say: Words
    acceptance: Mapping[str, str] = field(default_factory=dict)
    picture: Callable[[str, str], Picture | None] = _none

    def operation(self, operation: Operation) -> OperationView:
        """The view of one operation with all its steps."""
        minutes = self.say("{minutes} min", minutes=operation.minutes) if operation.minutes is not None else ""
        return OperationView(
            number=operation.number,
            title=operation.title,
            place=" · ".join(part for part in (operation.area, minutes) if part),
            continued=self.say("{number}  {title}, continued", number=operation.number, title=operation.title),
            cautions=operation.cautions,
            steps=tuple(self.step(step) for step in operation.steps),
            sign=self._sign(operation),
        )

    def step(self, step: Step) -> StepView:
        """The view of one step."""
        make: dict[StepKind, Callable[[Step], StepView]] = {
            StepKind.FIT: self._fit,
            StepKind.MEASURE: self._measure,
            StepKind.WORK_OUT: self._work_out,
            StepKind.WITNESS: self._witness,
            StepKind.PACK: self._pack,
            StepKind.COUNT: self._count,
        }
        return make.get(step.kind, self._tick)(step)

    def _view(
        self, step: Step, write: tuple[WriteRow, ...], *details: str, note: str | None = None, **more: Any  # noqa: ANN401
    ) -> StepView:
        lines = (*details, step.note if note is None else note)
        return StepView(
            id=step.id,
            number=step.number,
            details=tuple(line for line in lines if line),
            cautions=step.cautions,
            picture=self.picture(step.picture, step.id) if step.picture else None,
            write=write,
            **{"text": step.text, **more},
        )

    def _title(self, step: Step, slot: Slot | None = None) -> str:
        place = f", {position(slot)}" if slot is not None and slot.position else ""
        return f"{step.id} {step.text}{place}"

    def _initials(self, step: Step) -> Labelled:
        title = f"{self._title(step)}: {self.say('initials')}"
        return Labelled(self.form.box(f"{step.id}#by", title, "initials"), end=True)

    def _tick(self, step: Step) -> StepView:
        words = {StepKind.CONFIRM: self.say("yes"), StepKind.PHOTO: self.say("taken")}
        word = words.get(step.kind, self.say("done"))
        parts = " · ".join(f"{part.quantity} × {part.number} {part.title}" for part in step.parts)
        if step.axes:
            tables = GridMaker(step, self.form, self.say, self._title(step)).tables()
            return self._view(step, ((Labelled(None, word), self._initials(step)),), parts, grids=tables)
        ticks = [Labelled(self.form.box(slot.id, self._title(step), "tick"), word) for slot in step.slots]
        return self._view(step, ((*ticks, self._initials(step)),), parts)

    def _fit(self, step: Step) -> StepView:
        lot = step.trace == "lot"
        label = self.say("lot number") if lot else self.say("serial number")
        asked = self.say("Copy the lot number from the label.") if lot else self.say("Copy the serial from the part.")
        more = {"text": self.say("Fit: {part}", part=step.text), "part": step.part_number or ""}
        last = (Labelled(None, label), self._initials(step))
        if step.axes:
            tables = GridMaker(step, self.form, self.say, f"{self._title(step)}: {label}").tables()
            return self._view(step, (last,), asked, grids=tables, **more)
        wide = [(Labelled(self.form.box(slot.id, f"{self._title(step)}: {label}", "wide")),) for slot in step.slots]
        return self._view(step, (*wide, last), asked, **more)

    def _measure(self, step: Step) -> StepView:
        limits = limit_view(step.limits, self.acceptance.get(step.check or ""), self.say) if step.limits else None
        title = f"{self._title(step)}: {limits.text}" if limits else self._title(step)
        details = [step.gauge.title if step.gauge else "", step.note, *adjust_text(step.adjust, self.say)]
        if step.axes:
            gauge = self._gauge(step)
            tables = self._grid(step, title, limits)
            return self._view(step, (gauge,), *details, note="", limits=limits, grids=tables)
        rows = (*self._readings(step, title, limits.unit if limits else ""), self._gauge(step))
        return self._view(step, rows, *details, note="", limits=limits)

    def _grid(self, step: Step, title: str, limits: LimitView | None) -> tuple[GridView, ...]:
        text, unit = (limits.text, limits.unit) if limits else ("", "")
        return GridMaker(step, self.form, self.say, title, text, unit).tables()

    def _readings(self, step: Step, title: str, unit: str) -> list[WriteRow]:
        rows: list[WriteRow] = []
        for slot in step.slots:
            if step.adjust is not None:
                found = self.form.box(f"{slot.id}#found", f"{title}, {self.say('as found')}", "found")
                rows.append((Labelled(found, self.say("as found")),))
            rows.append((Labelled(self.form.box(slot.id, title, "reading"), unit),))
        return rows

    def _gauge(self, step: Step) -> WriteRow:
        title = f"{self._title(step)}: {self.say('gauge number')}"
        gauge = Labelled(self.form.box(f"{step.id}#gauge", title, "gauge"), self.say("gauge"))
        return (gauge, self._initials(step))

    def _work_out(self, step: Step) -> StepView:
        limits = limit_view(step.limits, self.acceptance.get(step.check or ""), self.say) if step.limits else None
        title = f"{self._title(step)}: {limits.text}" if limits else self._title(step)
        note = self.say("Worked out by the tool when the readings are recorded.")
        if step.axes:
            return self._view(step, (), note, limits=limits, grids=self._grid(step, title, limits))
        hint = self.say("worked out by the tool")
        boxes = [self.form.box(slot.id, f"{title} ({hint})", "reading", read_only=True) for slot in step.slots]
        return self._view(step, tuple((Labelled(box, limits.unit if limits else ""),) for box in boxes), note, limits=limits)

    def _witness(self, step: Step) -> StepView:
        role = self.say(step.role) if step.role else ""
        rows: list[WriteRow] = []
        for slot in step.slots:
            title = f"{self._title(step, slot)}: {role}"
            rows.append((Labelled(self.form.box(slot.id, title, "sign"), role),))
            when = self.form.box(f"{slot.id}#at", f"{title}, {self.say('date and time')}", "sign")
            rows.append((Labelled(when, self.say("date, time")),))
        waits = self.say("Work waits here until this is signed.")
        return self._view(step, tuple(rows), waits, stop=True)

    def _pack(self, step: Step) -> StepView:
        lines = []
        slots = {slot.id: slot for slot in step.slots}
        for item in step.packing:
            box = self.form.box(item.slot, f"{step.id} {item.item}", "tick") if item.slot in slots else None
            lines.append(packed(item, box))
        return self._view(step, ((Labelled(None, self.say("all in")), self._initials(step)),), packing=tuple(lines))

    def _count(self, step: Step) -> StepView:
        rows: list[WriteRow] = []
        for slot in step.slots:
            for name, word in ((slot.id, "good"), (f"{slot.id}#rework", "rework"), (f"{slot.id}#scrap", "scrap")):
                label = self.say(word)
                rows.append((Labelled(self.form.box(name, f"{self._title(step, slot)}: {label}", "reading"), label),))
        rows[-1:] = [(*rows[-1], self._initials(step))] if rows else [(self._initials(step),)]
        return self._view(step, tuple(rows))

    def _sign(self, operation: Operation) -> SignView | None:
        if operation.sign is None:
            return None
        slot = operation.sign
        role = self.say(slot.role) if slot.role else self.say("signed")
        title = self.say("operation {number} complete", number=operation.number)
        return SignView(
            text=self.say("Operation {number} complete, nothing open", number=operation.number),
            role=role,
            sign=self.form.box(slot.id, f"{title}: {role}", "sign"),
            when=self.form.box(f"{slot.id}#at", f"{title}: {self.say('date and time')}", "when"),
        )


def packed(item: PackingItem, box: Any = None) -> PackedView:  # noqa: ANN401
    """One line of a packing list."""
    return PackedView(item.item, item.number or "", item.quantity, item.mass or "", box)


