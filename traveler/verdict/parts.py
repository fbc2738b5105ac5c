"""Findings about traced parts (PAR002 to PAR007); a missing one is found with the open slots."""

from __future__ import annotations

from collections.abc import Iterator

from traveler.definition.plan import SlotKind, Step
from traveler.finding import Finding
from traveler.record.entry import Entry, Fitted
from traveler.verdict.case import Case


def check_parts(case: Case) -> Iterator[Finding]:
    """Each slot's last fitted part: the right part, traced the right way, usable, and nowhere else."""
    seen: dict[tuple[str | None, str], str] = {}
    for slot, filled in case.filled_of(SlotKind.PART):
        entry, step = filled.last, filled.spot.step
        body = entry.body
        if not isinstance(body, Fitted) or step is None:
            continue
        yield from _right_part(case, slot, entry, body, step)
        if body.trace == "serial":
            yield from _once(case, slot, entry, body, step, seen)
        else:
            yield from _lot(case, slot, entry, body)


def _right_part(case: Case, slot: str, entry: Entry, body: Fitted, step: Step) -> Iterator[Finding]:
    if step.trace is not None and body.trace != step.trace:
        what = f"{body.trace} {body.value} is recorded, the part is traced by {step.trace}"
        yield case.say("PAR006", what, slot=slot, entry=entry.seq, hint=f"record the {step.trace}")
    if body.number is not None and step.part_number is not None and body.number != step.part_number:
        what = f"part {body.number} is fitted, the plan asks for {step.part_number}"
        yield case.say(
            "PAR007", what, slot=slot, entry=entry.seq, hint="fit the right part, or stop the unit"
        )


def _once(
    case: Case, slot: str, entry: Entry, body: Fitted, step: Step, seen: dict[tuple[str | None, str], str]
) -> Iterator[Finding]:
    key = (body.number or step.part_number, body.value)
    elsewhere = case.facts.fitted_elsewhere
    other = elsewhere.get(key) or elsewhere.get((None, body.value))
    if other is not None and other != case.unit:
        what = f"serial {body.value} of {key[0] or 'the part'} is already fitted in {other}"
        yield case.say(
            "PAR002", what, slot=slot, entry=entry.seq, hint="read the serial again; one of the two is wrong"
        )
    if key in seen:
        what = f"serial {body.value} is fitted here and at {seen[key]}"
        yield case.say("PAR005", what, slot=slot, entry=entry.seq, hint="read both serials again")
    seen.setdefault(key, slot)


def _lot(case: Case, slot: str, entry: Entry, body: Fitted) -> Iterator[Finding]:
    if case.facts.lots is None:
        return
    lot = case.facts.lots.get(body.value)
    if lot is None:
        what = f"the shop knows no lot {body.value}"
        yield case.say(
            "PAR004", what, slot=slot, entry=entry.seq, hint="read the lot number again, or book the lot in"
        )
    elif lot.standing != "usable":
        what = f"lot {body.value} is {lot.standing}"
        yield case.say(
            "PAR003", what, slot=slot, entry=entry.seq, hint="take the part out, or have the lot decided on"
        )
