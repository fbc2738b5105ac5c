"""The traveler of a unit: cover, operations, final checklist, crating, spare lines."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from traveler.definition.plan import Plan
from traveler.sheets.attached import attached_plan
from traveler.sheets.boxes import Form
from traveler.sheets.cover_view import cover
from traveler.sheets.finish import Request, make
from traveler.sheets.head_view import head
from traveler.sheets.operation_writer import operation_view
from traveler.sheets.pictures import Album
from traveler.sheets.resources import Templates, templates
from traveler.sheets.sheet import PictureReader, Printing, Sheet, UnitFace, no_pictures
from traveler.sheets.step_writer import StepWriter
from traveler.shop.settings import Settings


def traveler_pdf(
    plan: Plan,
    unit: UnitFace,
    settings: Settings,
    printed: datetime,
    *,
    copy_number: int = 1,
    acceptance: Mapping[str, str] | None = None,
    language: str = "",
    pictures: PictureReader = no_pictures,
    shelves: Templates | None = None,
) -> Sheet:
    """The traveler as a fillable PDF with the plan attached.

    Args:
        plan: what the unit is built to.
        unit: serial, order, dates.
        settings: the shop's name, paper, language, base URL.
        printed: time of printing, with zone; the same time gives the same bytes.
        copy_number: 1 for the first print; a reprint says so on every page.
        acceptance: check id → acceptance limits as a person would write them, where guarded.
        language: of the sheet's own words; empty: the shop's.
        pictures: name → bytes.
        shelves: where templates come from; None: the shipped ones.
    """
    printing = Printing(settings, printed, copy_number, language, shelves or templates(), pictures)
    say, form, album = printing.say, Form(), Album(pictures)
    writer = StepWriter(form, say, acceptance or {}, album.picture)
    page = head(plan, unit, printing, say("Traveler"), say("Pen only. Strike an error once, initial it."))
    context = {
        "head": page,
        "cover": cover(plan, unit, form, printing, album.portrait(plan.product, plan.title)),
        "operations": [operation_view(operation, writer) for operation in plan.operations],
    }
    return make(
        Request(
            template="sheets/traveler.html",
            title=say("Traveler {serial}, {title}", serial=unit.serial, title=plan.title),
            context=context,
            form=form,
            album=album,
            address=printing.address(unit.serial, plan.gtin),
            attached=(attached_plan(plan),),
        ),
        printing,
    )
