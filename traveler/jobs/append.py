"""Append entries to a unit: judge, write, judge again, and refuse what the verdict is against."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from traveler.finding import CannotDo, Finding, Weight, blocking
from traveler.jobs.sign import allowed
from traveler.record.attachments import Attachment
from traveler.record.entry import Body, Draft, Entry, Noted, Signable, Struck
from traveler.record.store import Transaction
from traveler.shop.folder import Shop
from traveler.shop.session import Session
from traveler.text import day_in
from traveler.trace.judging import judge
from traveler.verdict.authority import standing_in
from traveler.verdict.judge import Judged
from traveler.verdict.plan_index import plan_index
from traveler.verdict.rules.persons import person_problems, roles_asked, striking
from traveler.verdict.state import state_after


@dataclass(frozen=True, slots=True)
class Proposal:
    """What is to be appended, with files that are kept beside the records, and what stands in the way."""

    drafts: Sequence[Draft] = ()
    findings: Sequence[Finding] = ()
    files: Sequence[tuple[Attachment, bytes]] = ()


@dataclass(frozen=True, slots=True)
class Appended:
    """The new entries (none where a finding stands in the way), and the unit as it is now."""

    entries: tuple[Entry, ...]
    judged: Judged
    findings: tuple[Finding, ...]

    @property
    def entry(self) -> Entry | None:
        """The last new entry."""
        return self.entries[-1] if self.entries else None

    @property
    def taken(self) -> bool:
        """Whether nothing stood in the way."""
        return not blocking(self.findings)


Refuse = Callable[[Judged, Sequence[Entry]], Iterable[Finding]]
"""What the verdict has against new entries, for which they are not written."""


def append(
    session: Session,
    serial: str,
    propose: Callable[[Judged, Transaction], Proposal],
    *,
    refuse: Refuse | None = None,
) -> Appended:
    """Appends what ``propose`` makes of the unit as it stands, in one transaction: all of it or nothing.

    Nothing is written where the proposal has a blocking finding, or where the verdict then has one that names
    one of the new entries; ``refuse`` finds those, by default :func:`against`.

    Raises:
        CannotDo: no unit of this serial was issued here, or what ``propose`` raises.
        StoreError: the records cannot be written.
    """
    with session.store.transaction() as work:
        before = judge(session, work, serial)
        proposal = propose(before, work)
        findings = tuple(proposal.findings)
        if not blocking(findings):
            new = _written(session, work, proposal.drafts, before)
            after = judge(session, work, serial) if new else before
            findings += tuple(_before_writing(finding, new) for finding in (refuse or against)(after, new))
            if not blocking(findings):
                for attachment, content in proposal.files:
                    work.keep_file(attachment, content, session.now)
                return Appended(new, after, findings)
        work.abandon()
        return Appended((), before, findings)


GIVE_THE_TIME = "give the real time with --at"


def _before_writing(finding: Finding, new: Sequence[Entry]) -> Finding:
    """The finding without the number of an entry that is not written, which therefore cannot be struck."""
    if finding.weight is not Weight.BLOCKING or finding.place.entry not in {entry.seq for entry in new}:
        return finding
    hint = GIVE_THE_TIME if finding.code in ("SEQ004", "SEQ005") else finding.hint
    hint = hint.removeprefix("strike it, and ")
    return replace(finding, place=replace(finding.place, entry=None), hint=hint)


def _written(
    session: Session, work: Transaction, drafts: Sequence[Draft], before: Judged
) -> tuple[Entry, ...]:
    """The drafts as entries, with the state that they bring the unit into noted."""
    if not drafts:
        return ()
    new = work.append_all([_for_the_absent(session.shop, draft, before) for draft in drafts], session.now)
    work.set_state(before.unit.serial, str(state_after((*before.entries, *new), before.plan)))
    return tuple(new)


def _for_the_absent(shop: Shop, draft: Draft, before: Judged) -> Draft:
    """The draft; a signature in a role that its person holds only by delegation says instead of whom.

    The record has to say so, since roles in the register end.
    """
    person, body = shop.people.get(draft.by), draft.body
    if person is None or not isinstance(body, Signable) or body.instead_of is not None:
        return draft
    if all(held.instead_of is None for held in person.roles):
        return draft
    planned = plan_index(before.plan).slots.get(draft.slot) if draft.slot is not None else None
    _, roles = roles_asked(draft, planned, before.entries, shop.settings)
    day = day_in(shop.zone, draft.at)
    absent = standing_in(person, roles, day) if roles is not None else None
    if absent is None:
        return draft
    return draft.model_copy(update={"body": body.model_copy(update={"instead_of": absent})})


UNFIT = frozenset(
    {"ENT001", "ENT002", "ENT003", "ENT004", "SEQ004", "SEQ005", "SEQ006", "NON002", "NON004", "REA010"}
)
"""Findings that say of an entry itself that it should not stand so."""


def against(judged: Judged, entries: Sequence[Entry]) -> tuple[Finding, ...]:
    """The findings that name one of these entries.

    Consequences, such as the unit being stopped, are left out.
    """
    numbers, case = {entry.seq for entry in entries}, judged.case
    told = (finding for finding in judged.verdict.findings if finding.place.entry in numbers)
    found = [finding for finding in told if finding.code in UNFIT]
    for problem, met in person_problems(case).met.items():
        for slot, seq in met:
            if seq in numbers:
                found.append(
                    case.finding(problem.code, problem.what, slot=slot, entry=seq, hint=problem.hint)
                )
    return tuple(found)


def add(
    session: Session,
    serial: str,
    body: Body,
    by: str,
    *,
    action: str | None = None,
    slot: str | None = None,
    at: datetime | None = None,
) -> Appended:
    """Appends one entry; ``action`` is what it takes the right to do."""

    def propose(before: Judged, _: Transaction) -> Proposal:
        asks = action or (striking(before.entries, body, by) if isinstance(body, Struck) else None)
        draft = session.draft(serial, by, body, at=at, slot=slot)
        return Proposal([draft], allowed(session, asks, by, at=at, serial=serial))

    return append(session, serial, propose)


def note(
    session: Session, serial: str, text: str, by: str, *, slot: str | None = None, at: datetime | None = None
) -> Appended:
    """A note about the unit, or about one of its slots.

    Findings: PER001, PER003, GAT002 who may not; ENT001 no such slot; SEQ004, SEQ005 dated wrongly.
    """
    if not text.strip():
        what = "the text of the note is empty"
        raise CannotDo(what, "give the text of the note")
    return add(session, serial, Noted(text=text.strip()), by, action="note", slot=slot, at=at)


def strike(
    session: Session, serial: str, seq: int, reason: str, by: str, *, at: datetime | None = None
) -> Appended:
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
