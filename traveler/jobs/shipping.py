"""The steps of a unit's life: release, crate, place, ship. The gate decides whether."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from traveler.finding import Place
from traveler.jobs.append import Appended, Proposal, append
from traveler.jobs.seal import last_seal, seal_units
from traveler.jobs.sign import unsigned
from traveler.record.entry import Body, Crated, Placed, Released, Shipped
from traveler.record.store import Transaction
from traveler.shop.session import Session
from traveler.verdict.gate import GATES
from traveler.verdict.judge import Judged, weighed_mass


def release(session: Session, serial: str, by: str, at: datetime | None = None) -> Appended:
    """Quality releases the unit; the entry seals the chain as it stands: its head and its count.

    Then the chain's end is noted in the shop's seal file. Findings: those of
    :func:`traveler.verdict.gate.may_release`, and the warnings of :func:`traveler.jobs.seal.seal_units`.
    """
    file, sealed = last_seal(session.shop) or (None, None)

    def says(judged: Judged) -> Body:
        return Released(head=judged.unit.head, count=judged.unit.entries, sealed=sealed, seal_file=file)

    return _sealed(session, _step("release", session, serial, by, at, says))


def crate(session: Session, serial: str, by: str, at: datetime | None = None) -> Appended:
    """The crate is closed, with the gross mass that was read.

    Findings: those of :func:`traveler.verdict.gate.may_crate`.
    """
    return _step("crate", session, serial, by, at, lambda judged: Crated(gross_mass=weighed_mass(judged)))


def place(session: Session, serial: str, where: str, by: str, at: datetime | None = None) -> Appended:
    """The crate stands in stock at this place.

    Findings: those of :func:`traveler.verdict.gate.may_place`.
    """
    return _step("place", session, serial, by, at, lambda _: Placed(place=where))


def ship(session: Session, serial: str, leaves: Shipped, by: str, at: datetime | None = None) -> Appended:
    """The crate leaves for a customer.

    Its record is sealed once more. Findings: those of :func:`traveler.verdict.gate.may_ship`, and the
    warnings of :func:`traveler.jobs.seal.seal_units`.
    """
    return _sealed(session, _step("ship", session, serial, by, at, lambda _: leaves))


def _sealed(session: Session, step: Appended) -> Appended:
    """The step, and what was wrong with noting it in the seal file; a step that was refused is not noted."""
    if not step.taken:
        return step
    return replace(step, findings=(*step.findings, *seal_units(session, [step.judged.unit.serial]).findings))


def _step(
    action: str, session: Session, serial: str, by: str, at: datetime | None, says: Callable[[Judged], Body]
) -> Appended:
    def propose(before: Judged, _: Transaction) -> Proposal:
        refused = GATES[action](before.case, by, at or session.now, before.verdict)
        findings = (*refused, *unsigned(session, action, by, Place(unit=serial)))
        return Proposal([session.draft(serial, by, says(before), at=at)], findings)

    return append(session, serial, propose)
