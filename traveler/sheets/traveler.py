"""The traveler of a unit: cover, operations, final checklist, crating, spare lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from traveler.definition.plan import Plan
from traveler.sheets.attached import attached_plan
from traveler.sheets.boxes import Form
from traveler.sheets.cover_view import cover
from traveler.sheets.finish import Request, make_in_each
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
    texts: Sequence[Plan] = (),
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
        language: of the sheet, or two as ``es+en``; empty: the shop's.
        texts: the plan with its texts in each language of the sheet; empty: as ``plan`` has them.
        pictures: name → bytes.
        shelves: where templates come from; None: the shipped ones.
    """
    printing = Printing(settings, printed, copy_number, language, shelves or templates(), pictures)
    album = Album(pictures)

    def build(shown: Plan, printing: Printing) -> Request:
        say, form = printing.say, Form()
        writer = StepWriter(form, say, acceptance or {}, album.picture)
        rule = say("Pen only. Strike an error once, initial it.")
        return Request(
            template="sheets/traveler.html",
            title=say("Traveler {serial}, {title}", serial=unit.serial, title=shown.title),
            context={
                "head": head(shown, unit, printing, say("Traveler"), rule),
                "cover": cover(shown, unit, form, printing, album.portrait(shown.product, shown.title)),
                "operations": [operation_view(operation, writer) for operation in shown.operations],
            },
            form=form,
            album=album,
            address=printing.address(unit.serial, plan.gtin),
            attached=(attached_plan(plan),),
        )

    return make_in_each(build, plan, texts, printing)
