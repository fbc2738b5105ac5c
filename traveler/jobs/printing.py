"""Sheets of a unit as files: rendered whole, written whole, counted as copies."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from traveler.definition.plan import Plan
from traveler.jobs.face_sheet import TRAVELER, FaceSheet, Room
from traveler.jobs.office import Office
from traveler.jobs.pictures import picture_reader
from traveler.jobs.plans import texts_as_issued
from traveler.jobs.printed import Printed, not_written
from traveler.jobs.whole_file import write_whole
from traveler.record.entry import Entry, Issued, Reprinted, Shipped
from traveler.record.trouble import StoreDamaged
from traveler.record.unit import Unit
from traveler.sheets.pictures import ENDINGS
from traveler.sheets.sheet import Sheet, UnitFace
from traveler.verdict.counting import counting


def face(office: Office, unit: Unit, entries: Sequence[Entry]) -> UnitFace:
    """What sheets show of the unit."""
    stand = counting(entries)
    issued = next((one.body for one in stand if isinstance(one.body, Issued)), None)
    shipped = next((one.body for one in reversed(stand) if isinstance(one.body, Shipped)), None)
    return UnitFace(
        serial=unit.serial,
        order=unit.order,
        due=issued.due if issued is not None else None,
        issued=office.day(unit.issued).isoformat(),
        customer=shipped.customer if shipped is not None else None,
        quantity=unit.quantity,
    )


def sheet_file(office: Office, serial: str, sheet: str, copy_number: int = 1) -> Path:
    """Where a sheet of a unit lies: ``travelers/SERIAL/traveler.pdf``, reprints as ``…-copy-2.pdf``."""
    copied = f"-copy-{copy_number}" if copy_number > 1 else ""
    return office.shop.output / serial / f"{sheet}{copied}.pdf"


def keep(office: Office, serial: str, name: str, sheet: Sheet, copy_number: int = 1) -> Printed:
    """Writes a finished sheet; one that a finding stands in the way of is not written.

    Findings: the sheet's, and PRT001 the file could not be written.
    """
    if not sheet.printed:
        return Printed(serial, (), sheet.findings)
    file = sheet_file(office, serial, name, copy_number)
    try:
        return Printed(serial, (write_whole(file, sheet.pdf),), sheet.findings)
    except OSError as problem:
        return Printed(serial, (), (*sheet.findings, not_written(serial, file, problem)))


def texts_of(office: Office, entries: Sequence[Entry], *, customer: bool = False) -> tuple[Plan, ...]:
    """The plan of a unit with its texts in each language of a sheet.

    Raises:
        StoreDamaged: the entries do not begin with an issue, or its definition cannot be read any more.
    """
    issued = entries[0].body if entries else None
    if not isinstance(issued, Issued):
        what = "the records of this unit do not begin with its issue"
        raise StoreDamaged(what, "run 'traveler verify', and compare with a backup")
    with office.store.reading() as records:
        return texts_as_issued(records, issued, office.speaks(customer=customer))


def render_traveler(
    office: Office, shown: UnitFace, plan: Plan, copy_number: int = 1, texts: Sequence[Plan] = ()
) -> Sheet:
    """The traveler of a unit as a finished sheet; ``texts`` as :func:`texts_of` gives them."""
    pictures = shown_pictures(office, plan)
    sheet = FaceSheet(TRAVELER, plan, tuple(texts), office.speaks(), pictures, copy_number)
    return sheet.render(Room(office.shop, office.now), shown)


def shown_pictures(office: Office, plan: Plan) -> Mapping[str, bytes]:
    """The pictures of the steps and of the cover, as sheets of the plan show them, by name."""
    read = picture_reader(office, plan.digest)
    names = {step.picture for step in plan.steps() if step.picture}
    names |= {f"{plan.product}.{ending}" for ending in ENDINGS}
    return {name: content for name in sorted(names) if (content := read(name)) is not None}


def copies_of(entries: Sequence[Entry], sheet: str) -> int:
    """How many copies of a sheet were printed: the first with the issue, then one for each reprint."""
    reprints = (one.body for one in entries if isinstance(one.body, Reprinted))
    return max((one.copy_number for one in reprints if one.sheet == sheet), default=1)
