"""View model of the identity row: which unit, which revision, for whom."""

from __future__ import annotations

from dataclasses import dataclass

from traveler.definition.plan import Plan
from traveler.sheets.boxes import Box, Form
from traveler.sheets.grid_view import chunks
from traveler.sheets.sheet import Printing, UnitFace
from traveler.sheets.vocabulary import place_name
from traveler.sheets.words import Words

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
    plan: Plan, unit: UnitFace, printing: Printing, form: Form | None = None, *, inside: bool = True
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
        ordered(unit, say),
        *(dates if inside else []),
        Fact(say("mass, bare"), plan.mass or ""),
        Fact(say("quantity"), "" if unit.quantity is None else str(unit.quantity)),
        Fact(say("options"), ", ".join(plan.options)),
        *(
            Fact(place_name(name, say).replace("_", " "), value)
            for name, value in plan.variables.items()
            if name != "mass" and inside
        ),
    ]
    return IdentityView(
        title=" · ".join(part for part in (plan.title, plan.variant_title) if part),
        rows=in_rows([one for one in facts if one.text]),
        digest=fact("digest", say("definition digest"), plan.digest),
    )


def ordered(unit: UnitFace, say: Words) -> Fact:
    """Who the unit is for: the customer it was shipped to, the order, or stock."""
    if unit.customer:
        return Fact(say("for"), unit.customer)
    return Fact(say("order"), unit.order, mono=True) if unit.order else Fact(say("for"), say("For stock"))


def in_rows(facts: list[Fact]) -> tuple[tuple[Fact, ...], ...]:
    """The facts so many to a row; what is too long for a cell has a row of its own below."""
    long = [one for one in facts if len(one.text) > LONGEST and one.box is None]
    short = [one for one in facts if one not in long]
    return (*chunks(short, ACROSS), *((one,) for one in long))
