"""The record of a unit as a printed sheet: its traveler as filled in, and lists at its end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Unpack

from traveler.definition.plan import Operation, Plan, Step
from traveler.record.entry import Entry
from traveler.sheets.entry_text import entry_text, state_word
from traveler.sheets.make import Request, make_in_each
from traveler.sheets.pdf.render import attached_entries, attached_plan
from traveler.sheets.pictures import Album
from traveler.sheets.sheet import Printing, PrintOptions, Sheet, UnitHeader
from traveler.sheets.views.boxes import FilledForm
from traveler.sheets.views.cover import cover
from traveler.sheets.views.head import head
from traveler.sheets.views.ledger import UNIT_EVENTS, Ledger
from traveler.sheets.views.record_boxes import box_contents, is_told_later, where
from traveler.sheets.views.steps import LabeledBox, OperationView, StepView, StepWriter, operation_view
from traveler.shop.people import People
from traveler.shop.settings import Settings
from traveler.verdict.judge import Verdict

PIECE = 350
"""Characters of one row; a longer text goes on in the next row, so that no row is taller than a page."""


@dataclass(frozen=True, slots=True)
class Correction:
    """An entry that was struck out, and by whom, when and why."""

    number: str
    where: str
    text: str
    by: str
    when: str
    reason: str
    struck_by: str
    struck_when: str


@dataclass(frozen=True, slots=True)
class EntryRow:
    """An entry in words. ``late``: when it was recorded, where that was late."""

    number: str
    where: str
    text: str
    by: str
    when: str
    late: str = ""


@dataclass(frozen=True, slots=True)
class Signatory:
    """Each person who wrote in the record: the id in the boxes, the name, and how many entries."""

    id: str
    name: str
    entries: str


@dataclass(frozen=True, slots=True)
class RecordEnd:
    """The last pages of a record; ``head`` is the last link of its chain."""

    corrections: tuple[Correction, ...]
    further: tuple[EntryRow, ...]
    late: tuple[EntryRow, ...]
    life: tuple[EntryRow, ...]
    people: tuple[Signatory, ...]
    count: str
    head: str
    state: str


def record_end(ledger: Ledger) -> RecordEnd:
    """Everything that the boxes of the record do not show."""
    entries = ledger.entries
    struck = [entry for entry in _in_order(ledger) if entry.seq in ledger.struck]
    further = [
        entry
        for entry in _in_order(ledger)
        if entry.seq not in ledger.struck and is_told_later(entry, ledger)
    ]
    told_before = {entry.seq for entry in further}
    late = [
        entry
        for entry in _in_order(ledger)
        if ledger.late(entry) and entry.seq not in told_before | ledger.struck.keys()
    ]
    life = [entry for entry in entries if entry.body.kind in UNIT_EVENTS and entry.seq not in ledger.struck]
    return RecordEnd(
        corrections=tuple(row for entry in struck for row in _correction(entry, ledger)),
        further=tuple(row for entry in further for row in _entry_rows(entry, ledger)),
        late=tuple(row for entry in late for row in _entry_rows(entry, ledger)),
        life=tuple(row for entry in life for row in _entry_rows(entry, ledger)),
        people=tuple(_people(ledger)),
        count=str(len(entries)),
        head=entries[-1].hash if entries else "",
        state=state_word(str(ledger.verdict.state), ledger.say),
    )


def _in_order(ledger: Ledger) -> list[Entry]:
    """The entries by their slot in the order of the work, those of the whole unit last; then by number."""
    ranks = {name: rank for rank, name in enumerate(ledger.plan.by_slot)}
    return sorted(ledger.entries, key=lambda entry: (ranks.get(entry.slot or "", len(ranks)), entry.seq))


def _correction(entry: Entry, ledger: Ledger) -> Iterator[Correction]:
    strike = ledger.struck[entry.seq]
    texts = _pieces(entry_text(entry.body, ledger.say))
    reasons = _pieces(getattr(strike.body, "reason", ""))
    for place in range(max(len(texts), len(reasons))):
        first = place == 0
        yield Correction(
            f"#{entry.seq}" if first else "",
            where(entry.slot, ledger) if first else "",
            texts[place] if place < len(texts) else "",
            entry.by if first else "",
            ledger.time(entry.at) if first else "",
            reasons[place] if place < len(reasons) else "",
            f"#{strike.seq} {strike.by}" if first else "",
            ledger.time(strike.at) if first else "",
        )


def _entry_rows(entry: Entry, ledger: Ledger) -> Iterator[EntryRow]:
    for place, text in enumerate(_pieces(entry_text(entry.body, ledger.say))):
        if place:
            yield EntryRow("", "", text, "", "")
            continue
        late = ledger.time(entry.recorded) if ledger.late(entry) else ""
        yield EntryRow(
            f"#{entry.seq}", where(entry.slot, ledger), text, entry.by, ledger.time(entry.at), late
        )


def _pieces(text: str) -> list[str]:
    """A text in pieces short enough for a row, cut between words where there are any."""
    pieces = []
    rest = " ".join(text.split())
    while len(rest) > PIECE:
        end = rest.rfind(" ", PIECE // 2, PIECE)
        end = end if end > 0 else PIECE
        pieces.append(rest[:end])
        rest = rest[end:].lstrip()
    return [*pieces, rest]


def _people(ledger: Ledger) -> Iterator[Signatory]:
    counted: dict[str, int] = {}
    for entry in ledger.entries:
        counted[entry.by] = counted.get(entry.by, 0) + 1
    for person in sorted(counted):
        name = ledger.name(person)
        yield Signatory(person, name if name != person else "", str(counted[person]))


def record_pdf(
    plan: Plan,
    unit: UnitHeader,
    verdict: Verdict,
    entries: Iterable[Entry],
    settings: Settings,
    printed: datetime,
    *,
    people: People | None = None,
    acceptance: Mapping[str, str] | None = None,
    **options: Unpack[PrintOptions],
) -> Sheet:
    """The traveler as it was filled in, as of ``printed``: no form, nothing to write in.

    Boxes hold the values as they were written, as found and as left; what was struck out stands struck
    through. A word beside a box says what is not simply good (out, doubtful, refused, concession, late),
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
        options: see :class:`traveler.sheets.sheet.Printing`.
    """
    printing = Printing(settings, printed, **options)
    album, kept = Album(printing.pictures), tuple(entries)

    def build(shown: Plan, printing: Printing) -> Request:
        say = printing.say
        ledger = Ledger(shown, kept, verdict, settings, people or People(), say)
        form = FilledForm(contents=box_contents(ledger))
        writer = StepWriter(form, say, acceptance or {}, album.picture)
        portrait = album.portrait(shown.product, shown.title)
        return Request(
            template="sheets/record.html",
            title=say("Record {serial}, {title}", serial=unit.serial, title=shown.title),
            context={
                "head": head(
                    shown, unit, printing, say("Record"), say("As recorded. Not a form."), copied=False
                ),
                "cover": cover(shown, unit, form, printing, portrait, stops=len(ledger.stops), spares=0),
                "operations": [_operation(operation, writer, ledger) for operation in shown.operations],
                "time": f"{ledger.time(printed)} ({settings.time_zone})",
                "end": record_end(ledger),
            },
            album=album,
            address=printing.address(unit.serial, plan.gtin),
            attached=(attached_plan(plan), attached_entries(kept)),
            spelled=True,
        )

    return make_in_each(build, plan, printing)


def _operation(operation: Operation, writer: StepWriter, ledger: Ledger) -> OperationView:
    """The view of one operation; each step says when it was done."""
    view = operation_view(operation, writer)
    steps = zip(operation.steps, view.steps, strict=True)
    return replace(view, steps=tuple(_dated(shown, _times(ledger, step)) for step, shown in steps))


def _dated(step: StepView, when: str) -> StepView:
    return replace(step, write=(*step.write, (LabeledBox(None, when),))) if when else step


def _times(ledger: Ledger, step: Step) -> str:
    """When a step was done: one moment, or from the first to the last."""
    moments = sorted(
        ledger.time(entry.at) for entry in ledger.of_step(step) if entry.body.kind != "witnessed"
    )
    if not moments:
        return ""
    first, last = moments[0], moments[-1]
    if first == last:
        return first
    same_day = first[:10] == last[:10]
    return f"{first} – {last[11:] if same_day else last}"
