"""Containment: who has what the cause may have spoilt. What is here is stopped, who has it gets a letter."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from traveler.definition.plan import Plan
from traveler.finding import Finding, Place, blocking
from traveler.jobs.affected import Affected, Cause, affected
from traveler.jobs.cannot import CannotDo
from traveler.jobs.find_case import find_case
from traveler.jobs.follow_up import Step, follow_up
from traveler.jobs.office import Office
from traveler.jobs.plans_of import Plans
from traveler.jobs.stop import Stopping, stop_all
from traveler.jobs.whole_file import write_whole
from traveler.record.blank import harmless
from traveler.trace.statistics.wording import counted
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
class Wanted:
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
        return tuple(one for one in self.units if not one.left and not one.gone)

    @property
    def left(self) -> tuple[Affected, ...]:
        """Those that customers have."""
        return tuple(one for one in self.units if one.left)

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        done = {one.serial: one for one in self.stopped}
        return {
            "case": self.case,
            "cause": self.cause,
            "here": len(self.here),
            "left": len(self.left),
            "units": [_as_dict(one, done.get(one.unit.serial)) for one in self.units],
            "letters": self.letters,
            "file": str(self.file) if self.file else None,
        }


def _as_dict(one: Affected, stopping: Stopping | None) -> dict[str, object]:
    sent = one.sent()
    return {
        "serial": one.unit.serial,
        "product": one.unit.product,
        "variant": one.unit.variant,
        "state": one.unit.state,
        "where": stopping.where if stopping is not None else one.where,
        "left": one.left,
        "customer": sent.customer if sent else None,
        "shipped": one.shipped.at.isoformat() if one.shipped else None,
        "complained": one.complained,
        "stop": stopping.entry.seq if stopping is not None and stopping.entry else None,
        "stopped_now": bool(stopping is not None and stopping.new),
    }


def contain(office: Office, wanted: Wanted) -> Contained:
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
    with office.store.reading() as records:
        case = find_case(records, wanted.case)
        name, units = affected(office, records, case.name, wanted.cause)
        issued = Plans(records)
        plans = {one.unit.serial: issued.plan(one.unit, one.issued) for one in units if one.left}
    found = Contained(case.name, name, units)
    rows = [_letter(office, one, plans[one.unit.serial], wanted.text) for one in found.left]
    stopped: tuple[Stopping, ...] = ()
    refused = _may(office, wanted, case.opened.unit)
    if refused:
        return replace(found, findings=refused)
    if wanted.stop and wanted.by is not None:
        what = f"case {case.name}: {name}"
        stopped = tuple(stop_all(office, [one.unit.serial for one in found.here], what, wanted.by))
    if wanted.letters is not None:
        write_whole(wanted.letters, letters_csv(rows))
    findings = [finding for one in stopped for finding in one.findings]
    if wanted.stop and wanted.by is not None and not blocking(findings):
        findings += _tell_case(office, found, stopped, wanted)
    written = len(rows) if wanted.letters is not None else 0
    return Contained(case.name, name, units, stopped, written, wanted.letters, tuple(findings))


def _may(office: Office, wanted: Wanted, serial: str) -> tuple[Finding, ...]:
    if not wanted.stop:
        return ()
    shop = office.shop
    place = Place(unit=serial)
    by = wanted.by or ""
    return tuple(may_act("follow_up", by, office.today, shop.people, shop.settings, place=place))


def _tell_case(
    office: Office, found: Contained, stopped: Sequence[Stopping], wanted: Wanted
) -> tuple[Finding, ...]:
    """A step ``contained`` in the case, unless it says so already or is closed."""
    with office.store.reading() as records:
        case = find_case(records, found.case)
    held = len([one for one in stopped if one.entry is not None])
    here = f"{counted(held, 'unit')} here stopped" if held else "none is left here"
    text = f"{found.cause}: {here}, {counted(len(found.left), 'unit')} with customers"
    if case.closed or any(step.text == text for _, step in case.steps):
        return ()
    return follow_up(office, found.case, [Step("contained", text)], wanted.by or "").findings


def _letter(office: Office, one: Affected, plan: Plan, text: str) -> tuple[str, ...]:
    sent = one.sent()
    customer, day = (sent.customer if sent else ""), (str(office.day(one.shipped.at)) if one.shipped else "")
    gaps = {
        "customer": customer,
        "serial": one.unit.serial,
        "product": plan.title,
        "day": day,
        "shop": office.shop.settings.name,
    }
    unknown = [name for name in _GAP.findall(text) if name not in gaps]
    if unknown:
        what = f"the text of the letter has a gap that nothing fills: {{{unknown[0]}}}"
        raise CannotDo(what, f"gaps are {', '.join(f'{{{name}}}' for name in gaps)}")
    said = _GAP.sub(lambda found: gaps[found[1]], text)
    carrier, reference = (sent.carrier or "", sent.reference or "") if sent else ("", "")
    complained = "yes" if one.complained else ""
    variant = plan.variant_title or one.unit.variant
    return customer, one.unit.serial, plan.title, variant, day, carrier, reference, complained, said


def letters_csv(rows: Sequence[Sequence[str]]) -> bytes:
    """The letters as CSV (RFC 4180, UTF-8 with its mark); no cell is taken for a formula by a spreadsheet."""
    made = io.StringIO()
    writer = csv.writer(made)
    writer.writerow(COLUMNS)
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return ("\ufeff" + made.getvalue()).encode()
