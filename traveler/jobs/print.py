"""Printing sheets again; and for the first time where an issue was interrupted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from traveler.finding import CannotDo, Finding, Place
from traveler.jobs.append import Proposal, append
from traveler.jobs.sign import allowed
from traveler.record.entry import Reprinted
from traveler.record.plans import known_unit
from traveler.record.store import Transaction
from traveler.sheets.batch.catalog import SHEETS, print_sheet
from traveler.sheets.batch.print_job import BATCH_SHEETS, TRAVELER, Printed, PrintJob
from traveler.sheets.batch.print_many import Collation, collated_file, collated_serials, print_jobs
from traveler.sheets.batch.requests import PrintJobs, copies_of, sheet_file
from traveler.sheets.batch.templates import FEW
from traveler.shop.session import Session
from traveler.text import did_you_mean
from traveler.trace.judging import judge
from traveler.verdict.judge import Judged
from traveler.verdict.state import UNRELEASED


@dataclass(frozen=True, slots=True)
class Collating:
    """A batch on its way into one file: the file, how many units, and the units as they are laid into it."""

    into: Collation
    total: int
    printed: Iterator[Printed]


def print_new(session: Session, serials: Iterable[str]) -> Iterator[Printed]:
    """The first traveler of each unit, each as it is done; many are stamped by all cores.

    Findings: those of :func:`traveler.sheets.batch.print_many.print_jobs`; where a file cannot be written
    the rest is left to ``traveler print --missing``.

    Raises:
        CannotDo: no unit of one of the serials.
    """
    wanted, jobs = tuple(serials), PrintJobs(session)
    for printed in print_jobs(session, map(jobs.new, wanted), len(wanted)):
        yield printed
        if any(finding.code == "PRT001" for finding in printed.findings):
            return


def collate_new(session: Session, serials: Iterable[str], *, duplex: bool) -> Collating:
    """The first travelers of these units in one file, in the order given.

    Raises:
        CannotDo: no unit of one of the serials.
    """
    wanted, jobs = tuple(serials), PrintJobs(session)
    into = Collation(session, collated_file(session, TRAVELER, wanted or ("nothing",)), duplex)
    return Collating(into, len(wanted), into.printed(map(jobs.new, wanted), len(wanted)))


def first_copies_missing(session: Session) -> tuple[str, ...]:
    """The units in work whose first traveler is in the output folder neither alone nor in a collated file."""
    with session.store.reading() as records:
        units = [unit for state in UNRELEASED for unit in records.units(state=state)]
    collated = collated_serials(session)
    found = (unit.serial for unit in units if not sheet_file(session, unit.serial, TRAVELER).exists())
    return tuple(sorted(serial for serial in found if serial not in collated))


def reprint(
    session: Session, serials: Iterable[str], order: str | None, by: str, sheet: str = TRAVELER
) -> Iterator[Printed]:
    """Prints a sheet of these units, and of all of the order, again; each reprint is an entry.

    The record of a unit is printed as it stands, as often as wanted: no copies are counted, nothing is
    written, and anybody may (``by`` is not looked at).

    Findings: PER001, PER003, GAT002 the person who prints may not; PRT002 the unit has no such sheet (yet).

    Raises:
        CannotDo: no unit of one of the serials, or none for the order.
    """
    wanted = units_to_print(session, serials, order)
    if not SHEETS[sheet].counted:
        return (_print_uncounted(session, serial, sheet) for serial in wanted)
    if sheet not in BATCH_SHEETS or len(wanted) < FEW:
        return (_reprint(session, serial, by, sheet) for serial in wanted)
    return print_jobs(session, jobs_again(session, wanted, by, sheet), len(wanted))


def collate_again(
    session: Session, serials: Iterable[str], order: str | None, by: str, sheet: str, *, duplex: bool
) -> Collating:
    """The same in one file, in the order given, then in that of the order; see :func:`reprint`.

    Raises:
        CannotDo: as :func:`reprint`; or the sheet is none that many units have alike.
    """
    if sheet not in BATCH_SHEETS:
        what = f"--collate does not work for the {sheet.replace('-', ' ')}"
        raise CannotDo(what, f"it works for {', '.join(sorted(BATCH_SHEETS))}")
    wanted = units_to_print(session, serials, order)
    into = Collation(session, collated_file(session, sheet, wanted), duplex)
    jobs = jobs_again(session, wanted, by, sheet)
    return Collating(into, len(wanted), into.printed(jobs, len(wanted)))


def units_to_print(session: Session, serials: Iterable[str], order: str | None) -> tuple[str, ...]:
    """These units and all of the order, each once.

    Raises:
        CannotDo: no unit of one of the serials, or none for the order.
    """
    wanted = tuple(dict.fromkeys([*serials, *_of_order(session, order)]))
    with session.store.reading() as records:
        for serial in wanted:
            known_unit(records, serial)
    return wanted


def _of_order(session: Session, order: str | None) -> tuple[str, ...]:
    if order is None:
        return ()
    with session.store.reading() as records:
        units = records.units(order=order)
        if not units:
            what = f"no unit was issued for order {order}"
            hint = did_you_mean(order, records.values("order"), "compare it with the traveler's head")
            raise CannotDo(what, hint)
    return tuple(unit.serial for unit in units)


def _print_uncounted(session: Session, serial: str, sheet: str) -> Printed:
    with session.store.reading() as records:
        judged = judge(session, records, serial)
    refused = _not_there(judged, sheet)
    return Printed(serial, (), tuple(refused)) if refused else print_sheet(session, judged, sheet)


def _reprint(session: Session, serial: str, by: str, sheet: str) -> Printed:
    counted = _counted(session, serial, by, sheet)
    return counted if isinstance(counted, Printed) else print_sheet(session, counted[0], sheet, counted[1])


def jobs_again(session: Session, serials: Iterable[str], by: str, sheet: str) -> Iterator[PrintJob | Printed]:
    """A print job for each unit's next copy, noted in its records; findings where there may be none."""
    jobs = PrintJobs(session)
    for serial in serials:
        counted = _counted(session, serial, by, sheet)
        yield counted if isinstance(counted, Printed) else jobs.again(counted[0], sheet, counted[1])


def _counted(session: Session, serial: str, by: str, sheet: str) -> tuple[Judged, int] | Printed:
    """The unit with its next copy noted in its records, and the number of that copy; or why there is none."""

    def propose(before: Judged, _: Transaction) -> Proposal:
        copy = Reprinted(sheet=sheet, copy_number=copies_of(before.entries, sheet) + 1)
        findings = (*allowed(session, "reprint", by, serial=serial), *_not_there(before, sheet))
        return Proposal([session.draft(serial, by, copy)], findings)

    done = append(session, serial, propose)
    if not done.taken:
        return Printed(serial, (), done.findings)
    return done.judged, copies_of(done.judged.entries, sheet)


def _not_there(judged: Judged, sheet: str) -> list[Finding]:
    if SHEETS[sheet].wanted(judged):
        return []
    what = f"{judged.unit.serial} has no {sheet.replace('-', ' ')}: its state is '{judged.unit.state}'"
    hint = "print it after the release" if SHEETS[sheet].released else "its definition asks for none"
    return [Finding("PRT002", what, Place(unit=judged.unit.serial), hint=hint)]
