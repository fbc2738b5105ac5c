"""The dossier as a sheet and as a page that stands for itself: one body of text, two style sheets."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from datetime import datetime

from traveler.definition.plan import Plan
from traveler.definition.words import languages_of
from traveler.sheets import fonts
from traveler.sheets.attached import Attached, attached_plan
from traveler.sheets.finish import Request, fill, make
from traveler.sheets.head_view import head
from traveler.sheets.pictures import Album
from traveler.sheets.resources import Templates, templates
from traveler.sheets.sheet import Printing, Sheet, UnitFace
from traveler.sheets.words import Words
from traveler.shop.settings import Settings

Kept = Mapping[str, tuple[bytes, str]]
"""Name of a picture → its content and media type."""


def dossier_printing(settings: Settings, printed: datetime, shelves: Templates | None = None) -> Printing:
    """The circumstances of the print; of a shop with two languages the dossier takes the first."""
    language = languages_of(settings.language)[0]
    return Printing(settings, printed, 1, language, shelves or templates())


def row_names(printing: Printing) -> tuple[str, str]:
    """What the rows of a strip are called: units before, units after."""
    say = printing.say
    return say("before"), say("after")


def dossier_pdf(
    plan: Plan, unit: UnitFace, view: Mapping[str, object], kept: Kept, attached: bytes, printing: Printing
) -> Sheet:
    """The dossier on the shop's paper.

    Args:
        plan: what the unit was built to; attached.
        unit: serial, order, dates.
        view: what ``sheets/dossier_body.html`` shows.
        kept: the photographs.
        attached: the dossier as JSON, attached too.
        printing: the circumstances.
    """
    say = printing.say
    title = say("Dossier {serial}, {title}", serial=unit.serial, title=plan.title)
    page = head(plan, unit, printing, say("Dossier"), say("For the shop only."), copied=False)
    sources = {name: f"picture:{name}" for name in kept}
    data = Attached("dossier.json", attached, "Data")
    return make(
        Request(
            template="sheets/dossier.html",
            title=title,
            context={"head": page, **view, "sources": _or_none(sources, view)},
            album=Album(kept=dict(kept)),
            address=printing.address(unit.serial, plan.gtin),
            attached=(attached_plan(plan), data),
            spelled=True,
        ),
        printing,
    )


def dossier_page(
    plan: Plan, unit: UnitFace, view: Mapping[str, object], kept: Kept, printing: Printing
) -> bytes:
    """The dossier as one HTML file: fonts, pictures and drawings inside it, nothing fetched from elsewhere.

    Raises:
        jinja2.TemplateError: one of the shop's own templates is wrong.
    """
    say: Words = printing.say
    shelves = printing.templates
    files = {"plain": fonts.SANS, "bold": fonts.SANS_BOLD, "mono": fonts.MONO_BOLD}
    faces = {name: _data(shelves.read(f"fonts/{file}.ttf"), "font/ttf") for name, file in files.items()}
    sources = {name: _data(content, media) for name, (content, media) in kept.items()}
    request = Request(
        template="sheets/dossier_page.html",
        title=say("Dossier {serial}, {title}", serial=unit.serial, title=plan.title),
        context={**view, "fonts": faces, "day": printing.day, "sources": _or_none(sources, view)},
    )
    return fill(request, printing).encode()


def _or_none(sources: Mapping[str, str], view: Mapping[str, object]) -> dict[str | None, str]:
    """An address for every photograph that is asked for; empty where no picture is kept."""
    wanted = view.get("photo_names", ())
    names = wanted if isinstance(wanted, tuple) else ()
    return {None: "", **dict.fromkeys(names, ""), **sources}


def _data(content: bytes, media: str) -> str:
    return f"data:{media};base64,{base64.b64encode(content).decode()}"
