"""The record of a unit as a printed sheet: its traveler, filled in with what was recorded."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from traveler.definition.plan import Operation, Plan, Step
from traveler.record.entry import Entry
from traveler.sheets.attached import attached_entries, attached_plan
from traveler.sheets.cover_view import cover
from traveler.sheets.filled import FilledForm
from traveler.sheets.finish import Request, make_in_each
from traveler.sheets.head_view import head
from traveler.sheets.ledger import Ledger
from traveler.sheets.operation_writer import operation_view
from traveler.sheets.pictures import Album
from traveler.sheets.record_boxes import contents
from traveler.sheets.record_lists import record_end
from traveler.sheets.resources import Templates, templates
from traveler.sheets.sheet import PictureReader, Printing, Sheet, UnitFace, no_pictures
from traveler.sheets.step_view import Labelled, OperationView, StepView
from traveler.sheets.step_writer import StepWriter
from traveler.shop.people import People
from traveler.shop.settings import Settings
from traveler.verdict.outcome import Verdict


def record_pdf(
    plan: Plan,
    unit: UnitFace,
    verdict: Verdict,
    entries: Iterable[Entry],
    settings: Settings,
    printed: datetime,
    *,
    people: People | None = None,
    acceptance: Mapping[str, str] | None = None,
    language: str = "",
    texts: Sequence[Plan] = (),
    pictures: PictureReader = no_pictures,
    shelves: Templates | None = None,
) -> Sheet:
    """The traveler as it was filled in, as of ``printed``: no form, nothing to write in.

    Boxes hold the values as they were written, as found and as left; what was struck out stands struck
    through. A word beside a box says what is not simply good (out, doubtful, refused, conceded, late),
    ``#17`` leads to entry 17 in the lists at the end, where everything stands that a box is too small for.
    Count of entries and last link of the chain close the record. The plan and all entries are attached.

    Args:
        plan: what the unit is built to.
        unit: serial, order, dates.
        verdict: the states of its slots.
        entries: all of its entries, struck ones too.
        settings: the shop's.
        printed: the moment the record is true of, with zone.
        people: names for the ids in the record.
        acceptance: check id → acceptance limits as a person would write them, where guarded.
        language: of the sheet, or two as ``es+en``; empty: the shop's.
        texts: the plan with its texts in each language of the sheet; empty: as ``plan`` has them.
        pictures: name → bytes.
        shelves: where templates come from; None: the shipped ones.
    """
    printing = Printing(settings, printed, 1, language, shelves or templates(), pictures)
    album, kept = Album(pictures), tuple(entries)

    def build(shown: Plan, printing: Printing) -> Request:
        say = printing.say
        ledger = Ledger(shown, kept, verdict, settings, people or People(), say)
        form = FilledForm(contents=contents(ledger))
        writer = StepWriter(form, say, acceptance or {}, album.picture)
        portrait = album.portrait(shown.product, shown.title)
        return Request(
            template="sheets/record.html",
            title=say("Record {serial}, {title}", serial=unit.serial, title=shown.title),
            context={
                "head": head(
                    shown, unit, printing, say("Record"), say("As recorded; no form."), copied=False
                ),
                "cover": cover(shown, unit, form, printing, portrait, stops=len(ledger.stops), spares=0),
                "operations": [_operation(one, writer, ledger) for one in shown.operations],
                "time": f"{ledger.time(printed)} ({settings.time_zone})",
                "end": record_end(ledger),
            },
            album=album,
            address=printing.address(unit.serial, plan.gtin),
            attached=(attached_plan(plan), attached_entries(kept)),
            spelled=True,
        )

    return make_in_each(build, plan, texts, printing)


def _operation(operation: Operation, writer: StepWriter, ledger: Ledger) -> OperationView:
    """The view of one operation; each step says when it was done."""
    view = operation_view(operation, writer)
    steps = zip(operation.steps, view.steps, strict=True)
    return replace(view, steps=tuple(_dated(shown, _times(ledger, step)) for step, shown in steps))


def _dated(step: StepView, when: str) -> StepView:
    return replace(step, write=(*step.write, (Labelled(None, when),))) if when else step


def _times(ledger: Ledger, step: Step) -> str:
    """When a step was done: one moment, or from the first to the last."""
    moments = sorted(ledger.time(one.at) for one in ledger.of_step(step) if one.body.kind != "witnessed")
    if not moments:
        return ""
    first, last = moments[0], moments[-1]
    if first == last:
        return first
    same_day = first[:10] == last[:10]
    return f"{first} – {last[11:] if same_day else last}"
