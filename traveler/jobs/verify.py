"""Verifying that the records are what was written, and what was sealed outside of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from traveler.finding import Finding, Place, Weight
from traveler.jobs.cannot import CannotDo
from traveler.jobs.office import Office
from traveler.jobs.plans import plan_as_issued
from traveler.jobs.units import known_unit
from traveler.record.attachment_audit import audit_files, audit_names, audit_strays, named_files
from traveler.record.audit import Audited, audit, audit_unit, certified, missing_guards, noted_state
from traveler.record.entry import Entry, Issued, Released
from traveler.record.kept import Kept
from traveler.record.records import Records
from traveler.record.seal import SealBook, against_absent, against_store, against_unit, read_seals
from traveler.record.trouble import StoreDamaged
from traveler.record.unit import Unit
from traveler.shop.folder import seal_files
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


Watched = Callable[[Iterable[Audited], int], Iterable[Audited]]
"""Shows how far it is: the units as they are verified, and how many there are."""


def verify(
    office: Office,
    serials: Sequence[str] = (),
    seals: Sequence[Path] | None = None,
    watched: Watched = lambda some, _: some,
) -> Verified:
    """Verifies these units, or every one: chains, states, definitions, references, guards, seals, files.

    ``seals`` are the seal files to hold against the records; None: the shop's own, as far as they are there.
    Findings: CHN001 to CHN010, SEA001 to SEA009, SEA011, SEA012, ATT004 to ATT007.

    Raises:
        CannotDo: one of the serials was never issued here, or a seal file cannot be read.
    """
    with office.store.reading() as records:
        guards = missing_guards(records)
        total = len(serials) or records.totals()[0]
        attachments = {one.digest: one for one in records.attachments()}
    expected = seals is None and bool(office.shop.settings.seals)
    watch = _Watch(_books(office, seals), expected, office.now, frozenset(attachments))
    units = tuple(watched(_each(office, serials, watch), total))
    found = [*guards, *(finding for one in units for finding in one.findings)]
    for book in watch.books:
        found += [*book.findings, *_against(office, book, units, serials)]
    found += _copies(watch.books)
    asked = [one for digest, one in attachments.items() if not serials or digest in watch.named]
    found += (wrong for _, wrong in audit_files(office.store, asked) if wrong is not None)
    found += () if serials else audit_strays(office.store, attachments)
    return Verified(units, tuple(found), tuple(book.file for book in watch.books))


def _against(
    office: Office, book: SealBook, units: Sequence[Audited], serials: Sequence[str]
) -> Iterator[Finding]:
    """What a seal file says against the whole of the records, or against the units asked for."""
    if book.shop not in (None, office.shop.settings.name):
        yield _other_shop(book, office.shop.settings.name)
    present = [one.serial for one in units]
    if not serials:
        yield from against_store(book, present, len(units), sum(one.count for one in units))
        return
    yield from against_absent(book, set(serials) - set(present))


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
    return audited, (*audited.findings, *certified(rows, serial, asked, count))


@dataclass(frozen=True, slots=True)
class _Watch:
    """The further checks of each unit, with the seals that are held against it."""

    books: tuple[SealBook, ...]
    expected: bool
    """Whether the shop keeps seals, so that a file which is gone is a finding."""
    now: datetime
    """When the seals were read: a release after that may name a later line."""
    attachments: frozenset[str] = frozenset()
    """The attachments that the records know."""
    named: set[str] = field(default_factory=set)
    """Those that the units looked at name."""

    def __call__(
        self, records: Records, unit: Unit, rows: tuple[Kept, ...], entries: tuple[Entry, ...] | None
    ) -> Iterator[Finding]:
        yield from _state(records, unit, rows, entries)
        self.named.update(named_files(entries or ()))
        yield from audit_names(entries or (), self.attachments)
        hashes = {row.seq: row.hash for row in rows}
        for book in self.books:
            yield from against_unit(book, unit.serial, hashes)
        for entry in entries or ():
            asked = (self.books or self.expected) and entry.recorded <= self.now
            if asked and isinstance(entry.body, Released) and entry.body.sealed is not None:
                yield from self._released(entry, entry.body.sealed, entry.body.seal_file)

    def _released(self, entry: Entry, sealed: str, file: str | None) -> Iterator[Finding]:
        """The seal file had reached a certain line when the unit was released, and knows the unit since."""
        books = [book for book in self.books if book.first == file]
        place = Place(unit=entry.unit, entry=entry.seq)
        if not self.books:
            what = "when it was released, a seal file was kept, and the shop's seal file is gone"
            yield Finding("SEA008", what, place, why=_CUT, hint=_ELSEWHERE)
        elif not books:
            what = "it was released where another seal file was kept, which is not among these"
            yield Finding("SEA009", what, place, Weight.WARNING, why=_CUT, hint=_ELSEWHERE)
        elif not any(sealed in book.hashes for book in books):
            names = ", ".join(book.file for book in books)
            what = f"when it was released, {names} ended in line {sealed[:12]}…, which is not in it now"
            yield Finding("SEA008", what, place, why=_CUT, hint=_ELSEWHERE)
        elif not any(entry.unit in book.units for book in books):
            what = f"it was released, and {', '.join(book.file for book in books)} does not know it"
            yield Finding("SEA009", what, place, Weight.WARNING, why=_CUT, hint=_ELSEWHERE)


_CUT = "lines may have been cut from the seal file, and a seal that is gone can vouch for nothing"
_ELSEWHERE = "give the copies kept elsewhere with --seals, and those of other computers"


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
    yield from noted_state(unit, due)


def _each(office: Office, serials: Sequence[str], watch: _Watch) -> Iterator[Audited]:
    if not serials:
        yield from audit(office.store, watch)
        return
    with office.store.reading() as records:
        sealed = {serial for book in watch.books for serial in book.units}
        asked = [one for one in serials if one not in sealed or records.unit(one) is not None]
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
    """SEA011: of two copies of a seal file one must be the beginning of the other."""
    some = [book for book in books if book.lines]
    for book in some[1:]:
        first = some[0]
        both = zip(first.lines, book.lines, strict=False)
        differs = next((one.number for one, other in both if one.hash != other.hash), None)
        if differs is None:
            continue
        apart = differs == 1
        what = f"{first.file} and {book.file} differ from line {differs} on"
        why = "they were begun apart" if apart else "one of the two was changed after it was written"
        hint = "files of two computers are no copies" if apart else "find out which, and how"
        weight = Weight.WARNING if apart else Weight.BLOCKING
        yield Finding("SEA011", what, Place(book.file, differs), weight, why, hint)


def _other_shop(book: SealBook, name: str) -> Finding:
    what = f"the seal file was begun for '{book.shop}', this shop is '{name}'"
    why = "seals of another shop say nothing about these records"
    return Finding(
        "SEA012", what, Place(book.file, 1), Weight.WARNING, why, "name the seal file of this shop"
    )
