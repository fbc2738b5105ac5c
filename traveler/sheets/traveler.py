"""The traveler of a unit, and single operations of it as sheets of their own."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Unpack

from traveler.definition.plan import Plan
from traveler.sheets.make import Request, make_in_each
from traveler.sheets.pdf.render import attached_plan
from traveler.sheets.pictures import Album
from traveler.sheets.sheet import Printing, PrintOptions, Sheet, UnitHeader
from traveler.sheets.views.boxes import Form
from traveler.sheets.views.cover import cover
from traveler.sheets.views.head import head, identity
from traveler.sheets.views.steps import StepWriter, operation_view
from traveler.sheets.words import operation_title
from traveler.shop.settings import Settings


def traveler_pdf(
    plan: Plan, unit: UnitHeader, settings: Settings, printed: datetime,
    *, acceptance: Mapping[str, str] | None = None, **options: Unpack[PrintOptions],
) -> Sheet:  # fmt: skip
    """The traveler as a fillable PDF with the plan attached; the same time of printing, the same bytes.

    ``acceptance``: check id → acceptance limits as a person would write them, where guarded.
    """
    return _work_sheet(plan, unit, Printing(settings, printed, **options), acceptance or {}, None)


def operations_pdf(
    plan: Plan, unit: UnitHeader, settings: Settings, printed: datetime, numbers: tuple[str, ...],
    *, acceptance: Mapping[str, str] | None = None, **options: Unpack[PrintOptions],
) -> Sheet:  # fmt: skip
    """A sheet with these operations only. Its boxes are those of the traveler and are recorded alike.

    Raises:
        KeyError: the plan has no operation of one of these numbers.
    """
    return _work_sheet(plan, unit, Printing(settings, printed, **options), acceptance or {}, numbers)


def _work_sheet(
    plan: Plan, unit: UnitHeader, printing: Printing, acceptance: Mapping[str, str],
    numbers: tuple[str, ...] | None,
) -> Sheet:  # fmt: skip
    """The whole traveler with its cover, or the operations of these numbers."""
    album = Album(printing.pictures)

    def build(shown: Plan, printing: Printing) -> Request:
        say, form = printing.say, Form()
        writer = StepWriter(form, say, acceptance, album.picture)
        by_number = {operation.number: operation for operation in shown.operations}
        chosen = [by_number[number] for number in (by_number if numbers is None else numbers)]
        rule = say("Pen only. Cross out errors with one line and initial them.")
        if numbers is None:
            name, title = (
                say("Traveler"),
                say("Traveler {serial}, {title}", serial=unit.serial, title=shown.title),
            )
            picture = album.portrait(shown.product, shown.title)
            first: dict[str, object] = {"cover": cover(shown, unit, form, printing, picture)}
        else:
            name = ", ".join(operation_title(operation, say) for operation in chosen)
            title = f"{name} {unit.serial}, {shown.title}"
            first = {"identity": identity(shown, unit, printing, form)}
        return Request(
            template="sheets/traveler.html" if numbers is None else "sheets/operations.html",
            title=title,
            context={
                "head": head(shown, unit, printing, name, rule),
                **first,
                "operations": [operation_view(operation, writer) for operation in chosen],
            },
            form=form,
            album=album,
            address=printing.address(unit.serial, plan.gtin),
            attached=(attached_plan(plan),),
        )

    return make_in_each(build, plan, printing)
