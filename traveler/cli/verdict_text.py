"""A unit's verdict in a line, and its slots as a table."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from traveler.cli.present import table
from traveler.finding import Finding, blocking
from traveler.record.entry import recorded_late

if TYPE_CHECKING:
    from traveler.verdict.judge import Judged

OPEN = "open"


def unit_line(judged: Judged) -> str:
    """``BW8-2639-0001N  bobbin-winder 8 D  building: 41 of 120 slots, 2 findings block``."""
    unit, verdict = judged.unit, judged.verdict
    done = sum(slot.state != OPEN for slot in verdict.slots.values())
    held = len(blocking(verdict.findings))
    if held:
        says = f"{held} finding{'s' if held > 1 else ''} in the way"
    else:
        says = "nothing in the way of a release" if verdict.complete else "so far accepted"
    built = f"{unit.product} {unit.variant} {unit.revision}"
    return f"{unit.serial}  {built}  {verdict.state}: {done} of {len(verdict.slots)} slots, {says}"


@dataclass(frozen=True, slots=True)
class UnitShown:
    """What is kept of a judged unit: its lines, or its JSON document, and its findings."""

    text: str
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Show:
    """Makes what is shown of a unit, in whatever process it was judged."""

    json_wanted: bool
    slots: bool

    def __call__(self, judged: Judged) -> UnitShown:
        """The unit as it is asked for."""
        if self.json_wanted:
            text = json.dumps(judged.verdict.as_dict(), ensure_ascii=False, default=str)
        else:
            text = "\n".join([unit_line(judged), *([slots_table(judged)] if self.slots else [])])
        return UnitShown(text, judged.verdict.findings)


def slots_table(judged: Judged) -> str:
    """Every slot in the order of the work: what it asks, what was written, its state."""
    plan = judged.plan
    hours = judged.case.settings.late_after_hours
    late = {entry.seq for entry in judged.entries if recorded_late(entry, hours) is not None}
    rows = []
    for slot, slot_verdict in judged.verdict.slots.items():
        step = plan.step_of.get(slot)
        limits = step.limits.text if step is not None and step.limits is not None else ""
        value = " ".join(part for part in (slot_verdict.value, slot_verdict.unit) if part)
        label = plan.by_slot[slot].label
        state = (
            f"{slot_verdict.state}, recorded late" if slot_verdict.entry in late else str(slot_verdict.state)
        )
        rows.append((slot, label, slot_verdict.acceptance or limits, value, state))
    return table(("slot", "what", "limits", "written", "state"), rows)
