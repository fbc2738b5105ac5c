"""The traveler of a unit, and single operations of it as sheets of their own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TypedDict, Unpack

from traveler.definition.plan import Plan
from traveler.sheets.make import Request, make_in_each
from traveler.sheets.pdf.render import attached_plan
from traveler.sheets.pictures import Album
from traveler.sheets.sheet import PictureReader, Printing, Sheet, UnitHeader, no_pictures
from traveler.sheets.views.boxes import Form
from traveler.sheets.views.cover import cover
from traveler.sheets.views.head import head, identity
from traveler.sheets.views.steps import StepWriter, operation_view
from traveler.sheets.words import Templates, operation_title, templates
from traveler.shop.settings import Settings


def traveler_pdf(
    plan: Plan,
    unit: UnitHeader,
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
        rule = say("Pen only. Cross out errors with one line and initial them.")
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


FINAL, CRATING = "Q", "C"


class SheetOptions(TypedDict, total=False):
    """What may be told of a sheet besides plan, unit, shop and time; see :func:`operations_pdf`."""

    copy_number: int
    acceptance: Mapping[str, str] | None
    language: str
    texts: Sequence[Plan]
    pictures: PictureReader
    shelves: Templates | None


def operations_pdf(
    plan: Plan,
    unit: UnitHeader,
    settings: Settings,
    printed: datetime,
    numbers: tuple[str, ...],
    *,
    copy_number: int = 1,
    acceptance: Mapping[str, str] | None = None,
    language: str = "",
    texts: Sequence[Plan] = (),
    pictures: PictureReader = no_pictures,
    shelves: Templates | None = None,
) -> Sheet:
    """A sheet with these operations only. Its boxes are those of the traveler and are recorded alike.

    Raises:
        KeyError: the plan has no operation of one of these numbers.
    """
    printing = Printing(settings, printed, copy_number, language, shelves or templates(), pictures)
    album = Album(pictures)

    def build(shown: Plan, printing: Printing) -> Request:
        say, form = printing.say, Form()
        by_number = {operation.number: operation for operation in shown.operations}
        chosen = [by_number[number] for number in numbers]
        writer = StepWriter(form, say, acceptance or {}, album.picture)
        name = ", ".join(operation_title(operation, say) for operation in chosen)
        rule = say("Pen only. Cross out errors with one line and initial them.")
        return Request(
            template="sheets/operations.html",
            title=f"{name} {unit.serial}, {shown.title}",
            context={
                "head": head(shown, unit, printing, name, rule),
                "identity": identity(shown, unit, printing, form),
                "operations": [operation_view(operation, writer) for operation in chosen],
            },
            form=form,
            album=album,
            address=printing.address(unit.serial, plan.gtin),
            attached=(attached_plan(plan),),
        )

    return make_in_each(build, plan, texts, printing)


def final_checklist_pdf(
    plan: Plan, unit: UnitHeader, settings: Settings, printed: datetime, **more: Unpack[SheetOptions]
) -> Sheet:
    """The final checklist (operation Q) for the inspector.

    Raises:
        KeyError: the plan has none.
    """
    return operations_pdf(plan, unit, settings, printed, (FINAL,), **more)


def crating_pdf(
    plan: Plan, unit: UnitHeader, settings: Settings, printed: datetime, **more: Unpack[SheetOptions]
) -> Sheet:
    """The crating sheet with its packing list (operation C) for the packer.

    Raises:
        KeyError: the plan has none.
    """
    return operations_pdf(plan, unit, settings, printed, (CRATING,), **more)
