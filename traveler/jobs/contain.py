"""Containment: who has what the cause may have spoilt. What is here is stopped, who has it gets a letter."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import ClassVar

from traveler.definition.plan import Plan
from traveler.files import write_whole
from traveler.finding import CannotDo, Finding, blocking
from traveler.jobs.case import CaseStep, follow_up
from traveler.jobs.sign import allowed
from traveler.jobs.stop import Stopping, stop_all
from traveler.record.plans import Plans
from traveler.result import Result
from traveler.sheets.letters import LETTER, Letter, letter_text, letters_csv
from traveler.shop.session import Session
from traveler.text import plural
from traveler.trace.cases import contained_text, find_case
from traveler.trace.common_causes import Affected, Cause, affected


@dataclass(frozen=True, slots=True)
class ContainRequest:
    """What is to be done: the cause, the case it is for; stop units, write letters to this file."""

    case: str
    cause: Cause
    stop: bool = False
    by: str | None = None
    letters: Path | None = None
    text: str = LETTER


@dataclass(frozen=True, slots=True)
class ContainedUnit(Result):
    """A unit that the cause may have spoilt, and what became of it."""

    json_keys: ClassVar[str] = (
        "serial=affected.unit.serial product=affected.unit.product variant=affected.unit.variant "
        "state=affected.unit.state where left=affected.left customer=affected.sent.customer "
        "shipped=affected.place.shipment.at complained=affected.complained "
        "stop=stopping.entry.seq stopped_now"
    )

    affected: Affected
    stopping: Stopping | None

    @property
    def where(self) -> str:
        """Where it is now."""
        return self.affected.place.text if self.stopping is None else self.stopping.where

    @property
    def stopped_now(self) -> bool:
        """Whether it was stopped just now."""
        return self.stopping is not None and self.stopping.new


@dataclass(frozen=True, slots=True)
class Contained(Result):
    """The units that share the cause, what became of those here, and how many letters were written."""

    json_keys: ClassVar[str] = "case cause here=here_count left=left_count units=told letters file"

    case: str
    cause: str
    units: tuple[Affected, ...]
    stopped: tuple[Stopping, ...] = ()
    letters: int = 0
    file: Path | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def here(self) -> tuple[Affected, ...]:
        """Those that can be stopped."""
        return tuple(unit for unit in self.units if unit.place.here)

    @property
    def left(self) -> tuple[Affected, ...]:
        """Those that customers have."""
        return tuple(unit for unit in self.units if unit.left)

    @property
    def told(self) -> tuple[ContainedUnit, ...]:
        """Each unit with what became of it."""
        stopped = {stopping.serial: stopping for stopping in self.stopped}
        return tuple(ContainedUnit(unit, stopped.get(unit.unit.serial)) for unit in self.units)

    @property
    def here_count(self) -> int:
        """How many can be stopped."""
        return len(self.here)

    @property
    def left_count(self) -> int:
        """How many customers have."""
        return len(self.left)


def contain(session: Session, wanted: ContainRequest) -> Contained:
    """Finds the units; stops those that are here and writes letters for the others where that is asked.

    Nothing is stopped twice, and the case is updated once. Findings: who
    may not work on a case (PER001, PER003, GAT002, PIN004, PIN005), and as in
    :func:`traveler.jobs.stop.stop`.

    Raises:
        CannotDo: no such case or cause; nobody named for the stop; a letter with an unknown gap.
        OSError: the letters cannot be written.
    """
    if wanted.stop and wanted.by is None:
        what = "the person who stops the units is missing"
        raise CannotDo(what, "give --by ID")
    with session.store.reading() as records:
        case = find_case(records, wanted.case)
        name, units = affected(session, records, case.name, wanted.cause)
        issued = Plans(records)
        plans = {unit.unit.serial: issued.plan(unit.unit, unit.issued) for unit in units if unit.left}
    found = Contained(case.name, name, units)
    letters = [_letter(session, unit, plans[unit.unit.serial], wanted.text) for unit in found.left]
    by = wanted.by or ""
    if wanted.stop:
        refused = allowed(session, "follow_up", by, serial=case.opened.unit)
        if refused:
            return replace(found, findings=refused)
        serials = [unit.unit.serial for unit in found.here]
        found = replace(found, stopped=tuple(stop_all(session, serials, f"case {case.name}: {name}", by)))
    if wanted.letters is not None:
        file = write_whole(wanted.letters, letters_csv(letters))
        found = replace(found, letters=len(letters), file=file)
    findings = tuple(finding for stopping in found.stopped for finding in stopping.findings)
    if wanted.stop and not blocking(findings):
        findings += _tell_case(session, found, by)
    return replace(found, findings=findings)


def _tell_case(session: Session, found: Contained, by: str) -> tuple[Finding, ...]:
    """A step ``contained`` in the case, unless it says so already or is closed."""
    with session.store.reading() as records:
        case = find_case(records, found.case)
    held = sum(stopping.entry is not None for stopping in found.stopped)
    here = f"{plural(held, 'unit')} here stopped" if held else "none is left here"
    text = contained_text(found.cause, f"{here}, {plural(len(found.left), 'unit')} with customers")
    if case.closed or any(step.text == text for _, step in case.steps):
        return ()
    return follow_up(session, found.case, [CaseStep("contained", text)], by).findings


def _letter(session: Session, affected: Affected, plan: Plan, text: str) -> Letter:
    serial, sent = affected.unit.serial, affected.sent
    day = str(session.day(affected.place.shipment.at)) if affected.place.shipment else ""
    customer = sent.customer if sent else ""
    said = letter_text(
        text, customer=customer, serial=serial, product=plan.title, day=day, shop=session.shop.settings.name
    )
    return Letter(
        customer=customer,
        serial=serial,
        product=plan.title,
        variant=plan.variant_title or affected.unit.variant,
        shipped=day,
        carrier=(sent.carrier or "") if sent else "",
        reference=(sent.reference or "") if sent else "",
        complained="yes" if affected.complained else "",
        text=said,
    )
