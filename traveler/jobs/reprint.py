"""Printing travelers: the first copies after an issue, and reprints, which are recorded."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from traveler.finding import Finding, Place, blocking
from traveler.jobs.cannot import CannotDo
from traveler.jobs.office import Office
from traveler.jobs.plans import plan_of
from traveler.jobs.printing import TRAVELER, Printed, copies_of, print_traveler, sheet_file
from traveler.jobs.units import known_unit
from traveler.jobs.write import write
from traveler.record.entry import Reprinted
from traveler.verdict.authority import may_act


def print_new(office: Office, serials: Iterable[str]) -> Iterator[Printed]:
    """The first traveler of each unit, one after the other.

    Raises:
        OSError: the folder cannot be written to; 'traveler print --missing' goes on where this stopped.
    """
    for serial in serials:
        with office.store.reading() as records:
            unit = known_unit(records, serial)
            entries, plan = records.entries(serial), plan_of(records, unit)
        yield print_traveler(office, unit, entries, plan)


def first_copies_missing(office: Office) -> tuple[str, ...]:
    """The units in work whose first traveler is not in the output folder."""
    with office.store.reading() as records:
        units = [one for state in IN_WORK for one in records.units(state=state)]
    found = (one.serial for one in units if not sheet_file(office, one.serial, TRAVELER).exists())
    return tuple(sorted(found))


IN_WORK = ("issued", "building", "inspection", "stopped")
"""States in which a traveler is needed."""


def reprint(office: Office, serials: Iterable[str], order: str | None, by: str) -> tuple[Printed, ...]:
    """Prints the travelers of these units, and of all of the order, again; each reprint is an entry.

    Findings: PER001, PER003, GAT002 whoever prints may not. Then nothing is printed.

    Raises:
        CannotDo: no unit of one of the serials, or none for the order.
    """
    wanted = list(dict.fromkeys([*serials, *_of_order(office, order)]))
    with office.store.reading() as records:
        for serial in wanted:
            known_unit(records, serial)
    return tuple(_reprint(office, serial, by) for serial in wanted)


def _of_order(office: Office, order: str | None) -> tuple[str, ...]:
    if order is None:
        return ()
    with office.store.reading() as records:
        units = records.units(order=order)
    if not units:
        what = f"no unit was issued for order {order}"
        raise CannotDo(what, "compare it with the traveler's head")
    return tuple(one.serial for one in units)


def _reprint(office: Office, serial: str, by: str) -> Printed:
    refused = _may(office, serial, by)
    if blocking(refused):
        return Printed(serial, (), refused)
    with office.store.transaction() as work:
        unit = known_unit(work, serial)
        before, plan = work.entries(serial), plan_of(work, unit)
        number = copies_of(before, TRAVELER) + 1
        draft = office.draft(serial, by, Reprinted(sheet=TRAVELER, copy_number=number))
        entries = write(office, work, [draft], before, plan)
    return print_traveler(office, unit, entries, plan, number)


def _may(office: Office, serial: str, by: str) -> tuple[Finding, ...]:
    shop = office.shop
    return tuple(may_act("reprint", by, office.today, shop.people, shop.settings, place=Place(unit=serial)))
