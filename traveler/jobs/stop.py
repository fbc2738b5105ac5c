"""Stopping units: one, or every one of a list, wherever they are; nothing goes on until it is decided."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime

from traveler.definition.serial import tidy_serial, verify
from traveler.finding import Finding, Place, blocking
from traveler.jobs.add_entry import add
from traveler.jobs.cannot import CannotDo
from traveler.jobs.office import Office
from traveler.record.entry import Entry, Stopped
from traveler.trace.gauge_recall import Recall, affected_serials
from traveler.trace.whereabouts import whereabouts
from traveler.verdict.counting import counting
from traveler.verdict.stops import stops_of


@dataclass(frozen=True, slots=True)
class Listed:
    """A serial as somebody wrote it into a list, and where it stands there."""

    text: str
    place: Place = field(default_factory=Place)


@dataclass(frozen=True, slots=True)
class Stopping:
    """What became of one unit.

    ``entry`` is the stop as kept, or the same stop as it stands already (then ``new`` is false), or None
    where a finding stands in the way. ``was`` and ``where`` say where the unit was before and is now.
    """

    serial: str
    entry: Entry | None
    new: bool
    was: str
    where: str
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {
            "serial": self.serial,
            "stop": self.entry.seq if self.entry is not None else None,
            "new": self.new,
            "was": self.was,
            "where": self.where,
            "findings": [one.as_dict() for one in self.findings],
        }


def stop(
    office: Office,
    serial: str,
    what: str,
    by: str,
    *,
    slot: str | None = None,
    at: datetime | None = None,
) -> Stopping:
    """Stops a unit, or one slot of it, in whatever state it is; in stock and with the customer too.

    The same stop that is still open is not written again. Findings: PER001, PER003, GAT002 who may not;
    ENT001 no such slot; SEQ004, SEQ005 dated wrongly.

    Raises:
        CannotDo: it is not said what is wrong, or no unit of this serial was issued here.
    """
    said = _said(what)
    with office.store.reading() as records:
        unit, entries = records.unit(serial), records.entries(serial)
    was = whereabouts(unit.state, entries) if unit is not None else ""
    standing = _same(entries, said, slot)
    if standing is not None:
        return Stopping(serial, standing, False, was, was, ())
    added = add(office, serial, Stopped(what=said), by, action="stop", slot=slot, at=at)
    state = str(added.judged.verdict.state)
    where = whereabouts(state, added.judged.entries)
    return Stopping(serial, added.entry, added.entry is not None, was, where, added.findings)


def stop_all(
    office: Office, listed: Iterable[Listed | str], what: str, by: str, *, at: datetime | None = None
) -> Iterator[Stopping]:
    """Stops every unit of a list, one after the other; one that cannot be stopped does not hold up the rest.

    A serial that stands in the list twice is stopped once, and a list may be given again after an
    interruption. Findings: as in :func:`stop`, with the place in the list; SER001, SER002 a serial that
    cannot be right; REC001 a unit never issued here.

    Raises:
        CannotDo: it is not said what is wrong.
    """
    return _each(office, listed, _said(what), by, at)


def stop_affected(office: Office, recalled: Recall, by: str) -> Iterator[Stopping]:
    """Stops the affected units that are still here, one after the other, as the result is gone through."""
    what = f"Measured with {recalled.gauge}, which was wrong by {recalled.error}: measure again"
    return stop_all(office, affected_serials(recalled, shipped=False), what, by)


def _said(what: str) -> str:
    """What is wrong, in one line.

    Raises:
        CannotDo: it is not said.
    """
    said = " ".join(what.split())
    if not said:
        problem = "it is not said what is wrong"
        raise CannotDo(problem, 'say it with --what "…"')
    return said


def _each(
    office: Office, listed: Iterable[Listed | str], what: str, by: str, at: datetime | None
) -> Iterator[Stopping]:
    seen: set[str] = set()
    for one in (Listed(one) if isinstance(one, str) else one for one in listed):
        serial = tidy_serial(one.text)
        if serial in seen:
            continue
        seen.add(serial)
        yield _from_list(office, serial, one, what, by, at)


def _from_list(office: Office, serial: str, one: Listed, what: str, by: str, at: datetime | None) -> Stopping:
    wrong = verify(one.text)
    if wrong is None:
        with office.store.reading() as records:
            known = records.unit(serial) is not None
        if known:
            done = stop(office, serial, what, by, at=at)
            return replace(done, findings=tuple(_at(finding, one) for finding in done.findings))
        text = f"there is no unit {serial}: this serial was never issued here"
        wrong = Finding("REC001", text, hint="compare it with the nameplate")
    return Stopping(serial, None, False, "", "", (replace(wrong, place=_named(one, serial)),))


def _at(finding: Finding, one: Listed) -> Finding:
    """The finding at its line of the list; without a list where it is, at the unit."""
    return finding if one.place == Place() else replace(finding, place=one.place)


def _named(one: Listed, serial: str) -> Place:
    return one.place if one.place != Place() else Place(unit=serial)


def _same(entries: tuple[Entry, ...], what: str, slot: str | None) -> Entry | None:
    """The stop in the same words of the same slot that nobody decided on yet."""
    found = (one for one in stops_of(counting(entries)) if one.open and one.slot == slot)
    return next((one.entry for one in found if one.what == what), None)


def refused(stopped: Iterable[Stopping]) -> tuple[Stopping, ...]:
    """Those that could not be stopped."""
    return tuple(one for one in stopped if blocking(one.findings))
