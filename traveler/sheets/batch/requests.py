"""Print jobs made from the records, and the files that sheets are kept in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from traveler.definition.plan import Plan
from traveler.files import write_whole
from traveler.record.entry import Entry, Issued, Reprinted, Shipped, standing_entries
from traveler.record.errors import StoreDamaged
from traveler.record.plans import issued_with, known_unit, plan_as_issued, texts_as_issued
from traveler.record.readers.blank import blank_csv, blank_yaml
from traveler.record.records import Unit
from traveler.sheets.batch.print_job import (
    PACKING_LIST,
    TRAVELER,
    PrintContext,
    Printed,
    PrintJob,
    SheetOrder,
    not_written,
)
from traveler.sheets.definition_pictures import picture_reader
from traveler.sheets.pictures import PICTURE_ENDINGS
from traveler.sheets.sheet import Sheet, UnitHeader
from traveler.shop.session import Session
from traveler.verdict.judge import Judged, weighed_mass


def unit_header(session: Session, unit: Unit, entries: Sequence[Entry]) -> UnitHeader:
    """What sheets show of the unit."""
    stand = standing_entries(entries)
    issued = next((entry.body for entry in stand if isinstance(entry.body, Issued)), None)
    shipped = next((entry.body for entry in reversed(stand) if isinstance(entry.body, Shipped)), None)
    return UnitHeader(
        serial=unit.serial,
        order=unit.order,
        due=issued.due if issued is not None else None,
        issued=session.day(unit.issued).isoformat(),
        customer=shipped.customer if shipped is not None else None,
        quantity=unit.quantity,
    )


def sheet_file(session: Session, serial: str, sheet: str, copy_number: int = 1) -> Path:
    """Where a sheet of a unit lies: ``travelers/SERIAL/traveler.pdf``, reprints as ``…-copy-2.pdf``."""
    copied = f"-copy-{copy_number}" if copy_number > 1 else ""
    return session.shop.output / serial / f"{sheet}{copied}.pdf"


def keep(session: Session, serial: str, name: str, sheet: Sheet, copy_number: int = 1) -> Printed:
    """Writes a finished sheet; one that a finding stands in the way of is not written.

    Findings: the sheet's, and PRT001 the file could not be written.
    """
    if not sheet.printed:
        return Printed(serial, (), sheet.findings)
    file = sheet_file(session, serial, name, copy_number)
    try:
        return Printed(serial, (write_whole(file, sheet.pdf),), sheet.findings)
    except OSError as problem:
        return Printed(serial, (), (*sheet.findings, not_written(serial, file, problem)))


def texts_of(session: Session, entries: Sequence[Entry], *, customer: bool = False) -> tuple[Plan, ...]:
    """The plan of a unit with its texts in each language of a sheet.

    Raises:
        StoreDamaged: the entries do not begin with an issue, or its definition cannot be read any more.
    """
    issued = entries[0].body if entries else None
    if not isinstance(issued, Issued):
        what = "the records of this unit do not begin with its issue"
        raise StoreDamaged(what, "run 'traveler records verify', and compare with a backup")
    with session.store.reading() as records:
        return texts_as_issued(records, issued, session.speaks(customer=customer))


def render_traveler(
    session: Session, shown: UnitHeader, plan: Plan, copy_number: int = 1, texts: Sequence[Plan] = ()
) -> Sheet:
    """The traveler of a unit as a finished sheet; ``texts`` as :func:`texts_of` gives them."""
    pictures = shown_pictures(session, plan)
    sheet = SheetOrder(TRAVELER, plan, tuple(texts), session.speaks(), pictures, copy_number)
    return sheet.render(PrintContext(session.shop, session.now), shown)


def shown_pictures(session: Session, plan: Plan) -> Mapping[str, bytes]:
    """The pictures of the steps and of the cover, as sheets of the plan show them, by name."""
    read = picture_reader(session, plan.digest)
    names = {step.picture for step in plan.steps() if step.picture}
    names |= {f"{plan.product}.{ending}" for ending in PICTURE_ENDINGS}
    return {name: content for name in sorted(names) if (content := read(name)) is not None}


def copies_of(entries: Sequence[Entry], sheet: str) -> int:
    """How many copies of a sheet were printed: the first with the issue, then one for each reprint."""
    reprints = (entry.body for entry in entries if isinstance(entry.body, Reprinted))
    return max((reprint.copy_number for reprint in reprints if reprint.sheet == sheet), default=1)


MOST = 8
"""Definitions and variants whose pictures are kept at a time."""


@dataclass(slots=True)
class PrintJobs:
    """Makes print jobs; pictures are read once for each definition and variant."""

    session: Session
    seen: dict[tuple[str, str, tuple[str, ...]], Mapping[str, bytes]] = field(default_factory=dict)

    def new(self, serial: str) -> PrintJob:
        """The first traveler of a unit.

        Raises:
            CannotDo: no unit of this serial was issued here.
            StoreDamaged: its records do not begin with its issue, or its definition cannot be read.
        """
        language = self.session.speaks()
        with self.session.store.reading() as records:
            unit = known_unit(records, serial)
            entries, issued = records.entries(serial), issued_with(records, unit)
            plan, texts = plan_as_issued(records, issued), texts_as_issued(records, issued, language)
        shown = unit_header(self.session, unit, entries)
        return PrintJob(shown, SheetOrder(TRAVELER, plan, texts, language, self.pictures(plan)))

    def again(self, judged: Judged, name: str, copy_number: int) -> PrintJob:
        """A sheet of a unit that shows nothing of it but its header (and on packing lists its mass)."""
        packed, plan = name == PACKING_LIST, judged.plan
        texts, language = (
            texts_of(self.session, judged.entries, customer=packed),
            self.session.speaks(customer=packed),
        )
        mass = weighed_mass(judged) if packed else None
        sheet = SheetOrder(name, plan, texts, language, self.pictures(plan), copy_number, mass)
        return PrintJob(unit_header(self.session, judged.unit, judged.entries), sheet)

    def pictures(self, plan: Plan) -> Mapping[str, bytes]:
        """The pictures that sheets of this plan may show, by name."""
        key = (plan.digest, plan.variant, plan.options)
        if key not in self.seen:
            self.seen[key] = shown_pictures(self.session, plan)
            if len(self.seen) > MOST:
                del self.seen[next(iter(self.seen))]
        return self.seen[key]


def blank_file(session: Session, serial: str, kind: Literal["csv", "yaml"]) -> str:
    """The text of a results file with every slot of the unit, nothing filled in.

    What the slots are called is in the language of the unit's sheets, of two in the first.

    Raises:
        CannotDo: no unit of this serial was issued here.
    """
    with session.store.reading() as records:
        issued = issued_with(records, known_unit(records, serial))
        plan = texts_as_issued(records, issued, session.speaks())[0]
    return blank_csv(plan, serial) if kind == "csv" else blank_yaml(plan, serial)
