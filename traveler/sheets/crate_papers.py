"""The packing list in the crate, the label on it, and the label of the unit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from fractions import Fraction
from typing import Literal, Unpack

from markupsafe import Markup

from traveler.definition.plan import PackingItem, Plan
from traveler.measure.number import Unreadable, format_number
from traveler.measure.quantity import parse_quantity
from traveler.sheets.make import Request, make_in_each
from traveler.sheets.pdf import codes as qr
from traveler.sheets.pdf.paper import CRATE_LABEL, CRATE_LABEL_INCH, UNIT_LABEL, Paper
from traveler.sheets.sheet import Printing, PrintOptions, Sheet, UnitHeader
from traveler.sheets.views.boxes import Box, Form
from traveler.sheets.views.head import head, identity
from traveler.sheets.words import Words
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
    unit: UnitHeader,
    settings: Settings,
    printed: datetime,
    *,
    gross_mass: str | None = None,
    **options: Unpack[PrintOptions],
) -> Sheet:
    """The packing list.

    ``gross_mass`` is the measured one; without it the expected one is printed as such.
    """
    printing = Printing(settings, printed, **options)

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

    return make_in_each(build, plan, printing)


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
    """Mass of all pieces of an item, exact, with the decimals of one; empty where it is not known.

    >>> whole_mass(PackingItem(slot="C-3/item=2", item="Bobbin set", quantity="8", mass="0.21 kg"))
    '1.68 kg'
    """
    if item.mass is None:
        return ""
    try:
        quantity = parse_quantity(item.mass)
        pieces = Fraction(item.quantity)
    except (Unreadable, ValueError):
        return ""
    return f"{format_number(quantity.value * pieces, quantity.decimals)} {quantity.unit}"


CRATE_LABELS: dict[str, Paper] = {"100x150 mm": CRATE_LABEL, "4x6 in": CRATE_LABEL_INCH}
CrateLabelSize = Literal["100x150 mm", "4x6 in"]


@dataclass(frozen=True, slots=True)
class HandlingMark:
    """A handling mark of ISO 780: the name of its drawing and what it says."""

    icon: str
    words: str


def unit_label_pdf(
    plan: Plan,
    unit: UnitHeader,
    settings: Settings,
    printed: datetime,
    **options: Unpack[PrintOptions],
) -> Sheet:
    """The label of a unit, 50 × 25 mm: serial in plain text and QR code.

    It has room for one language: of two the first.
    """
    printing = Printing(settings, printed, **options)

    def build(shown: Plan, printing: Printing) -> Request:
        context = {
            "serial": unit.serial,
            "size": label_size(unit.serial, UNIT_TEXT),
            "product": shown.title,
            "variant": shown.variant_title,
            "revision": printing.say("rev. {revision}", revision=plan.revision),
            "code": code(plan, unit, printing),
        }
        title = printing.say("Unit label {serial}", serial=unit.serial)
        return Request("sheets/unit_label.html", title, context, paper=UNIT_LABEL)

    first = replace(printing.alone(printing.spoken), texts=printing.texts[:1])
    return make_in_each(build, plan, first)


def crate_label_pdf(
    plan: Plan,
    unit: UnitHeader,
    settings: Settings,
    printed: datetime,
    *,
    gross_mass: str | None = None,
    outside: str | None = None,
    size: CrateLabelSize = "100x150 mm",
    **options: Unpack[PrintOptions],
) -> Sheet:
    """The label of a crate: product, serial, gross mass, sizes, handling marks, QR code.

    ``gross_mass`` is the measured one with its unit; without it the expected one is printed as such.
    """
    printing = Printing(settings, printed, **options)

    def build(shown: Plan, printing: Printing) -> Request:
        say = printing.say
        context = {
            "serial": unit.serial,
            "size": label_size(unit.serial, CRATE_TEXT),
            "product": shown.title,
            "variant": shown.variant_title,
            "crate": shown.crate.title if shown.crate else "",
            "product_size": label_size(shown.title, CRATE_TEXT, PRODUCT_LARGEST, PRODUCT_EM),
            "facts": crate_facts(shown, unit, gross_mass, outside, say),
            "layout": mark_layout(len(shown.marks)),
            "marks": tuple(HandlingMark(name, mark_words(name, say)) for name in shown.marks),
            "code": code(plan, unit, printing),
        }
        title = say("Crate label {serial}", serial=unit.serial)
        return Request("sheets/crate_label.html", title, context, paper=CRATE_LABELS[size])

    return make_in_each(build, plan, printing)


def crate_facts(
    plan: Plan, unit: UnitHeader, gross_mass: str | None, outside: str | None, say: Words
) -> tuple[tuple[tuple[str, str], ...], ...]:
    """The facts on a crate's label, in rows: a word and what it says; what is not known is left out."""
    expected = plan.crate.gross_mass if plan.crate else None
    rows = (
        (
            (say("gross mass") if gross_mass else say("gross mass, expected"), gross_mass or expected),
            (say("net mass"), plan.mass),
        ),
        ((say("outside size"), outside),),
        ((say("inside size"), plan.crate.inside if plan.crate else None),),
        ((say("order"), unit.order),),
        ((say("ship to"), unit.customer),),
    )
    known = (tuple((label, text) for label, text in row if text) for row in rows)
    return tuple(row for row in known if row)


MARK_LAYOUTS = ((4, "two-across"), (6, "three-across"), (8, "four-across"), (12, "three-rows"))


def mark_layout(marks: int) -> str:
    """The layout (a class of the style sheet) in which so many marks are as large as the label allows."""
    return next((layout for most, layout in MARK_LAYOUTS if marks <= most), "six-across")


UNIT_TEXT, CRATE_TEXT = 23.0, 92.0
"""Width free for the serial in millimeters."""
EM = 0.602
"""Advance of the mono face as a part of its size."""
MM_PER_POINT = 25.4 / 72
PRODUCT_EM = 0.68
"""The same of the bold sans face, on the safe side."""
LARGEST, PRODUCT_LARGEST = 30.0, 17.0


def label_size(text: str, width: float, largest: float = LARGEST, em: float = EM) -> float:
    """Largest size in points, to a tenth, at which a text fits the width; ``em`` is its mean advance."""
    return min(largest, int(width / (len(text) * em * MM_PER_POINT) * 10) / 10)


def code(plan: Plan, unit: UnitHeader, printing: Printing) -> Markup:
    """The QR code of a label as an SVG element; labels are page 1."""
    payload = printing.address(unit.serial, plan.gtin).payload(1)
    drawn = qr.svg(payload, words=printing.say("QR code"))
    return Markup(drawn)  # noqa: S704 - our own drawing


def mark_words(name: str, say: Words) -> str:
    """What a handling mark says (ISO 780:2015), in the language of the label."""
    return {
        "fragile": say("Fragile"),
        "no-hand-hooks": say("No hand hooks"),
        "this-way-up": say("This way up"),
        "keep-from-sunlight": say("Keep from sunlight"),
        "protect-from-radiation": say("Protect from radiation"),
        "keep-dry": say("Keep dry"),
        "centre-of-gravity": say("Center of gravity"),
        "do-not-roll": say("Do not roll"),
        "no-hand-truck-here": say("No hand truck here"),
        "no-forks": say("No forks"),
        "clamp-here": say("Clamp here"),
        "do-not-clamp-here": say("Do not clamp here"),
        "stacking-limit-mass": say("Stacking limit"),
        "stacking-limit-number": say("Stacking limit"),
        "do-not-stack": say("Do not stack"),
        "sling-here": say("Sling here"),
        "temperature-limits": say("Temperature limits"),
    }[name]
