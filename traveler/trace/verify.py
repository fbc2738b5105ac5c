"""Verifying that the records are what was written, and what was sealed outside of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from traveler.finding import CannotDo, Finding, Place, Weight
from traveler.record.audit import (
    Audited,
    audit,
    audit_files,
    audit_names,
    audit_strays,
    audit_unit,
    certified,
    missing_guards,
    named_files,
    noted_state,
)
from traveler.record.entry import Entry, Issued, Released
from traveler.record.errors import StoreDamaged
from traveler.record.plans import known_unit, plan_as_issued
from traveler.record.records import Records, Unit
from traveler.record.seal import SealBook, against_absent, against_store, against_unit, read_seals
from traveler.record.stored import StoredRow
from traveler.shop.folder import seal_files
from traveler.shop.session import Session
from traveler.trace.queries import Progress, no_progress
from traveler.verdict.state import state_after

SHORTEST_HEAD = 12
"""Digits of a head that are enough to compare a certificate."""


@dataclass(frozen=True, slots=True)
class Verified:
    """The units that were looked at, and everything that is wrong with them, the store and the seals."""

    units: tuple[Audited, ...]
    findings: tuple[Finding, ...]
    seals: tuple[str, ...] = ()
    """The seal files that were checked against the records."""


def verify_records(
    session: Session,
    serials: Sequence[str] = (),
    seals: Sequence[Path] | None = None,
    progress: Progress = no_progress,
) -> Verified:
    """Verifies these units, or every one: chains, states, definitions, references, guards, seals, files.

    ``seals`` are the seal files to hold against the records; None: the shop's own, as far as they are there.
    Findings: CHN001 to CHN010, SEA001 to SEA009, SEA011, SEA012, ATT004 to ATT007.

    Raises:
        CannotDo: one of the serials was never issued here, or a seal file cannot be read.
    """
    with session.store.reading() as records:
        guards = missing_guards(records)
        total = len(serials) or records.totals()[0]
        attachments = {attachment.digest: attachment for attachment in records.attachments()}
    expected = seals is None and bool(session.shop.settings.seals)
    watch = _Watch(_books(session, seals), expected, session.now, frozenset(attachments))
    units = tuple(progress(_each(session, serials, watch), total))
    found = [*guards, *(finding for unit in units for finding in unit.findings)]
    for book in watch.books:
        found += [*book.findings, *_against(session, book, units, serials)]
    found += _copies(watch.books)
    asked = [attachment for digest, attachment in attachments.items() if not serials or digest in watch.named]
    found += (wrong for _, wrong in audit_files(session.store, asked) if wrong is not None)
    found += () if serials else audit_strays(session.store, attachments)
    return Verified(units, tuple(found), tuple(book.file for book in watch.books))


def _against(
    session: Session, book: SealBook, units: Sequence[Audited], serials: Sequence[str]
) -> Iterator[Finding]:
    """What a seal file says against the whole of the records, or against the units asked for."""
    if book.shop not in (None, session.shop.settings.name):
        yield _other_shop(book, session.shop.settings.name)
    present = [unit.serial for unit in units]
    if not serials:
        yield from against_store(book, present, len(units), sum(unit.count for unit in units))
        return
    yield from against_absent(book, set(serials) - set(present))


def check_certificate(
    session: Session, serial: str, head: str, count: int
) -> tuple[Audited, tuple[Finding, ...]]:
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
    with session.store.reading() as records:
        unit = known_unit(records, serial)
        rows = records.rows(serial)
        audited = audit_unit(records, unit, _state)
    return audited, (*audited.findings, *certified(rows, serial, asked, count))


@dataclass(frozen=True, slots=True)
class _Watch:
    """The further checks of each unit, with the seals that are checked against it."""

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
        self, records: Records, unit: Unit, rows: tuple[StoredRow, ...], entries: tuple[Entry, ...] | None
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
            yield Finding("SEA008", what, place, hint=_ELSEWHERE)
        elif not books:
            what = "it was released where another seal file was kept, which is not among these"
            yield Finding("SEA009", what, place, Weight.WARNING, hint=_ELSEWHERE)
        elif not any(sealed in book.hashes for book in books):
            names = ", ".join(book.file for book in books)
            what = f"when it was released, {names} ended in line {sealed[:12]}…, which is not in it now"
            yield Finding("SEA008", what, place, hint=_ELSEWHERE)
        elif not any(entry.unit in book.units for book in books):
            what = f"it was released, and {', '.join(book.file for book in books)} does not know it"
            yield Finding("SEA009", what, place, Weight.WARNING, hint=_ELSEWHERE)


_ELSEWHERE = "give the copies kept elsewhere with --seals, and those of other computers"


def _state(
    records: Records, unit: Unit, _rows: tuple[StoredRow, ...], entries: tuple[Entry, ...] | None
) -> Iterator[Finding]:
    """CHN010: the state noted with the unit is not the one its entries lead to."""
    if not entries or not isinstance(entries[0].body, Issued):
        return  # CHN001 or CHN007 says so already
    try:
        due = str(state_after(entries, plan_as_issued(records, entries[0].body)))
    except StoreDamaged:
        return  # CHN006 says so already
    yield from noted_state(unit, due)


def _each(session: Session, serials: Sequence[str], watch: _Watch) -> Iterator[Audited]:
    if not serials:
        yield from audit(session.store, watch)
        return
    with session.store.reading() as records:
        sealed = {serial for book in watch.books for serial in book.units}
        asked = [serial for serial in serials if serial not in sealed or records.unit(serial) is not None]
        yield from (audit_unit(records, known_unit(records, serial), watch) for serial in asked)


def _books(session: Session, seals: Sequence[Path] | None) -> tuple[SealBook, ...]:
    """The seal files asked for.

    Raises:
        CannotDo: one cannot be read.
    """
    own = [seal_file for seal_file in seal_files(session.shop) if seal_file.is_file()]
    books = []
    for file in own if seals is None else seals:
        try:
            books.append(read_seals(file.read_bytes(), str(file)))
        except OSError as problem:
            what = f"the seal file {file} cannot be read: {problem.strerror}"
            raise CannotDo(what, "'traveler records seal' makes one") from problem
    return tuple(books)


def _copies(books: Iterable[SealBook]) -> Iterator[Finding]:
    """SEA011: of two copies of a seal file one must be the beginning of the other."""
    some = [book for book in books if book.lines]
    for book in some[1:]:
        first = some[0]
        both = zip(first.lines, book.lines, strict=False)
        differs = next((line.number for line, other in both if line.hash != other.hash), None)
        if differs is None:
            continue
        apart = differs == 1
        what = f"{first.file} and {book.file} differ from line {differs} on"
        hint = "files of two computers are no copies" if apart else "find out which, and how"
        weight = Weight.WARNING if apart else Weight.BLOCKING
        yield Finding("SEA011", what, Place(book.file, differs), weight, hint=hint)


def _other_shop(book: SealBook, name: str) -> Finding:
    what = f"the seal file was begun for '{book.shop}', this shop is '{name}'"
    return Finding(
        "SEA012", what, Place(book.file, 1), Weight.WARNING, hint="name the seal file of this shop"
    )
