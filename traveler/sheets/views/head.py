"""Head and foot of every page, and the identity of the unit."""

from __future__ import annotations

from dataclasses import dataclass, replace

from markupsafe import Markup, escape

from traveler.definition.plan import Plan
from traveler.sheets.pdf import fonts
from traveler.sheets.pdf.fonts import Space
from traveler.sheets.sheet import Printing, UnitHeader
from traveler.sheets.views.boxes import Box, Form
from traveler.sheets.views.grid import chunks
from traveler.sheets.words import Words, position_name

SERIAL_SIZES = ((14, 24), (18, 19), (24, 14), (32, 11))
"""Longest serial → its size in points; the mono face needs 0.6 of it a character, 98 mm are free."""


PRODUCT_MM = 53.5
"""Width free for the product in the head, a little on the safe side."""
SMALL = 9.5
"""Size in points of all but the first line."""
SHEET_MM, SHOP_MM = 55.0, 70.0
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


def destination(unit: UnitHeader, printing: Printing, copy: str) -> Markup:
    """Who the unit is for, and which copy this is, on one line.

    The order is set in the mono face, as all that differs from unit to unit, and cut to what fits.
    """
    say, mono = printing.say, fonts.font_face(fonts.MONO_BOLD, printing.templates)
    counted = f" · {copy}" if copy else ""
    if not unit.order:
        return escape(say("For stock") + counted)
    line = say("Order {order}") + counted
    plain = Space(fonts.font_face(fonts.SANS, printing.templates), SMALL, PRODUCT_MM, 1)
    room = PRODUCT_MM - plain.wide(line.replace("{order}", ""))
    order = Space(mono, SMALL, room, 1).shortened(unit.order)
    return escape(line).replace("{order}", Markup('<b class="mono">{}</b>').format(order))


def head(
    plan: Plan, unit: UnitHeader, printing: Printing, sheet: str, rule: str, *, copied: bool = True
) -> HeadView:
    """The head and foot of one sheet; ``copied``: its copies are counted."""
    say, templates = printing.say, printing.templates
    bold, plain = fonts.font_face(fonts.SANS_BOLD, templates), fonts.font_face(fonts.SANS, templates)
    title, small = Space(bold, 12, PRODUCT_MM, 2), Space(plain, SMALL, PRODUCT_MM, 1)
    revision = say("revision {revision}", revision=plan.revision)
    copy = say("copy {number}", number=printing.copy_number) if copied else ""
    return HeadView(
        title=title.shortened(plan.title),
        variant=replace(small, lines=2).shortened(
            " · ".join(part for part in (plan.variant_title, revision) if part)
        ),
        destination=destination(unit, printing, copy),
        serial=unit.serial,
        serial_size=serial_size(unit.serial),
        sheet=replace(small, width=SHEET_MM).shortened(sheet),
        reprint=say("COPY {number}, reprint", number=printing.copy_number)
        if printing.copy_number > 1
        else "",
        shop=replace(small, width=SHOP_MM).shortened(printing.settings.name),
        printed=say("printed {day}", day=printing.day),
        digest=short_digest(plan.digest),
        rule=rule,
    )


ACROSS = 4
LONGEST = 48
"""Characters of a fact that fit two lines of a cell."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One cell: a word and what it says, or a read-only field that says it.

    ``mono``: it differs from unit to unit, and stands in the face that serials are stamped in.
    """

    label: str
    text: str
    box: Box | None = None
    mono: bool = False


@dataclass(frozen=True, slots=True)
class IdentityView:
    """Title, facts in rows, and the digest of the definition."""

    title: str
    rows: tuple[tuple[Fact, ...], ...]
    digest: Fact


def identity(
    plan: Plan, unit: UnitHeader, printing: Printing, form: Form | None = None, *, inside: bool = True
) -> IdentityView:
    """The identity of a unit; with a form, serial, revision and digest are its read-only fields.

    ``inside`` is for sheets that stay in the shop: they show its dates as well.
    """
    say = printing.say

    def fact(name: str, label: str, value: str) -> Fact:
        box = form.box(f"unit#{name}", label, "fact", value=value, read_only=True) if form and value else None
        return Fact(label, value, box, mono=True)

    dates = [
        Fact(say("revised"), plan.revised),
        Fact(say("issued"), unit.issued, mono=True),
        Fact(say("due"), unit.due or "", mono=True),
    ]
    facts = [
        fact("serial", say("serial"), unit.serial),
        fact("revision", say("revision"), plan.revision),
        destination_fact(unit, say),
        *(dates if inside else []),
        Fact(say("net mass"), plan.mass or ""),
        Fact(say("quantity"), "" if unit.quantity is None else str(unit.quantity)),
        Fact(say("options"), ", ".join(plan.options)),
        *(
            Fact(position_name(name, say).replace("_", " "), value)
            for name, value in plan.variables.items()
            if name != "mass" and inside
        ),
    ]
    return IdentityView(
        title=" · ".join(part for part in (plan.title, plan.variant_title) if part),
        rows=in_rows([fact for fact in facts if fact.text]),
        digest=fact("digest", say("definition digest"), plan.digest),
    )


def destination_fact(unit: UnitHeader, say: Words) -> Fact:
    """Who the unit is for: the customer it was shipped to, the order, or stock."""
    if unit.customer:
        return Fact(say("for"), unit.customer)
    return Fact(say("order"), unit.order, mono=True) if unit.order else Fact(say("for"), say("For stock"))


def in_rows(facts: list[Fact]) -> tuple[tuple[Fact, ...], ...]:
    """The facts so many to a row; what is too long for a cell has a row of its own below."""
    long = [fact for fact in facts if len(fact.text) > LONGEST and fact.box is None]
    short = [fact for fact in facts if fact not in long]
    return (*chunks(short, ACROSS), *((fact,) for fact in long))
