"""View model of head and foot: what stands on every page of a sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace

from markupsafe import Markup, escape

from traveler.definition.plan import Plan
from traveler.sheets import fonts
from traveler.sheets.fitting import Space
from traveler.sheets.sheet import Printing, UnitFace

SERIAL_SIZES = ((14, 24), (18, 19), (24, 14), (32, 11))
"""Longest serial → its size in points; the mono face needs 0.6 of it a character, 98 mm are free."""


PRODUCT_MM = 53.5
"""Width free for the product in the head, a little on the safe side."""
SMALL = 9.5
"""Size in points of all but the first line."""
SHEET_MM, SHOP_MM = 55.0, 85.0
"""The same for the name of the sheet under the serial, and for that of the shop in the foot."""


@dataclass(frozen=True, slots=True)
class HeadView:
    """Head: product left, serial in the middle, QR right.

    Foot: shop, date and digest, a rule of record keeping.
    """

    title: str
    variant: str
    destination: Markup
    serial: str
    serial_size: int
    sheet: str
    reprint: str
    shop: str
    printed: str
    digest: str
    rule: str


def serial_size(serial: str) -> int:
    """Size in points at which a serial fits the middle of the head."""
    return next((size for longest, size in SERIAL_SIZES if len(serial) <= longest), 9)


def short_digest(digest: str) -> str:
    """The first eight digits of a digest, in two groups."""
    return f"{digest[:4]} {digest[4:8]}"


def destination(unit: UnitFace, printing: Printing, copy: str) -> Markup:
    """Who the unit is for, and which copy this is, on one line.

    The order is set in the mono face, as all that differs from unit to unit, and cut to what fits.
    """
    say, mono = printing.say, fonts.face(fonts.MONO_BOLD, printing.templates)
    counted = f" · {copy}" if copy else ""
    if not unit.order:
        return escape(say("For stock") + counted)
    line = say("Order {order}") + counted
    plain = Space(fonts.face(fonts.SANS, printing.templates), SMALL, PRODUCT_MM, 1)
    room = PRODUCT_MM - plain.wide(line.replace("{order}", ""))
    order = Space(mono, SMALL, room, 1).shortened(unit.order)
    return escape(line).replace("{order}", Markup('<b class="mono">{}</b>').format(order))


def head(
    plan: Plan, unit: UnitFace, printing: Printing, sheet: str, rule: str, *, copied: bool = True
) -> HeadView:
    """The head and foot of one sheet; ``copied``: its copies are counted."""
    say, templates = printing.say, printing.templates
    bold, plain = fonts.face(fonts.SANS_BOLD, templates), fonts.face(fonts.SANS, templates)
    title, small = Space(bold, 12, PRODUCT_MM, 2), Space(plain, SMALL, PRODUCT_MM, 1)
    revision = say("revision {revision}", revision=plan.revision)
    copy = say("copy {number}", number=printing.copy) if copied else ""
    return HeadView(
        title=title.shortened(plan.title),
        variant=replace(small, lines=2).shortened(
            " · ".join(part for part in (plan.variant_title, revision) if part)
        ),
        destination=destination(unit, printing, copy),
        serial=unit.serial,
        serial_size=serial_size(unit.serial),
        sheet=replace(small, width=SHEET_MM).shortened(sheet),
        reprint=say("COPY {number}, reprint", number=printing.copy) if printing.copy > 1 else "",
        shop=replace(small, width=SHOP_MM).shortened(printing.settings.name),
        printed=say("printed {day}", day=printing.day),
        digest=short_digest(plan.digest),
        rule=rule,
    )
