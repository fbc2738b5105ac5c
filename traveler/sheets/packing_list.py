"""The packing list that goes into the crate: no prices, no internal notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from traveler.definition.plan import PackingItem, Plan
from traveler.measure.number import format_number
from traveler.measure.quantity import parse_quantity
from traveler.measure.unreadable import Unreadable
from traveler.sheets.boxes import Box, Form
from traveler.sheets.finish import Request, make_in_each
from traveler.sheets.head_view import head
from traveler.sheets.identity_view import identity
from traveler.sheets.resources import Templates, templates
from traveler.sheets.sheet import Printing, Sheet, UnitFace
from traveler.shop.settings import Settings


@dataclass(frozen=True, slots=True)
class PackedLine:
    """One item: number, name, pieces, mass of all pieces, and a tick box for the receiver."""

    number: str
    item: str
    quantity: str
    mass: str
    box: Box


def packing_list_pdf(
    plan: Plan,
    unit: UnitFace,
    settings: Settings,
    printed: datetime,
    *,
    gross_mass: str | None = None,
    copy_number: int = 1,
    language: str = "",
    texts: Sequence[Plan] = (),
    shelves: Templates | None = None,
) -> Sheet:
    """The packing list.

    ``gross_mass`` is the measured one; without it the expected one is printed as such.
    """
    printing = Printing(settings, printed, copy_number, language, shelves or templates())

    def build(shown: Plan, printing: Printing) -> Request:
        say, form = printing.say, Form()
        context = {
            "head": head(shown, unit, printing, say("Packing list"), say("Keep this list with the machine.")),
            "identity": identity(shown, unit, printing, inside=False),
            "lines": tuple(lines(shown, form, printing)),
            "crate": shown.crate,
            "gross": gross_mass or (shown.crate.gross_mass if shown.crate else None) or "",
            "gross_label": say("gross mass, weighed") if gross_mass else say("gross mass, expected"),
        }
        title = say("Packing list {serial}, {title}", serial=unit.serial, title=shown.title)
        address = printing.address(unit.serial, plan.gtin)
        return Request("sheets/packing.html", title, context, form, address=address)

    return make_in_each(build, plan, texts, printing)


def lines(plan: Plan, form: Form, printing: Printing) -> Iterator[PackedLine]:
    """The items of the plan's packing lists, in their order."""
    number = 0
    for step in plan.steps():
        for item in step.packing:
            number += 1
            title = printing.say("{item}: received", item=item.item)
            box = form.box(f"sheet#received-{number}", title, "tick")
            yield PackedLine(item.number or "", item.item, item.quantity, whole_mass(item), box)


def whole_mass(item: PackingItem) -> str:
    """Mass of all pieces of an item, exact, with the decimals of one; empty where it cannot be told.

    >>> whole_mass(PackingItem(slot="C-3/item=2", item="Bobbin set", quantity="8", mass="0.21 kg"))
    '1.68 kg'
    """
    if item.mass is None:
        return ""
    try:
        one = parse_quantity(item.mass)
        pieces = Fraction(item.quantity)
    except (Unreadable, ValueError):
        return ""
    return f"{format_number(one.value * pieces, one.decimals)} {one.unit}"
