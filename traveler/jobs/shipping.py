"""The steps of a unit's life: release, crate, place, ship. The gate decides whether."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from traveler.finding import Finding, Place, blocking
from traveler.jobs.append import append_drafts
from traveler.jobs.seal import last_seal, seal_units
from traveler.jobs.sign import unsigned
from traveler.record.entry import Body, Crated, Placed, Released, Shipped
from traveler.shop.session import Session
from traveler.trace.judging import judge
from traveler.verdict.gate import GATES
from traveler.verdict.judge import Judged, weighed_mass


@dataclass(frozen=True, slots=True)
class StepTaken:
    """The unit after the step (as it was, where findings stood in the way), and those findings."""

    judged: Judged
    findings: tuple[Finding, ...]

    @property
    def taken(self) -> bool:
        """Whether the step was taken."""
        return not blocking(self.findings)


def release(session: Session, serial: str, by: str, at: datetime | None = None) -> StepTaken:
    """Quality releases the unit; the entry seals the chain as it stands: its head and its count.

    Then the chain's end is noted in the shop's seal file. Findings: those of
    :func:`traveler.verdict.gate.may_release`, and the warnings of :func:`traveler.jobs.seal.seal_units`.
    """
    file, sealed = last_seal(session.shop) or (None, None)

    def says(judged: Judged) -> Body:
        return Released(head=judged.unit.head, count=judged.unit.entries, sealed=sealed, seal_file=file)

    return _sealed(session, _take("release", session, serial, by, at, says))


def crate(session: Session, serial: str, by: str, at: datetime | None = None) -> StepTaken:
    """The crate is closed, with the gross mass that was read.

    Findings: those of :func:`traveler.verdict.gate.may_crate`.
    """
    return _take("crate", session, serial, by, at, lambda judged: Crated(gross_mass=weighed_mass(judged)))


def place(session: Session, serial: str, where: str, by: str, at: datetime | None = None) -> StepTaken:
    """The crate stands in stock at this place.

    Findings: those of :func:`traveler.verdict.gate.may_place`.
    """
    return _take("place", session, serial, by, at, lambda _: Placed(place=where))


def ship(session: Session, serial: str, leaves: Shipped, by: str, at: datetime | None = None) -> StepTaken:
    """The crate leaves for a customer.

    Its record is sealed once more. Findings: those of :func:`traveler.verdict.gate.may_ship`, and the
    warnings of :func:`traveler.jobs.seal.seal_units`.
    """
    return _sealed(session, _take("ship", session, serial, by, at, lambda _: leaves))


def _sealed(session: Session, step: StepTaken) -> StepTaken:
    """The step, and what was wrong with noting it in the seal file; a step that was refused is not noted."""
    if not step.taken:
        return step
    return replace(step, findings=(*step.findings, *seal_units(session, [step.judged.unit.serial]).findings))


def _take(
    action: str,
    session: Session,
    serial: str,
    by: str,
    at: datetime | None,
    says: Callable[[Judged], Body],
) -> StepTaken:
    with session.store.transaction() as work:
        before = judge(session, work, serial)
        refused = GATES[action](before.case, by, at or session.now, before.verdict)
        findings = (*refused, *unsigned(session, action, by, Place(unit=serial)))
        if blocking(findings):
            work.abandon()
            return StepTaken(before, findings)
        append_drafts(
            session, work, [session.draft(serial, by, says(before), at=at)], before.entries, before.plan
        )
        return StepTaken(judge(session, work, serial), findings)
