"""Adding one entry to a unit by hand: a note, a strike-out, an adjustment."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from traveler.finding import Finding, Place, blocking
from traveler.jobs.cannot import CannotDo
from traveler.jobs.judge import judge
from traveler.jobs.judged import Judged
from traveler.jobs.office import Office
from traveler.jobs.signing import unsigned
from traveler.jobs.write import write
from traveler.record.entry import Body, Entry, Noted, Struck
from traveler.verdict.authority import may_act
from traveler.verdict.persons import person_troubles, striking

UNFIT = frozenset(
    {"ENT001", "ENT002", "ENT003", "ENT004", "SEQ004", "SEQ005", "SEQ006", "NON002", "NON004", "REA010"}
)
"""Findings that say of an entry itself that it should not stand so."""


@dataclass(frozen=True, slots=True)
class Added:
    """The entry as kept (None where a finding stands in the way), and the unit with it."""

    entry: Entry | None
    judged: Judged
    findings: tuple[Finding, ...]


def note(
    office: Office, serial: str, text: str, by: str, *, slot: str | None = None, at: datetime | None = None
) -> Added:
    """A remark about the unit, or about one of its slots.

    Findings: PER001, PER003, GAT002 who may not; ENT001 no such slot; SEQ004, SEQ005 dated wrongly.
    """
    if not text.strip():
        what = "a note without words"
        raise CannotDo(what, "write what there is to say")
    return add(office, serial, Noted(text=text.strip()), by, action="note", slot=slot, at=at)


def strike(
    office: Office, serial: str, seq: int, reason: str, by: str, *, at: datetime | None = None
) -> Added:
    """Strikes out the entry of this number; it stays legible, with the reason.

    Findings: ENT003 of a kind that stays, ENT004 no such entry, PER002 who may not, and as in :func:`note`.
    """
    if not reason.strip():
        what = "a strike-out needs a reason"
        raise CannotDo(what, 'give it with --reason "…"')
    return add(office, serial, Struck(strikes=seq, reason=reason.strip()), by, at=at)


def strike_action(office: Office, serial: str, seq: int, by: str) -> str | None:
    """The action that striking out this entry is, which may ask for a PIN; None: it needs no role."""
    with office.store.reading() as records:
        entries = records.entries(serial)
    return striking(entries, Struck(strikes=seq, reason="asked"), by)


def add(
    office: Office,
    serial: str,
    body: Body,
    by: str,
    *,
    action: str | None = None,
    slot: str | None = None,
    at: datetime | None = None,
) -> Added:
    """Appends an entry unless the verdict has something blocking against the entry itself."""
    with office.store.transaction() as work:
        before = judge(office, work, serial)
        asks = action or (striking(before.entries, body, by) if isinstance(body, Struck) else None)
        findings = (
            *_may(office, serial, action, by, at),
            *unsigned(office, asks, by, Place(unit=serial)),
        )
        if not blocking(findings):
            draft = office.draft(serial, by, body, at=at, slot=slot)
            entries = write(office, work, [draft], before.entries, before.plan)
            after = judge(office, work, serial)
            findings = against(after, entries[len(before.entries) :])
            if not blocking(findings):
                return Added(entries[-1], after, findings)
        work.abandon()
        return Added(None, before, findings)


def may_add(office: Office, serial: str, action: str, by: str, at: datetime | None) -> tuple[Finding, ...]:
    """Why this person may not do the action to the unit: GAT002, PER001, PER003; PIN004, PIN005."""
    return (*_may(office, serial, action, by, at), *unsigned(office, action, by, Place(unit=serial)))


def against(judged: Judged, entries: Sequence[Entry]) -> tuple[Finding, ...]:
    """What the verdict has against these very entries; what follows from them (a stop stops) is not it."""
    seqs, case = {entry.seq for entry in entries}, judged.case
    told = (one for one in judged.verdict.findings if one.place.entry in seqs)
    found = [one for one in told if one.code in UNFIT]
    for trouble, met in person_troubles(case).met.items():  # a verdict tells each trouble once for the unit
        for slot, seq in met:
            if seq in seqs:
                found.append(case.say(trouble.code, trouble.what, slot=slot, entry=seq, hint=trouble.hint))
    return tuple(found)


def _may(
    office: Office, serial: str, action: str | None, by: str, at: datetime | None
) -> tuple[Finding, ...]:
    if action is None:
        return ()
    shop, day = office.shop, office.day(at or office.now)
    return tuple(may_act(action, by, day, shop.people, shop.settings, place=Place(unit=serial)))
