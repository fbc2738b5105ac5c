"""The arrival check: what the customer looks at and measures before the machine is used."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Unpack

from traveler.definition.plan import Caution, Plan, Slot, Step
from traveler.record.entry import Entry
from traveler.sheets.make import Request, make_in_each
from traveler.sheets.sheet import Printing, PrintOptions, Sheet, UnitHeader
from traveler.sheets.views.boxes import Box, Form
from traveler.sheets.views.grid import chunks, position
from traveler.sheets.views.head import head, identity
from traveler.sheets.views.limits import LimitView, limit_view
from traveler.sheets.views.readings import RecordView, record_view
from traveler.sheets.words import Words
from traveler.shop.settings import Settings
from traveler.verdict.judge import Verdict

ABREAST = 2


@dataclass(frozen=True, slots=True)
class ArrivalLine:
    """One value: where, as shipped, and the box for as found."""

    where: str
    shipped: str
    box: Box


@dataclass(frozen=True, slots=True)
class ArrivalView:
    """One check of the arrival check."""

    title: str
    limits: LimitView | None
    note: str
    unit: str
    rows: tuple[tuple[ArrivalLine, ...], ...]
    abreast: int
    """How many values stand side by side in a row."""

    @property
    def spanned(self) -> int:
        """Columns in all: where, as shipped and as found for each value."""
        return 3 * self.abreast


@dataclass(frozen=True, slots=True)
class Question:
    """Something to look at before unpacking or before use, with a tick box."""

    text: str
    box: Box


def arrival_check_pdf(
    plan: Plan,
    unit: UnitHeader,
    verdict: Verdict,
    entries: Iterable[Entry],
    settings: Settings,
    printed: datetime,
    **options: Unpack[PrintOptions],
) -> Sheet:
    """The arrival check: cautions, what to look at, as-shipped values beside boxes for what is found."""
    printing = Printing(settings, printed, **options)
    record = record_view(verdict, entries, None, settings.time_zone)

    def build(shown: Plan, printing: Printing) -> Request:
        say, form = printing.say, Form()
        context = {
            "head": head(shown, unit, printing, say("Arrival check"), say("Please return a completed copy.")),
            "identity": identity(shown, unit, printing, inside=False),
            "cautions": cautions(shown, say),
            "questions": tuple(questions(shown, unit.serial, form, say)),
            "checks": tuple(arrival_checks(shown, record, form, say)),
            "closing": closing(form, say),
        }
        title = say("Arrival check {serial}, {title}", serial=unit.serial, title=shown.title)
        address = printing.address(unit.serial, plan.gtin)
        return Request("sheets/arrival.html", title, context, form, address=address)

    return make_in_each(build, plan, printing)


def closing(form: Form, say: Words) -> tuple[tuple[str, Box], ...]:
    """The line that closes the check: who, when, what else; words and box of each."""
    asked = (("by", say("checked by")), ("at", say("date")), ("remark", say("remarks")))
    return tuple((label, form.box(f"sheet#arrival-{name}", label, "line")) for name, label in asked)


def cautions(plan: Plan, say: Words) -> tuple[Caution, ...]:
    """The cautions for uncrating."""
    mass = plan.crate.gross_mass if plan.crate and plan.crate.gross_mass else plan.mass
    lift = say("The crate weighs about {mass}. Use a pallet truck or hoist.", mass=mass) if mass else ""
    lid = say("Open the lid first and keep feet and fingers from under the load. Bands spring back when cut.")
    power = say(
        "Do not connect power before the check is done. "
        "Local codes and licensed practice govern the connection."
    )
    return (
        Caution(signal="WARNING", text=" ".join(part for part in (lift, lid) if part)),
        Caution(signal="WARNING", text=power),
    )


def questions(plan: Plan, serial: str, form: Form, say: Words) -> Iterator[Question]:
    """What to look at, in the order of unpacking."""
    asked = [
        say(
            "The crate stands upright, without holes, wet patches or broken boards. "
            "If not, photograph it first."
        ),
        say("The serial on the nameplate is {serial}.", serial=serial),
        say("Everything on the packing list is there."),
        say("Nothing is bent, loose or scratched."),
    ]
    if not plan.crate:
        asked = asked[1:]
    for number, text in enumerate(asked, start=1):
        yield Question(text, form.box(f"sheet#arrival-look-{number}", text, "tick"))


def arrival_checks(plan: Plan, record: RecordView, form: Form, say: Words) -> Iterator[ArrivalView]:
    """The checks the definition names for arrival, with the values the unit left with."""
    for name in plan.arrival_check:
        step = plan.check(name)
        if step is None:
            continue
        limits = limit_view(step.limits, None, say) if step.limits else None
        lines = tuple(_line(slot, step, record, form, say) for slot in step.slots)
        note = " · ".join(part for part in (step.gauge.title if step.gauge else "", step.note) if part)
        abreast = min(ABREAST, len(lines))
        rows = tuple(chunks(lines, abreast))
        yield ArrivalView(step.text, limits, note, limits.unit if limits else "", rows, abreast)


def _line(slot: Slot, step: Step, record: RecordView, form: Form, say: Words) -> ArrivalLine:
    stand = record.slot(slot, step.limits.decimals if step.limits else 0)
    where, found = position(slot, say), say("as found")
    title = f"{step.text}, {where}: {found}" if where else f"{step.text}: {found}"
    box = form.box(f"sheet#arrival/{slot.id}", title, "reading")
    return ArrivalLine(where, stand.value if stand else "–", box)
