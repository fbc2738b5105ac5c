"""Containment: who has what the cause may have spoilt. What is here is stopped, who has it gets a letter."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from traveler.definition.plan import Plan
from traveler.files import write_whole
from traveler.finding import CannotDo, Finding, Place, blocking
from traveler.jobs.case import CaseStep, follow_up
from traveler.jobs.stop import Stopping, stop_all
from traveler.record.plans import Plans
from traveler.record.readers.blank import harmless
from traveler.shop.session import Session
from traveler.text import plural
from traveler.trace.cases import find_case
from traveler.trace.common_causes import Affected, Cause, affected
from traveler.verdict.authority import may_act

COLUMNS = (
    "customer", "serial", "product", "variant", "shipped", "carrier", "reference", "complained", "text",
)  # fmt: skip

LETTER = (
    "We are looking into a complaint about machines built with the same parts or measured with the same "
    "gauge as yours: {product}, serial {serial}, which left us on {day}. Please call us before you use it "
    "further. You need do nothing else now. {shop}"
)
"""What stands in a letter; the gaps customer, serial, product, day and shop are filled in."""

_GAP = re.compile(r"\{([^{}]*)\}")


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
class Contained:
    """The units that share the cause, what became of those here, and how many letters were written."""

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
        return tuple(unit for unit in self.units if not unit.left and not unit.gone)

    @property
    def left(self) -> tuple[Affected, ...]:
        """Those that customers have."""
        return tuple(unit for unit in self.units if unit.left)

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        done = {stopping.serial: stopping for stopping in self.stopped}
        return {
            "case": self.case,
            "cause": self.cause,
            "here": len(self.here),
            "left": len(self.left),
            "units": [_as_dict(unit, done.get(unit.unit.serial)) for unit in self.units],
            "letters": self.letters,
            "file": str(self.file) if self.file else None,
        }


def _as_dict(affected: Affected, stopping: Stopping | None) -> dict[str, object]:
    sent = affected.sent()
    return {
        "serial": affected.unit.serial,
        "product": affected.unit.product,
        "variant": affected.unit.variant,
        "state": affected.unit.state,
        "where": stopping.where if stopping is not None else affected.where,
        "left": affected.left,
        "customer": sent.customer if sent else None,
        "shipped": affected.shipped.at.isoformat() if affected.shipped else None,
        "complained": affected.complained,
        "stop": stopping.entry.seq if stopping is not None and stopping.entry else None,
        "stopped_now": bool(stopping is not None and stopping.new),
    }


def contain(session: Session, wanted: ContainRequest) -> Contained:
    """Finds the units; stops those that are here and writes letters for the others where that is asked.

    Nothing is stopped twice, and the case is told once: doing it again does only what was left. Findings: who
    may not work on a case (PER001, PER003, GAT002), and as in :func:`traveler.jobs.stop.stop`.

    Raises:
        CannotDo: no such case or cause; nobody named for the stop; a letter with an unknown gap.
        OSError: the letters cannot be written.
    """
    if wanted.stop and wanted.by is None:
        what = "who stops them?"
        raise CannotDo(what, "give --by ID")
    with session.store.reading() as records:
        case = find_case(records, wanted.case)
        name, units = affected(session, records, case.name, wanted.cause)
        issued = Plans(records)
        plans = {unit.unit.serial: issued.plan(unit.unit, unit.issued) for unit in units if unit.left}
    found = Contained(case.name, name, units)
    rows = [_letter(session, serial, plans[serial.unit.serial], wanted.text) for serial in found.left]
    stopped: tuple[Stopping, ...] = ()
    refused = _may(session, wanted, case.opened.unit)
    if refused:
        return replace(found, findings=refused)
    if wanted.stop and wanted.by is not None:
        what = f"case {case.name}: {name}"
        stopped = tuple(stop_all(session, [serial.unit.serial for serial in found.here], what, wanted.by))
    if wanted.letters is not None:
        write_whole(wanted.letters, letters_csv(rows))
    findings = [finding for stopping in stopped for finding in stopping.findings]
    if wanted.stop and wanted.by is not None and not blocking(findings):
        findings += _tell_case(session, found, stopped, wanted)
    written = len(rows) if wanted.letters is not None else 0
    return Contained(case.name, name, units, stopped, written, wanted.letters, tuple(findings))


def _may(session: Session, wanted: ContainRequest, serial: str) -> tuple[Finding, ...]:
    if not wanted.stop:
        return ()
    shop = session.shop
    place = Place(unit=serial)
    by = wanted.by or ""
    return tuple(may_act("follow_up", by, session.today, shop.people, shop.settings, place=place))


def _tell_case(
    session: Session, found: Contained, stopped: Sequence[Stopping], wanted: ContainRequest
) -> tuple[Finding, ...]:
    """A step ``contained`` in the case, unless it says so already or is closed."""
    with session.store.reading() as records:
        case = find_case(records, found.case)
    held = len([stopping for stopping in stopped if stopping.entry is not None])
    here = f"{plural(held, 'unit')} here stopped" if held else "none is left here"
    text = f"{found.cause}: {here}, {plural(len(found.left), 'unit')} with customers"
    if case.closed or any(step.text == text for _, step in case.steps):
        return ()
    return follow_up(session, found.case, [CaseStep("contained", text)], wanted.by or "").findings


def _letter(session: Session, affected: Affected, plan: Plan, text: str) -> tuple[str, ...]:
    sent = affected.sent()
    customer, day = (
        (sent.customer if sent else ""),
        (str(session.day(affected.shipped.at)) if affected.shipped else ""),
    )
    gaps = {
        "customer": customer,
        "serial": affected.unit.serial,
        "product": plan.title,
        "day": day,
        "shop": session.shop.settings.name,
    }
    unknown = [name for name in _GAP.findall(text) if name not in gaps]
    if unknown:
        what = f"the text of the letter has a gap that nothing fills: {{{unknown[0]}}}"
        raise CannotDo(what, f"gaps are {', '.join(f'{{{name}}}' for name in gaps)}")
    said = _GAP.sub(lambda found: gaps[found[1]], text)
    carrier, reference = (sent.carrier or "", sent.reference or "") if sent else ("", "")
    complained = "yes" if affected.complained else ""
    variant = plan.variant_title or affected.unit.variant
    return customer, affected.unit.serial, plan.title, variant, day, carrier, reference, complained, said


def letters_csv(rows: Sequence[Sequence[str]]) -> bytes:
    """The letters as CSV (RFC 4180, UTF-8 with its mark); no cell is taken for a formula by a spreadsheet."""
    made = io.StringIO()
    writer = csv.writer(made)
    writer.writerow(COLUMNS)
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return ("\ufeff" + made.getvalue()).encode()
