"""Append entries to a unit: judge, write, judge again, and refuse what the verdict is against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from traveler.definition.plan import Plan
from traveler.finding import CannotDo, Finding, Place, blocking
from traveler.jobs.sign import unsigned
from traveler.record.entry import Body, Draft, Entry, Noted, Signable, Struck
from traveler.record.store import Transaction
from traveler.shop.folder import Shop
from traveler.shop.session import Session
from traveler.trace.judging import judge
from traveler.verdict.authority import may_act, standing_in
from traveler.verdict.case import shop_zone
from traveler.verdict.judge import Judged
from traveler.verdict.plan_index import plan_index
from traveler.verdict.rules.persons import person_troubles, roles_asked, striking
from traveler.verdict.state import state_after


def for_the_absent(
    shop: Shop, drafts: Sequence[Draft], before: Sequence[Entry], plan: Plan
) -> tuple[Draft, ...]:
    """The drafts; a signature in a role that its person holds only by delegation says instead of whom."""
    deputies = {
        person.id
        for person in shop.people.people
        if any(held.instead_of is not None for held in person.roles)
    }
    return tuple(_noted(shop, draft, before, plan) if draft.by in deputies else draft for draft in drafts)


def _noted(shop: Shop, draft: Draft, before: Sequence[Entry], plan: Plan) -> Draft:
    person = shop.people.get(draft.by)
    if person is None or not isinstance(draft.body, Signable) or draft.body.instead_of is not None:
        return draft
    spot = plan_index(plan).spots.get(draft.slot) if draft.slot is not None else None
    _, roles = roles_asked(draft, spot, before, shop.settings)
    day = draft.at.astimezone(shop_zone(shop.settings.time_zone)).date()
    absent = standing_in(person, roles, day)
    if absent is None:
        return draft
    return draft.model_copy(update={"body": draft.body.model_copy(update={"instead_of": absent})})


def append_drafts(
    session: Session, work: Transaction, drafts: Sequence[Draft], before: Sequence[Entry], plan: Plan
) -> tuple[Entry, ...]:
    """Appends drafts of one unit after the entries ``before``; returns all its entries, its state noted.

    Where somebody signs in a role they hold for somebody else, the entry says for whom.
    """
    kept = work.append_all(for_the_absent(session.shop, drafts, before, plan), session.now)
    entries = (*before, *kept)
    if kept:
        work.set_state(kept[0].unit, str(state_after(entries, plan)))
    return entries


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
    session: Session, serial: str, text: str, by: str, *, slot: str | None = None, at: datetime | None = None
) -> Added:
    """A remark about the unit, or about one of its slots.

    Findings: PER001, PER003, GAT002 who may not; ENT001 no such slot; SEQ004, SEQ005 dated wrongly.
    """
    if not text.strip():
        what = "a note without words"
        raise CannotDo(what, "write what there is to say")
    return add(session, serial, Noted(text=text.strip()), by, action="note", slot=slot, at=at)


def strike(
    session: Session, serial: str, seq: int, reason: str, by: str, *, at: datetime | None = None
) -> Added:
    """Strikes out the entry of this number; it stays legible, with the reason.

    Findings: ENT003 of a kind that stays, ENT004 no such entry, PER002 who may not, and as in :func:`note`.
    """
    if not reason.strip():
        what = "a strike-out needs a reason"
        raise CannotDo(what, 'give it with --reason "…"')
    return add(session, serial, Struck(strikes=seq, reason=reason.strip()), by, at=at)


def strike_action(session: Session, serial: str, seq: int, by: str) -> str | None:
    """The action that striking out this entry is, which may ask for a PIN; None: it needs no role."""
    with session.store.reading() as records:
        entries = records.entries(serial)
    return striking(entries, Struck(strikes=seq, reason="asked"), by)


def add(
    session: Session,
    serial: str,
    body: Body,
    by: str,
    *,
    action: str | None = None,
    slot: str | None = None,
    at: datetime | None = None,
) -> Added:
    """Appends an entry unless the verdict has something blocking against the entry itself."""
    with session.store.transaction() as work:
        before = judge(session, work, serial)
        asks = action or (striking(before.entries, body, by) if isinstance(body, Struck) else None)
        findings = (
            *_may(session, serial, action, by, at),
            *unsigned(session, asks, by, Place(unit=serial)),
        )
        if not blocking(findings):
            draft = session.draft(serial, by, body, at=at, slot=slot)
            entries = append_drafts(session, work, [draft], before.entries, before.plan)
            after = judge(session, work, serial)
            findings = against(after, entries[len(before.entries) :])
            if not blocking(findings):
                return Added(entries[-1], after, findings)
        work.abandon()
        return Added(None, before, findings)


def may_add(session: Session, serial: str, action: str, by: str, at: datetime | None) -> tuple[Finding, ...]:
    """Why this person may not do the action to the unit: GAT002, PER001, PER003; PIN004, PIN005."""
    return (*_may(session, serial, action, by, at), *unsigned(session, action, by, Place(unit=serial)))


def against(judged: Judged, entries: Sequence[Entry]) -> tuple[Finding, ...]:
    """What the verdict has against these very entries; what follows from them (a stop stops) is not it."""
    seqs, case = {entry.seq for entry in entries}, judged.case
    told = (finding for finding in judged.verdict.findings if finding.place.entry in seqs)
    found = [finding for finding in told if finding.code in UNFIT]
    for trouble, met in person_troubles(case).met.items():  # a verdict tells each trouble once for the unit
        for slot, seq in met:
            if seq in seqs:
                found.append(case.say(trouble.code, trouble.what, slot=slot, entry=seq, hint=trouble.hint))
    return tuple(found)


def _may(
    session: Session, serial: str, action: str | None, by: str, at: datetime | None
) -> tuple[Finding, ...]:
    if action is None:
        return ()
    shop, day = session.shop, session.day(at or session.now)
    return tuple(may_act(action, by, day, shop.people, shop.settings, place=Place(unit=serial)))
