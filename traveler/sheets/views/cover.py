"""View model of a traveler's cover: identity, routing, what to fetch first, the log of stops."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from traveler.definition.mass import lifted_alone, too_heavy
from traveler.definition.plan import Caution, Operation, Plan, StepKind
from traveler.measure.number import Unreadable, exact_text, parse_number
from traveler.sheets.pictures import StepPicture
from traveler.sheets.sheet import Printing, UnitHeader
from traveler.sheets.views.boxes import Box, Form
from traveler.sheets.views.head import IdentityView, identity
from traveler.sheets.views.steps import operation_place
from traveler.sheets.words import Words, operation_title

STOP_LINES = 4
SPARE_LINES = 5
FEW_STEPS = 3


@dataclass(frozen=True, slots=True)
class RouteLine:
    """One operation in the routing, with the boxes to sign it off."""

    number: str
    title: str
    area: str
    minutes: str
    sign: Box | None
    when: Box | None
    open: Box


@dataclass(frozen=True, slots=True)
class Fetch:
    """One thing to fetch before the work starts."""

    number: str
    title: str
    quantity: str
    where: str


@dataclass(frozen=True, slots=True)
class CoverView:
    """The cover."""

    identity: IdentityView
    change: str
    cautions: tuple[Caution, ...]
    route: tuple[RouteLine, ...]
    gauges: tuple[Fetch, ...]
    parts: tuple[Fetch, ...]
    picture: StepPicture | None
    stops: tuple[tuple[Box, ...], ...]
    spares: tuple[tuple[Box, ...], ...]


def cover(
    plan: Plan, unit: UnitHeader, form: Form, printing: Printing, picture: StepPicture | None,
    *, stops: int = STOP_LINES, spares: int = SPARE_LINES,
) -> CoverView:  # fmt: skip
    """The cover of a traveler with so many lines.

    Boxes that it shares with the operations are the same fields.
    """
    say = printing.say
    return CoverView(
        identity=identity(plan, unit, printing, form),
        change=plan.change,
        cautions=(general_caution(plan, say, printing.settings.lift_alone),),
        route=tuple(route_line(operation, form, say) for operation in plan.operations),
        gauges=gauges_to_fetch(plan),
        parts=parts_to_fetch(plan),
        picture=picture,
        stops=tuple(stop_line(number, form, say) for number in range(1, stops + 1)),
        spares=tuple(spare_line(number, form, say) for number in range(1, spares + 1)),
    )


def general_caution(plan: Plan, say: Words, alone: str) -> Caution:
    """The caution every traveler starts with; what one person may not lift alone is named as such."""
    law = say(
        "Local codes and licensed practice govern lifting, welding, pressure and electrical work. "
        "This sheet records the work. It does not authorize anyone to do it."
    )
    heavy = too_heavy(plan.mass, lifted_alone(alone))
    lift = say("{mass}. Lift with a hoist or enough people.", mass=plan.mass) if heavy else ""
    return Caution(signal="WARNING", text=" ".join(part for part in (lift, law) if part))


def route_line(operation: Operation, form: Form, say: Words) -> RouteLine:
    """One line of the routing."""
    title = say("operation {number} complete", number=operation.number)
    when, open_items = say("date and time"), say("open items")
    base = operation.sign.id if operation.sign else f"{operation.number}/sign"
    return RouteLine(
        operation.number,
        operation_title(operation, say),
        operation_place(operation, say),
        "" if operation.minutes is None else str(operation.minutes),
        form.box(base, title, "sign") if operation.sign else None,
        form.box(f"{base}#at", f"{title}: {when}", "when") if operation.sign else None,
        form.box(f"{base}#open", f"{title}: {open_items}", "small"),
    )


def gauges_to_fetch(plan: Plan) -> tuple[Fetch, ...]:
    """The kinds of gauge the work needs, each with the operations that use it."""
    used: dict[str, list[str]] = {}
    titles: dict[str, tuple[str, str]] = {}
    for operation in plan.operations:
        for step in operation.steps:
            if step.gauge is not None:
                titles[step.gauge.kind] = (step.gauge.title, step.gauge.resolution or "")
                used.setdefault(step.gauge.kind, []).append(operation.number)
    return tuple(
        Fetch("", title, resolution, ", ".join(dict.fromkeys(used[kind])))
        for kind, (title, resolution) in titles.items()
    )


def parts_to_fetch(plan: Plan) -> tuple[Fetch, ...]:
    """The parts the steps name, each once, in the order they are first needed."""
    needed: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for step in plan.steps():
        for part in step.parts:
            needed.setdefault((part.number, part.title), []).append((part.quantity, step.id))
        if step.kind is StepKind.FIT:
            pieces = str(len(step.slots))
            needed.setdefault((step.part_number or "", step.text), []).append((pieces, step.id))
    return tuple(
        Fetch(
            number, title, summed([quantity for quantity, _ in used]), step_list([step for _, step in used])
        )
        for (number, title), used in needed.items()
    )


def summed(quantities: list[str]) -> str:
    """The sum of numbers as written; one alone stays as it is, and so do those that are no numbers."""
    try:
        numbers = [parse_number(quantity) for quantity in quantities]
    except Unreadable:
        return " + ".join(quantities)
    decimals = max(number.decimals for number in numbers)
    total = sum((number.value for number in numbers), Fraction(0))
    return quantities[0] if len(quantities) == 1 else exact_text(total, decimals)


def step_list(steps: list[str]) -> str:
    """The steps a part is for; of many only their operations."""
    if len(steps) <= FEW_STEPS:
        return ", ".join(steps)
    return ", ".join(dict.fromkeys(step.rpartition("-")[0] for step in steps))


def stop_line(number: int, form: Form, say: Words) -> tuple[Box, ...]:
    """One line of the log of stops: step, what is wrong, decision, by, measured again."""
    name = say("nonconformance {number}", number=number)
    columns = (
        ("step", say("operation, step")), ("what", say("what is wrong")), ("decided", say("decided")),
        ("by", say("decided by")), ("again", say("re-measured, within limits")),
    )  # fmt: skip
    return tuple(form.box(f"stop#{number}-{key}", f"{name}: {title}", "line") for key, title in columns)


def spare_line(number: int, form: Form, say: Words) -> tuple[Box, ...]:
    """One spare line: what, value, by, date."""
    name = say("spare line {number}", number=number)
    columns = (("what", say("what")), ("value", say("value")), ("by", say("by")), ("at", say("date, time")))
    return tuple(form.box(f"spare#{number}-{key}", f"{name}: {title}", "line") for key, title in columns)
