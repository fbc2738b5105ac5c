"""Sealing: where chains end is noted in the shop's seal file and its copies, outside the database."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from traveler.finding import Finding, Place, Weight
from traveler.jobs.cannot import CannotDo
from traveler.jobs.office import Office
from traveler.record.columns import time_text
from traveler.record.records import Records
from traveler.record.seal import read_seals
from traveler.record.seal_file import Said, add_lines, beginning, bring_up_to, content_of, ending, held
from traveler.record.unit import Unit
from traveler.shop.folder import Shop, seal_files

SEAL_FILE = "seals.jsonl"
"""The name of a seal file in a folder."""

_AT_ONCE = 500
_AGAIN = "see to it, then run 'traveler seal'"


@dataclass(frozen=True, slots=True)
class Sealed:
    """How many units were sealed, the files that say so, and what was wrong with them."""

    units: int
    files: tuple[Path, ...]
    findings: tuple[Finding, ...]


def last_seal(shop: Shop) -> tuple[str, str] | None:
    """The hashes of the first and the last line of the shop's seal file; None: there is none, or altered."""
    file = next(iter(seal_files(shop)), None)
    if file is None or not file.is_file():
        return None
    try:
        with held(file) as opened:
            first, end = beginning(opened), ending(opened)
    except OSError:
        return None
    return (first, end[1]) if first is not None and end is not None and end[0] else None


def seal_units(office: Office, serials: Iterable[str]) -> Sealed:
    """Notes where the chains of these units end now, as a release does.

    What goes wrong never holds up a release: findings are warnings. SEA010 a file could not be written or
    was altered and is not added to; SEA011 a copy is not a copy.
    """
    with office.store.reading() as records:
        units = [unit for serial in serials if (unit := records.unit(serial)) is not None]
        says = [*map(_unit, units), _store(records)]
    return _write(office, says, len(units))


def seal(office: Office, to: Path | None = None) -> Sealed:
    """Notes every unit whose chain grew since it was last sealed, and brings the copies up to date.

    ``to`` is a further copy, or the folder for one. Findings: as :func:`seal_units`.

    Raises:
        CannotDo: the shop keeps no seal file.
    """
    files = seal_files(office.shop)
    if not files:
        what = "this shop keeps no seal file: 'seals' in shop.yaml is empty"
        raise CannotDo(what, "name one, such as seals: [seals.jsonl]")
    sealed = {}
    if files[0].is_file():
        book = read_seals(files[0].read_bytes(), str(files[0]))
        sealed = {one: (lines[-1].says["count"], lines[-1].says["head"]) for one, lines in book.units.items()}
    says: list[Said] = []
    after: str | None = None
    with office.store.reading() as records:
        while some := records.units(after=after, limit=_AT_ONCE):
            says += [_unit(one) for one in some if sealed.get(one.serial) != (one.entries, one.head)]
            after = some[-1].serial
        grown = len(says)
        says.append(_store(records))
    further = () if to is None else (to / SEAL_FILE if to.is_dir() else to,)
    return _write(office, says, grown, further)


def _unit(unit: Unit) -> Said:
    return "unit", {"unit": unit.serial, "count": unit.entries, "head": unit.head}


def _store(records: Records) -> Said:
    units, entries = records.totals()
    return "store", {"units": units, "entries": entries}


def _write(office: Office, says: Sequence[Said], units: int, further: Sequence[Path] = ()) -> Sealed:
    files = seal_files(office.shop)
    if not files:
        return Sealed(0, (), ())
    try:
        with held(files[0]) as opened:
            end = ending(opened)
            if end is None:
                return Sealed(0, (), (_finding("SEA010", files[0], "its last line is not what was written"),))
            add_lines(opened, end, time_text(office.now), office.shop.settings.name, says)
            content = content_of(opened)
    except OSError as problem:
        return Sealed(0, (), (_finding("SEA010", files[0], f"{problem.strerror}"),))
    written, findings = [files[0]], []
    for copy in (*files[1:], *further):
        try:
            if bring_up_to(copy, content):
                written.append(copy)
            else:
                what = f"it is not a copy of {files[0]}: what is in it is no beginning of that"
                findings.append(_finding("SEA011", copy, what, "find out which of the two was changed"))
        except OSError as problem:
            findings.append(_finding("SEA010", copy, f"{problem.strerror}"))
    return Sealed(units, tuple(written), tuple(findings))


def _finding(code: str, file: Path, problem: str, hint: str = _AGAIN) -> Finding:
    why = "without its seal the cut end of a record would not show"
    what = f"the seal was not written: {problem}"
    return Finding(code, what, Place(str(file)), Weight.WARNING, why, hint)
