"""Printing sheets again; and for the first time where an issue was interrupted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from traveler.finding import Finding, Place, blocking
from traveler.jobs.batch import print_wishes
from traveler.jobs.cannot import CannotDo
from traveler.jobs.collated import Collation, collated_file, collated_serials
from traveler.jobs.face_sheet import FACE_SHEETS, TRAVELER, Wish
from traveler.jobs.judge import judge
from traveler.jobs.judged import Judged
from traveler.jobs.kinds import FEW
from traveler.jobs.office import Office
from traveler.jobs.printed import Printed
from traveler.jobs.printing import copies_of, sheet_file
from traveler.jobs.sheets import SHEETS, print_sheet
from traveler.jobs.units import known_unit
from traveler.jobs.wishes import Wishes
from traveler.jobs.write import write
from traveler.record.entry import Reprinted
from traveler.verdict.authority import may_act

IN_WORK = ("issued", "building", "inspection", "stopped")
"""States in which a traveler is needed."""


@dataclass(frozen=True, slots=True)
class Collating:
    """A batch on its way into one file: the file, how many units, and the units as they are laid into it."""

    into: Collation
    total: int
    printed: Iterator[Printed]


def print_new(office: Office, serials: Iterable[str]) -> Iterator[Printed]:
    """The first traveler of each unit, each as it is done; many are stamped by all cores.

    Findings: those of :func:`traveler.jobs.batch.print_wishes`; where a file cannot be written the rest is
    left to ``traveler print --missing``.

    Raises:
        CannotDo: no unit of one of the serials.
    """
    wanted, wishes = tuple(serials), Wishes(office)
    for printed in print_wishes(office, map(wishes.new, wanted), len(wanted)):
        yield printed
        if any(one.code == "PRT001" for one in printed.findings):
            return


def collate_new(office: Office, serials: Iterable[str], *, duplex: bool) -> Collating:
    """The first travelers of these units in one file, in the order given.

    Raises:
        CannotDo: no unit of one of the serials.
    """
    wanted, wishes = tuple(serials), Wishes(office)
    into = Collation(office, collated_file(office, TRAVELER, wanted or ("nothing",)), duplex)
    return Collating(into, len(wanted), into.printed(map(wishes.new, wanted), len(wanted)))


def first_copies_missing(office: Office) -> tuple[str, ...]:
    """The units in work whose first traveler is in the output folder neither alone nor in a collated file."""
    with office.store.reading() as records:
        units = [one for state in IN_WORK for one in records.units(state=state)]
    collated = collated_serials(office)
    found = (one.serial for one in units if not sheet_file(office, one.serial, TRAVELER).exists())
    return tuple(sorted(one for one in found if one not in collated))


def reprint(
    office: Office, serials: Iterable[str], order: str | None, by: str, sheet: str = TRAVELER
) -> Iterator[Printed]:
    """Prints a sheet of these units, and of all of the order, again; each reprint is an entry.

    The record of a unit is printed as it stands, as often as wanted: no copies are counted, nothing is
    written, and anybody may (``by`` is not looked at).

    Findings: PER001, PER003, GAT002 whoever prints may not; PRT002 the unit has no such sheet (yet).

    Raises:
        CannotDo: no unit of one of the serials, or none for the order.
    """
    wanted = asked_for(office, serials, order)
    if not SHEETS[sheet].counted:
        return (_print_uncounted(office, serial, sheet) for serial in wanted)
    if sheet not in FACE_SHEETS or len(wanted) < FEW:
        return (_reprint(office, serial, by, sheet) for serial in wanted)
    return print_wishes(office, wishes_again(office, wanted, by, sheet), len(wanted))


def collate_again(
    office: Office, serials: Iterable[str], order: str | None, by: str, sheet: str, *, duplex: bool
) -> Collating:
    """The same in one file, in the order given, then in that of the order; see :func:`reprint`.

    Raises:
        CannotDo: as :func:`reprint`; or the sheet is none that many units have alike.
    """
    if sheet not in FACE_SHEETS:
        what = f"a {sheet.replace('-', ' ')} is a unit's own and does not go into one file with others"
        raise CannotDo(what, f"collated are {', '.join(sorted(FACE_SHEETS))}")
    wanted = asked_for(office, serials, order)
    into = Collation(office, collated_file(office, sheet, wanted), duplex)
    wishes = wishes_again(office, wanted, by, sheet)
    return Collating(into, len(wanted), into.printed(wishes, len(wanted)))


def asked_for(office: Office, serials: Iterable[str], order: str | None) -> tuple[str, ...]:
    """These units and all of the order, each once.

    Raises:
        CannotDo: no unit of one of the serials, or none for the order.
    """
    wanted = tuple(dict.fromkeys([*serials, *_of_order(office, order)]))
    with office.store.reading() as records:
        for serial in wanted:
            known_unit(records, serial)
    return wanted


def _of_order(office: Office, order: str | None) -> tuple[str, ...]:
    if order is None:
        return ()
    with office.store.reading() as records:
        units = records.units(order=order)
    if not units:
        what = f"no unit was issued for order {order}"
        raise CannotDo(what, "compare it with the traveler's head")
    return tuple(one.serial for one in units)


def _print_uncounted(office: Office, serial: str, sheet: str) -> Printed:
    with office.store.reading() as records:
        judged = judge(office, records, serial)
    refused = _not_there(judged, sheet)
    return Printed(serial, (), tuple(refused)) if refused else print_sheet(office, judged, sheet)


def _reprint(office: Office, serial: str, by: str, sheet: str) -> Printed:
    noted = _noted(office, serial, by, sheet)
    return (
        noted if isinstance(noted, Printed) else print_sheet(office, noted.judged, sheet, noted.copy_number)
    )


def wishes_again(office: Office, serials: Iterable[str], by: str, sheet: str) -> Iterator[Wish | Printed]:
    """A wish for each unit's next copy, noted in its records; findings where there may be none."""
    wishes = Wishes(office)
    for serial in serials:
        noted = _noted(office, serial, by, sheet)
        yield noted if isinstance(noted, Printed) else wishes.again(noted.judged, sheet, noted.copy_number)


@dataclass(frozen=True, slots=True)
class Noted:
    """A reprint that is in the records: the unit as it stands with it, and the copy's number."""

    judged: Judged
    copy_number: int


def _noted(office: Office, serial: str, by: str, sheet: str) -> Noted | Printed:
    shop = office.shop
    refused = may_act("reprint", by, office.today, shop.people, shop.settings, place=Place(unit=serial))
    with office.store.transaction() as work:
        judged = judge(office, work, serial)
        refused += _not_there(judged, sheet)
        if blocking(refused):
            work.abandon()
            return Printed(serial, (), tuple(refused))
        number = copies_of(judged.entries, sheet) + 1
        draft = office.draft(serial, by, Reprinted(sheet=sheet, copy_number=number))
        write(office, work, [draft], judged.entries, judged.plan)
        return Noted(judge(office, work, serial), number)


def _not_there(judged: Judged, sheet: str) -> list[Finding]:
    if SHEETS[sheet].wanted(judged):
        return []
    what = f"{judged.unit.serial} has no {sheet.replace('-', ' ')}: it is {judged.unit.state}"
    hint = "it comes with the release" if SHEETS[sheet].released else "its definition asks for none"
    return [Finding("PRT002", what, Place(unit=judged.unit.serial), hint=hint)]
