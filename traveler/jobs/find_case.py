"""The case that a person names: by its serial, or by serial and number."""

from __future__ import annotations

from collections.abc import Sequence

from traveler.jobs.cannot import CannotDo
from traveler.jobs.units import checked_serial
from traveler.record.records import Records
from traveler.trace.cases import CaseFile, cases_of


def split_name(text: str) -> tuple[str, int | None]:
    """``SERIAL/NUMBER`` as serial and number; without a number None.

    Raises:
        CannotDo: the serial cannot be right, or the number is none.
    """
    serial, slash, number = text.strip().rpartition("/") if "/" in text else (text, "", "")
    if slash and not (number.isascii() and number.isdigit()):
        what = f"{number!r} is not the number of a complaint"
        raise CannotDo(what, "write SERIAL/NUMBER, as 'traveler cases' lists them")
    return checked_serial(serial), int(number) if slash else None


def pick(cases: Sequence[CaseFile], serial: str, number: int | None) -> CaseFile:
    """The case of this number; without a number the one that is open, else the last.

    Raises:
        CannotDo: there is none, or several are open.
    """
    if not cases:
        what = f"there is no complaint about {serial}"
        raise CannotDo(what, f'record one with: traveler complain {serial} --text "…" --by ID')
    names = ", ".join(one.name for one in cases)
    if number is not None:
        found = next((one for one in cases if one.opened.seq == number), None)
        if found is None:
            what = f"entry #{number} of {serial} is no complaint"
            raise CannotDo(what, f"its cases are {names}")
        return found
    opened = [one for one in cases if not one.closed]
    if len(opened) > 1:
        what = f"{serial} has several open cases"
        raise CannotDo(what, f"say which: {', '.join(one.name for one in opened)}")
    return opened[0] if opened else cases[-1]


def find_case(records: Records, text: str) -> CaseFile:
    """The case that ``SERIAL`` or ``SERIAL/NUMBER`` names.

    Raises:
        CannotDo: see :func:`split_name` and :func:`pick`.
    """
    serial, number = split_name(text)
    return pick(cases_of(records.entries(serial)), serial, number)
