"""A unit's verdict in a line, and its slots as a table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from traveler.cli.present import table
from traveler.finding import blocking

if TYPE_CHECKING:
    from traveler.jobs.judge import Judged

OPEN = "open"


def unit_line(judged: Judged) -> str:
    """``BW8-2639-0001N  bobbin-winder 8 D  building: 41 of 120 slots, 2 findings block``."""
    unit, verdict = judged.unit, judged.verdict
    done = sum(one.state != OPEN for one in verdict.slots.values())
    held = len(blocking(verdict.findings))
    if held:
        says = f"{held} finding{'s' if held > 1 else ''} in the way"
    else:
        says = "nothing in the way of a release" if verdict.complete else "so far accepted"
    built = f"{unit.product} {unit.variant} {unit.revision}"
    return f"{unit.serial}  {built}  {verdict.state}: {done} of {len(verdict.slots)} slots, {says}"


def slots_table(judged: Judged) -> str:
    """Every slot in the order of the work: what it asks, what was written, its state."""
    plan = judged.plan
    rows = []
    for slot, one in judged.verdict.slots.items():
        step = plan.step_of.get(slot)
        limits = step.limits.text if step is not None and step.limits is not None else ""
        value = " ".join(part for part in (one.value, one.unit) if part)
        label = plan.by_slot[slot].label
        rows.append((slot, label, one.acceptance or limits, value, str(one.state)))
    return table(("slot", "what", "limits", "written", "state"), rows)
