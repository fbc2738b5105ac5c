"""From the text of a serial to the unit it names."""

from __future__ import annotations

from collections.abc import Iterable

from traveler.definition.serial import tidy_serial, verify
from traveler.jobs.cannot import CannotDo
from traveler.record.records import Records
from traveler.record.unit import Unit


def checked_serial(text: str) -> str:
    """The serial as it is compared, once its check character is found right.

    Raises:
        CannotDo: one character is wrong, two changed places, or it has not the form of a serial.
    """
    wrong = verify(text)
    if wrong is not None:
        raise CannotDo(wrong.what, wrong.hint)
    return tidy_serial(text)


def checked_serials(texts: Iterable[str]) -> tuple[str, ...]:
    """The serials, each once, in the order given.

    Raises:
        CannotDo: one of them cannot be right.
    """
    return tuple(dict.fromkeys(checked_serial(text) for text in texts))


def known_unit(records: Records, serial: str) -> Unit:
    """The unit of this serial.

    Raises:
        CannotDo: no unit of this serial was issued here.
    """
    unit = records.unit(serial)
    if unit is None:
        what = f"there is no unit {serial}: this serial was never issued here"
        raise CannotDo(what, "compare it with the nameplate, hyphens too")
    return unit
