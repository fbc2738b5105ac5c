"""Verifying that the records are what was written, and what was sealed outside of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from traveler.finding import Finding, Place, Weight
from traveler.jobs.cannot import CannotDo
from traveler.jobs.office import Office
from traveler.jobs.plans import plan_as_issued
from traveler.jobs.seal import seal_files
from traveler.jobs.units import known_unit
from traveler.record.audit import Audited, audit, audit_unit, missing_guards
from traveler.record.entry import Entry, Issued, Released
from traveler.record.kept import Kept
from traveler.record.records import Records
from traveler.record.seal import SealBook, against_store, against_unit, read_seals
from traveler.record.trouble import StoreDamaged
from traveler.record.unit import Unit
from traveler.verdict.state import state_after

SHORTEST_HEAD = 12
"""Digits of a head that are enough to compare a certificate."""


@dataclass(frozen=True, slots=True)
class Verified:
    """The units that were looked at, and everything that is wrong with them, the store and the seals."""

    units: tuple[Audited, ...]
    findings: tuple[Finding, ...]
    seals: tuple[str, ...] = ()
    """The seal files that were held against the records."""


def verify(office: Office, serials: Sequence[str] = (), seals: Sequence[Path] | None = None) -> Verified:
    """Verifies these units, or every one: chains, states, frozen definitions, references, guards, seals.

    ``seals`` are the seal files to hold against the records; None: the shop's own, as far as they are there.
    Findings: CHN001 to CHN010, SEA001 to SEA009, SEA011, SEA012.

    Raises:
        CannotDo: one of the serials was never issued here, or a seal file cannot be read.
    """
    with office.store.reading() as records:
        guards = missing_guards(records)
    watch = _Watch(_books(office, seals))
    units = tuple(_each(office, serials, watch, absent_ok=bool(watch.books)))
    found = [*guards, *(finding for one in units for finding in one.findings)]
    for book in watch.books:
        found += book.findings
        if book.shop not in (None, office.shop.settings.name):
            found.append(_other_shop(book, office.shop.settings.name))
        if serials:
            found += [one for one in against_store(book, {unit.serial for unit in units}, 10**18, 10**18)
                      if one.place.unit in serials]  # fmt: skip
        else:
            found += against_store(
                book, (one.serial for one in units), len(units), sum(one.count for one in units)
            )
    found += _copies(watch.books)
    return Verified(units, tuple(found), tuple(book.file for book in watch.books))


def certificate(office: Office, serial: str, head: str, count: int) -> tuple[Audited, tuple[Finding, ...]]:
    """A certificate's head and count against the records of its unit.

    Findings: those of the unit's own record, and CHN011 its record is not the one the certificate was
    printed from.

    Raises:
        CannotDo: the head is none, or the unit was never issued here.
    """
    asked = "".join(head.split()).lower()
    if len(asked) < SHORTEST_HEAD or not set(asked) <= set("0123456789abcdef") or count < 1:
        what = f"a head has 64 digits, 0 to 9 and a to f; at least {SHORTEST_HEAD} of them are needed"
        raise CannotDo(what, "copy head and count from the certificate")
    with office.store.reading() as records:
        unit = known_unit(records, serial)
        rows = records.rows(serial)
        audited = audit_unit(records, unit, _state)
    found = next((row.hash for row in rows if row.seq == count), None)
    if found is not None and found.startswith(asked):
        return audited, audited.findings
    there = f"has {len(rows)} entries" if found is None else f"has {found} there"
    what = f"the certificate says that entry #{count} ends in {asked}; the record {there}"
    why = "the record this certificate was printed from is not the one that is kept"
    wrong = Finding("CHN011", what, Place(unit=serial, entry=count), why=why, hint="compare with a backup")
    return audited, (*audited.findings, wrong)


@dataclass
class _Watch:
    """The further checks of each unit, with the seals that are held against it."""

    books: tuple[SealBook, ...]
    named: set[str] = field(default_factory=set)

    def __call__(
        self, records: Records, unit: Unit, rows: tuple[Kept, ...], entries: tuple[Entry, ...] | None
    ) -> Iterator[Finding]:
        yield from _state(records, unit, rows, entries)
        hashes = {row.seq: row.hash for row in rows}
        for book in self.books:
            yield from against_unit(book, unit.serial, hashes)
        for entry in entries or ():
            if isinstance(entry.body, Released) and entry.body.sealed is not None and self.books:
                yield from self._released(entry, entry.body.sealed)

    def _released(self, entry: Entry, sealed: str) -> Iterator[Finding]:
        """The seal file had reached a certain line when the unit was released, and knows the unit since."""
        files = ", ".join(book.file for book in self.books)
        place = Place(unit=entry.unit, entry=entry.seq)
        if not any(sealed in book.hashes for book in self.books):
            what = (
                f"when it was released, the seal file ended in line {sealed[:12]}…; {files} has no such line"
            )
            yield Finding("SEA008", what, place, why=_CUT, hint="use a copy kept elsewhere")
        elif not any(entry.unit in book.units for book in self.books):
            what = f"it was released, and {files} does not know it"
            yield Finding("SEA009", what, place, Weight.WARNING, why=_CUT, hint="use a copy kept elsewhere")


_CUT = "lines may have been cut from the seal file, and a seal that is gone can vouch for nothing"


def _state(
    records: Records, unit: Unit, _rows: tuple[Kept, ...], entries: tuple[Entry, ...] | None
) -> Iterator[Finding]:
    """CHN010: the state noted with the unit is not the one its entries lead to."""
    if not entries or not isinstance(entries[0].body, Issued):
        return  # CHN001 or CHN007 says so already
    try:
        due = str(state_after(entries, plan_as_issued(records, entries[0].body)))
    except StoreDamaged:
        return  # CHN006 says so already
    if due != unit.state:
        what = f"it is noted as {unit.state}, but by its entries it is {due}"
        why = "a state without entries that lead to it was put there by other means"
        yield Finding(
            "CHN010", what, Place(unit=unit.serial), why=why, hint="find out who changed the records"
        )


def _each(office: Office, serials: Sequence[str], watch: _Watch, *, absent_ok: bool) -> Iterator[Audited]:
    if not serials:
        yield from audit(office.store, watch)
        return
    with office.store.reading() as records:
        sealed = {serial for book in watch.books for serial in book.units}
        asked = [one for one in serials if records.unit(one) is not None or not (absent_ok and one in sealed)]
        yield from (audit_unit(records, known_unit(records, one), watch) for one in asked)


def _books(office: Office, seals: Sequence[Path] | None) -> tuple[SealBook, ...]:
    """The seal files asked for.

    Raises:
        CannotDo: one cannot be read.
    """
    own = [one for one in seal_files(office.shop) if one.is_file()]
    books = []
    for file in own if seals is None else seals:
        try:
            books.append(read_seals(file.read_bytes(), str(file)))
        except OSError as problem:
            what = f"the seal file {file} cannot be read: {problem.strerror}"
            raise CannotDo(what, "'traveler seal' makes one") from problem
    return tuple(books)


def _copies(books: Iterable[SealBook]) -> Iterator[Finding]:
    """SEA011: of two seal files one must be the beginning of the other."""
    some = list(books)
    for book in some[1:]:
        both = zip(some[0].lines, book.lines, strict=False)
        differs = next((one.number for one, other in both if one.hash != other.hash), None)
        if differs is not None:
            what = f"{some[0].file} and {book.file} differ from line {differs} on"
            why = "both were written line by line by the same shop; one of them was changed"
            yield Finding("SEA011", what, Place(book.file, differs), why=why, hint="find out which, and how")


def _other_shop(book: SealBook, name: str) -> Finding:
    what = f"the seal file was begun for '{book.shop}', this shop is '{name}'"
    why = "seals of another shop say nothing about these records"
    return Finding(
        "SEA012", what, Place(book.file, 1), Weight.WARNING, why, "name the seal file of this shop"
    )
