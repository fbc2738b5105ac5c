"""A customer calls: the complaint is recorded, compared with the record, and opens a case."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import ClassVar

from traveler.finding import CannotDo, Finding, Place, Weight
from traveler.jobs.append import Proposal, append
from traveler.jobs.attach import GivenFile, examined_files
from traveler.jobs.sign import allowed
from traveler.record.attachments import Attachment
from traveler.record.entry import Arrived, Complained
from traveler.record.store import Transaction
from traveler.result import Result
from traveler.shop.session import Session
from traveler.shop.settings import Settings
from traveler.text import did_you_mean
from traveler.trace.arrival import ArrivalValue, compare_arrival, understand_arrival
from traveler.trace.cases import CaseFile, cases_of
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
class CaseOpened(Result):
    """The case (None where a finding stood in the way) with the customer's values beside ours."""

    json_keys: ClassVar[str] = "serial=judged.unit.serial case values"

    case: CaseFile | None
    judged: Judged
    values: tuple[ArrivalValue, ...] = ()
    findings: tuple[Finding, ...] = field(default=())


def complain(
    session: Session, serial: str, complaint: Complaint, by: str, at: datetime | None = None
) -> CaseOpened:
    """Records a complaint about a unit.

    Findings: CAS001 no such symptom; CAS002 the unit never left (warning); CAS004, CAS005 a value of the
    customer's; ATT001 to ATT003 a photograph; PER001, PER003, GAT002 who may not; SEQ004, SEQ005 the date.

    Raises:
        CannotDo: no words, or no such unit.
        StoreError: the records cannot be written.
    """
    if not complaint.text.strip():
        what = "the complaint text is empty"
        raise CannotDo(what, 'give what the customer reports with --text "…"')
    files, damaged = examined_files(session, [GivenFile(*photo) for photo in complaint.photos])

    def propose(before: Judged, _: Transaction) -> Proposal:
        answers = understand_arrival(before, complaint.readings)
        findings = (
            *damaged,
            *unknown_symptoms(session.shop.settings, complaint.symptoms, serial),
            *answers.findings,
            *allowed(session, "complain", by, at=at, serial=serial),
            *_not_shipped(before),
        )
        body = _body(complaint, answers.readings, [attachment for attachment, _ in files])
        return Proposal([session.draft(serial, by, body, at=at)], findings, files)

    done = append(session, serial, propose)
    if not done.entries or not isinstance(done.entries[0].body, Complained):
        return CaseOpened(None, done.judged, (), done.findings)
    values = compare_arrival(done.judged, done.entries[0].body.readings)
    return CaseOpened(cases_of(done.judged.entries)[-1], done.judged, values, done.findings)


def unknown_symptoms(settings: Settings, symptoms: Sequence[str], serial: str) -> Iterator[Finding]:
    """CAS001 for each symptom that is not in the shop's list."""
    known = settings.symptoms
    for symptom in symptoms:
        if symptom not in known:
            otherwise = "" if known else "list symptoms under 'symptoms:' in shop.yaml"
            hint = did_you_mean(symptom, known, otherwise, titles=known)
            what = f"there is no symptom '{symptom}' in the shop's list"
            yield Finding("CAS001", what, Place(unit=serial), hint=hint)


def _not_shipped(judged: Judged) -> Iterator[Finding]:
    if not any(entry.body.kind == "shipped" for entry in judged.case.standing):
        serial = judged.unit.serial
        yield Finding(
            "CAS002",
            f"{serial} never left: it is {judged.verdict.state}",
            Place(unit=serial),
            Weight.WARNING,
            hint="see whether the serial is the one on the customer's nameplate",
        )


def _body(complaint: Complaint, readings: tuple[Arrived, ...], photos: Sequence[Attachment]) -> Complained:
    return Complained(
        text=complaint.text.strip(),
        symptoms=tuple(dict.fromkeys(complaint.symptoms)),
        readings=readings,
        photos=tuple(dict.fromkeys(photo.digest for photo in photos)),
        contact=complaint.contact.strip() or None if complaint.contact else None,
    )
