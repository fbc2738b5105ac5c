"""What the floor of the demonstration writes: a plausible result for every slot, as CSV or in a PDF."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction

from traveler.definition.plan import Operation, Plan, Slot, SlotKind, Step
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import format_number
from traveler.measure.quantity import parse_quantity
from traveler.shop.gauges import GaugeRegister

WHO = {"Q": "iwren", "C": "pstrap"}
"""Operation → who works on it; the builder does the others."""

ROLES = {
    "electrician": "evolt",
    "inspector": "iwren",
    "machinist": "mchip",
    "packer": "pstrap",
    "quality": "qmoor",
}

SCATTER = (0, 1, -1, 2, -2, 1, 0, -1)
"""How far readings lie from the middle, in steps of the gauge: real readings scatter."""

MINUTES = 2
"""Between one box and the next."""


@dataclass(frozen=True, slots=True)
class Filling:
    """What is written into one slot. ``value`` carries no unit; ``unit`` is that of the limits."""

    slot: Slot
    value: str
    by: str
    at: datetime
    unit: str = ""
    gauge: str = ""
    as_found: bool = False


@dataclass(frozen=True, slots=True)
class Floor:
    """Who builds a unit with which gauges; ``parts`` is where the serials of its bought parts begin.

    ``pieces`` is the quantity of a lot; every piece of it comes out good.
    """

    gauges: GaugeRegister
    builder: str
    parts: int = 4100
    pieces: int = 1

    def fillings(
        self, plan: Plan, start: datetime, operations: Iterable[str] | None = None
    ) -> tuple[Filling, ...]:
        """A good result for every slot of these operations (default: all but the crating), minutes apart."""
        numbers = [operation.number for operation in plan.operations]
        wanted = [number for number in numbers if number != "C"] if operations is None else list(operations)
        chosen = (operation for operation in plan.operations if operation.number in wanted)
        made = (filled for operation in chosen for filled in self._operation(operation))
        return tuple(
            replace(filling, at=start + timedelta(minutes=MINUTES * n)) for n, filling in enumerate(made)
        )

    def _operation(self, operation: Operation) -> Iterator[Filling]:
        who = WHO.get(operation.number, self.builder)
        for step in operation.steps:
            gauge = _gauge(step, self.gauges)
            for number, slot in enumerate(slot for slot in step.slots if slot.kind is not SlotKind.WORKED):
                by = ROLES.get(slot.role or step.role or "", who)
                if slot.kind is SlotKind.READING and step.limits is not None:
                    value, unit = good_reading(step, self.gauges, number), step.limits.unit
                    yield Filling(slot, value, by, _NO_TIME, unit, gauge)
                else:
                    yield Filling(slot, self._said(slot, step, number, by), by, _NO_TIME)
        if operation.sign is not None:
            signer = ROLES.get(operation.sign.role or "", who)
            yield Filling(operation.sign, signer, signer, _NO_TIME)

    def _said(self, slot: Slot, step: Step, number: int, by: str) -> str:
        """What is written where nothing is measured."""
        part = step.part_number or "PART"
        lot, serial = f"{part}/77", f"{part}/{self.parts + number}"
        return {
            SlotKind.WITNESS: by,
            SlotKind.PHOTO: "crate.jpg",
            SlotKind.PART: lot if step.trace == "lot" else serial,
            SlotKind.COUNT: str(self.pieces),
        }.get(slot.kind, "yes")


_NO_TIME = datetime.min.replace(tzinfo=UTC)


def good_reading(step: Step, gauges: GaugeRegister, number: int) -> str:
    """A reading well inside the limits, in steps of the gauge; ``number`` moves it about."""
    if step.limits is None:
        return ""
    limits = parse_limits(step.limits.text)
    size, decimals = _resolution(step, gauges, limits)
    middle, room = _room(limits)
    steps = int(room / 2 / size)
    move = max(-steps, min(steps, SCATTER[number % len(SCATTER)]))
    return format_number((round(middle / size) + move) * size, decimals)


def _room(limits: Limits) -> tuple[Fraction, Fraction]:
    """Where readings lie, and how far from there to the nearer limit."""
    lower, upper = limits.lower, limits.upper
    if lower is not None and upper is not None:
        return (lower + upper) / 2, (upper - lower) / 2
    bound = upper if upper is not None else lower
    if bound is None:
        return Fraction(0), Fraction(0)
    middle = bound * (Fraction(3, 4) if upper is not None else Fraction(6, 5))
    return middle, abs(bound - middle)


def _resolution(step: Step, gauges: GaugeRegister, limits: Limits) -> tuple[Fraction, int]:
    register = gauges.get(_gauge(step, gauges))
    text = (register.resolution if register is not None else None) or (step.gauge and step.gauge.resolution)
    if not text:
        return Fraction(1, 10**limits.decimals), limits.decimals
    resolution = parse_quantity(text)
    return resolution.to(limits.unit).value, resolution.decimals


def _gauge(step: Step, gauges: GaugeRegister) -> str:
    kind = step.gauge.kind if step.gauge is not None else None
    return next((gauge.id for gauge in gauges.gauges if gauge.kind == kind), "")


def as_csv(filled: Iterable[Filling], serial: str, plan: Plan) -> bytes:
    """The results as somebody types them into the blank with a spreadsheet; times in the zone they carry."""
    text = io.StringIO()
    writer = csv.writer(text)
    for name, value in (("serial", serial), ("revision", plan.revision), ("digest", plan.digest)):
        writer.writerow([f"# {name}: {value}"])
    writer.writerow(("slot", "value", "unit", "gauge", "by", "at", "as_found"))
    for filling in filled:
        at, found = f"{filling.at:%Y-%m-%d %H:%M}", "yes" if filling.as_found else ""
        writer.writerow([filling.slot.id, filling.value, filling.unit, filling.gauge, filling.by, at, found])
    return text.getvalue().encode()


def into_pdf(traveler: bytes, filled: Iterable[Filling]) -> bytes:
    """The traveler with its boxes filled in, as a PDF program on a tablet saves it.

    Raises:
        KeyError: the traveler has no box for a slot.
    """
    import pikepdf

    boxes = as_boxes(filled)
    with pikepdf.open(io.BytesIO(traveler)) as pdf:
        left = dict(boxes)
        for field in pdf.Root.AcroForm.Fields:
            name = str(field.get("/T", ""))
            if name in left:
                value = left.pop(name)
                field.V = pikepdf.Name.on if field.get("/FT") == "/Btn" else pikepdf.String(value)
                if field.get("/FT") == "/Btn":
                    field.AS = pikepdf.Name.on
        if left:
            raise KeyError(sorted(left))
        saved = io.BytesIO()
        pdf.save(saved)
        return saved.getvalue()


def as_boxes(filled: Iterable[Filling]) -> dict[str, str]:
    """Box → what is written in it: values by slot, gauges and initials by step, times by signature."""
    boxes: dict[str, str] = {}
    for filling in filled:
        step = filling.slot.id.split("/")[0]
        found = "#found" if filling.as_found else ""
        boxes[f"{filling.slot.id}{found}"] = filling.value
        if filling.gauge:
            boxes[f"{step}#gauge"] = filling.gauge
        if filling.slot.kind in (SlotKind.SIGN, SlotKind.WITNESS):
            boxes[f"{filling.slot.id}#at"] = f"{filling.at:%Y-%m-%d %H:%M}"
        else:
            boxes[f"{step}#by"] = filling.by
    return boxes
