"""A customer calls: the complaint is recorded, compared with the record, and opens a case."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from traveler.finding import CannotDo, Finding, Place, Weight, blocking
from traveler.jobs.append import against, append_drafts
from traveler.jobs.attach import rules_of
from traveler.record.attachments import Attachment, examined
from traveler.record.entry import Arrived
from traveler.record.entry import Complained as Body
from traveler.shop.session import Session
from traveler.shop.settings import Settings
from traveler.text import did_you_mean
from traveler.trace.arrival import ArrivalValue, compare_arrival, understand_arrival
from traveler.trace.cases import CaseFile, cases_of
from traveler.trace.judging import judge
from traveler.verdict.authority import may_act
from traveler.verdict.judge import Judged


@dataclass(frozen=True, slots=True)
class Complaint:
    """What was said on the phone.

    ``readings`` are pairs (check or slot, value with its unit), ``photos`` pairs (name, content).
    """

    text: str
    symptoms: tuple[str, ...] = ()
    readings: tuple[tuple[str, str], ...] = ()
    photos: tuple[tuple[str, bytes], ...] = ()
    contact: str | None = None


@dataclass(frozen=True, slots=True)
class CaseOpened:
    """The case (None where a finding stood in the way) with the customer's values beside ours."""

    case: CaseFile | None
    judged: Judged
    values: tuple[ArrivalValue, ...] = ()
    findings: tuple[Finding, ...] = field(default=())

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {
            "serial": self.judged.unit.serial,
            "case": self.case.as_dict() if self.case else None,
            "values": [arrival_value.as_dict() for arrival_value in self.values],
        }


def complain(
    session: Session, serial: str, complaint: Complaint, by: str, at: datetime | None = None
) -> CaseOpened:
    """Records a complaint about a unit.

    Findings: CAS001 no such symptom; CAS002 the unit never left (warning); CAS004, CAS005 a value of the
    customer's; ATT001, ATT002 a photograph; PER001, PER003, GAT002 who may not; SEQ004, SEQ005 the date.

    Raises:
        CannotDo: no words, or no such unit.
        StoreTrouble: the records cannot be written.
    """
    if not complaint.text.strip():
        what = "a complaint without words"
        raise CannotDo(what, 'say what the customer said with --text "…"')
    files = [examined(content, name, rules_of(session.shop.settings)) for name, content in complaint.photos]
    with session.store.transaction() as work:
        before = judge(session, work, serial)
        answers = understand_arrival(before, complaint.readings)
        findings = (
            *(file for file in files if isinstance(file, Finding)),
            *unknown_symptoms(session.shop.settings, complaint.symptoms, serial),
            *answers.findings,
            *_may(session, serial, by, at),
            *_not_shipped(before),
        )
        if blocking(findings):
            work.abandon()
            return CaseOpened(None, before, (), findings)
        kept = [file for file in files if isinstance(file, Attachment)]
        for file, (_, content) in zip(kept, complaint.photos, strict=True):
            session.store.attachments.put(content)
            work.note_attachment(file, session.now)
        draft = session.draft(serial, by, _body(complaint, answers.readings, kept), at=at)
        entries = append_drafts(session, work, [draft], before.entries, before.plan)
        after = judge(session, work, serial)
        refused = against(after, entries[len(before.entries) :])
        if blocking(refused):
            work.abandon()
            return CaseOpened(None, before, (), (*findings, *refused))
    case = cases_of(after.entries)[-1]
    return CaseOpened(case, after, compare_arrival(after, answers.readings), findings)


def unknown_symptoms(settings: Settings, symptoms: Sequence[str], serial: str) -> Iterator[Finding]:
    """CAS001 for each symptom that is not in the shop's list."""
    known = settings.symptoms
    for symptom in symptoms:
        if symptom in known:
            continue
        otherwise = "" if known else "list symptoms under 'symptoms:' in shop.yaml"
        hint = did_you_mean(symptom, known, otherwise, titles=known)
        what = f"there is no symptom '{symptom}' in the shop's list"
        yield Finding("CAS001", what, Place(unit=serial), hint=hint)


def _may(session: Session, serial: str, by: str, at: datetime | None) -> list[Finding]:
    shop, day = session.shop, session.day(at or session.now)
    return may_act("complain", by, day, shop.people, shop.settings, place=Place(unit=serial))


def _not_shipped(judged: Judged) -> Iterator[Finding]:
    if not any(entry.body.kind == "shipped" for entry in judged.case.standing):
        serial = judged.unit.serial
        yield Finding(
            "CAS002",
            f"{serial} never left: it is {judged.verdict.state}",
            Place(unit=serial),
            Weight.WARNING,
            why="customers complain of what they have",
            hint="see whether the serial is the one on the customer's nameplate",
        )


def _body(complaint: Complaint, readings: tuple[Arrived, ...], photos: Sequence[Attachment]) -> Body:
    return Body(
        text=complaint.text.strip(),
        symptoms=tuple(dict.fromkeys(complaint.symptoms)),
        readings=readings,
        photos=tuple(dict.fromkeys(photo.digest for photo in photos)),
        contact=complaint.contact.strip() or None if complaint.contact else None,
    )
