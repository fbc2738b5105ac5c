"""View model of a traveler's cover: identity, routing, what to fetch first, the log of stops."""

from __future__ import annotations

from dataclasses import dataclass

from traveler.definition.plan import Caution, Operation, Plan, StepKind
from traveler.sheets.boxes import Box, Form
from traveler.sheets.grid_view import chunks
from traveler.sheets.head_view import destination
from traveler.sheets.pictures import Picture
from traveler.sheets.sheet import Printing, UnitFace
from traveler.sheets.words import Words

FACTS_ACROSS = 4
STOP_LINES = 4
SPARE_LINES = 5


@dataclass(frozen=True, slots=True)
class Fact:
    """One cell of the identity row: a word and what it says, or a read-only field that says it."""

    label: str
    text: str
    box: Box | None = None


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

    title: str
    facts: tuple[tuple[Fact, ...], ...]
    digest: Fact
    change: str
    cautions: tuple[Caution, ...]
    route: tuple[RouteLine, ...]
    gauges: tuple[Fetch, ...]
    parts: tuple[Fetch, ...]
    picture: Picture | None
    stops: tuple[tuple[Box, ...], ...]
    spares: tuple[tuple[Box, ...], ...]


def cover(plan: Plan, unit: UnitFace, form: Form, printing: Printing, picture: Picture | None) -> CoverView:
    """The cover of a traveler. Boxes that it shares with the operations are the same fields."""
    say = printing.say
    return CoverView(
        title=" · ".join(part for part in (plan.title, plan.variant_title) if part),
        facts=tuple(chunks(facts(plan, unit, form, printing), FACTS_ACROSS)),
        digest=Fact(
            say("definition digest"),
            plan.digest,
            form.box("unit#digest", say("definition digest"), "fact", value=plan.digest, read_only=True),
        ),
        change=plan.change,
        cautions=(general_caution(plan, say),),
        route=tuple(route_line(operation, form, say) for operation in plan.operations),
        gauges=gauges(plan),
        parts=parts(plan),
        picture=picture,
        stops=tuple(stop_line(number, form, say) for number in range(1, STOP_LINES + 1)),
        spares=tuple(spare_line(number, form, say) for number in range(1, SPARE_LINES + 1)),
    )


def facts(plan: Plan, unit: UnitFace, form: Form, printing: Printing) -> tuple[Fact, ...]:
    """The identity row: serial and revision are read-only fields, the rest is text."""
    say = printing.say
    serial = form.box("unit#serial", say("serial"), "fact", value=unit.serial, read_only=True)
    revision = form.box("unit#revision", say("revision"), "fact", value=plan.revision, read_only=True)
    made = [
        Fact(say("serial"), unit.serial, serial),
        Fact(say("revision"), plan.revision, revision),
        Fact(say("revised"), plan.revised),
        Fact(say("for"), destination(unit, printing)),
        Fact(say("issued"), unit.issued),
        Fact(say("due"), unit.due or ""),
        Fact(say("mass, bare"), plan.mass or ""),
        Fact(say("quantity"), "" if unit.quantity is None else str(unit.quantity)),
        Fact(say("options"), ", ".join(plan.options)),
        *(Fact(name.replace("_", " "), value) for name, value in plan.variables.items() if name != "mass"),
    ]
    return tuple(fact for fact in made if fact.text)


def general_caution(plan: Plan, say: Words) -> Caution:
    """The caution every traveler starts with."""
    law = say(
        "Local codes and licensed practice govern lifting, welding, pressure and electrical work; "
        "this sheet records work, it qualifies no one to do it."
    )
    lift = say("{mass}. Lift with a hoist or enough people.", mass=plan.mass) if plan.mass else ""
    return Caution(signal="WARNING", text=" ".join(part for part in (lift, law) if part))


def route_line(operation: Operation, form: Form, say: Words) -> RouteLine:
    """One line of the routing."""
    title = say("operation {number} complete", number=operation.number)
    base = operation.sign.id if operation.sign else f"{operation.number}/sign"
    sign = form.box(base, title, "sign") if operation.sign else None
    when = form.box(f"{base}#at", f"{title}: {say('date and time')}", "when") if operation.sign else None
    return RouteLine(
        operation.number,
        operation.title,
        operation.area,
        "" if operation.minutes is None else str(operation.minutes),
        sign,
        when,
        form.box(f"{base}#open", f"{title}: {say('items still open')}", "small"),
    )


def gauges(plan: Plan) -> tuple[Fetch, ...]:
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


def parts(plan: Plan) -> tuple[Fetch, ...]:
    """The parts the steps name, in the order they are needed."""
    made = []
    for operation in plan.operations:
        for step in operation.steps:
            made += [Fetch(part.number, part.title, part.quantity, step.id) for part in step.parts]
            if step.kind is StepKind.FIT:
                made.append(Fetch(step.part_number or "", step.text, str(len(step.slots)), step.id))
    return tuple(made)


def stop_line(number: int, form: Form, say: Words) -> tuple[Box, ...]:
    """One line of the log of stops: step, what is wrong, decision, by, measured again."""
    name = say("stop {number}", number=number)
    columns = (
        ("step", say("operation, step")), ("what", say("what is wrong")), ("decided", say("decided")),
        ("by", say("decided by")), ("again", say("measured again, in")),
    )  # fmt: skip
    return tuple(form.box(f"stop#{number}-{key}", f"{name}: {title}", "line") for key, title in columns)


def spare_line(number: int, form: Form, say: Words) -> tuple[Box, ...]:
    """One spare line: what, value, by, date."""
    name = say("spare line {number}", number=number)
    columns = (("what", say("what")), ("value", say("value")), ("by", say("by")), ("at", say("date, time")))
    return tuple(form.box(f"spare#{number}-{key}", f"{name}: {title}", "line") for key, title in columns)
