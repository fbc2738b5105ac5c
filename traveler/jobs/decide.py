"""The disposition of a stop: what is done about it, by whom, and what must be measured again."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from traveler.finding import Place, blocking
from traveler.jobs.add_entry import Added, against
from traveler.jobs.cannot import CannotDo
from traveler.jobs.judge import judge
from traveler.jobs.office import Office
from traveler.jobs.signing import unsigned
from traveler.jobs.write import write
from traveler.record.entry import Decided
from traveler.verdict.disposition import deciding, may_decide
from traveler.verdict.stops import WORKED_ON

Decision = Literal["rework", "repair", "use_as_is", "scrap", "return_to_supplier", "no_fault"]

CONCEDED = ("use_as_is", "repair")
"""Decisions that may name a concession: the unit will not be as specified."""


@dataclass(frozen=True, slots=True)
class Disposition:
    """What is decided. ``measure_again`` names slots, steps or checks, on top of the slot that is stopped."""

    decision: Decision
    concession: str | None = None
    text: str = ""
    measure_again: tuple[str, ...] = field(default_factory=tuple)


def decide(
    office: Office, serial: str, stop: int, asked: Disposition, by: str, *, at: datetime | None = None
) -> Added:
    """Decides on the stop with this number; of two decisions on one stop the later counts.

    Findings: those of :func:`traveler.verdict.disposition.may_decide`.

    Raises:
        CannotDo: a concession where none is given, or no unit of this serial was issued here.
    """
    body = _body(stop, asked)
    when = at or office.now
    with office.store.transaction() as work:
        before = judge(office, work, serial)
        refused = may_decide(before.case, body, by, when)
        findings = (*refused, *unsigned(office, deciding(body), by, Place(unit=serial)))
        if not blocking(findings):
            stopped = next(one for one in before.case.stops if one.entry.seq == stop)
            draft = office.draft(serial, by, body, at=when, slot=stopped.slot)
            entries = write(office, work, [draft], before.entries, before.plan)
            after = judge(office, work, serial)
            findings = against(after, entries[len(before.entries) :])
            if not blocking(findings):
                return Added(entries[-1], after, findings)
        work.abandon()
        return Added(None, before, findings)


def _body(stop: int, asked: Disposition) -> Decided:
    concession = (asked.concession or "").strip() or None
    if concession is not None and asked.decision not in CONCEDED:
        what = f"'{asked.decision.replace('_', ' ')}' needs no concession"
        raise CannotDo(what, "leave it out, or decide to use as is or to repair")
    return Decided(
        stop=stop,
        decision=asked.decision,
        concession=concession,
        text=" ".join(asked.text.split()),
        measure_again=tuple(dict.fromkeys(one.strip() for one in asked.measure_again if one.strip())),
    )


def to_do(decision: Decision, measure_again: tuple[str, ...] = ()) -> str:
    """What follows from a decision, in a few words."""
    if decision in WORKED_ON:
        named = f": {', '.join(measure_again)}" if measure_again else ""
        return f"do it, then measure again{named}; the unit is inspected and released anew"
    return {
        "use_as_is": "it stays as it is, visible on the certificate",
        "scrap": "it goes no further",
        "return_to_supplier": "it stays stopped until something replaces it or it is decided again",
        "no_fault": "the work goes on",
    }[decision]
