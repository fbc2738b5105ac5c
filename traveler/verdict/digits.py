"""Findings about the digits of readings: finer than the gauge, too coarse, all equal (REA007 to REA009)."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from traveler.finding import Finding
from traveler.measure.limits import Limits
from traveler.measure.quantity import Quantity
from traveler.verdict.case import Case
from traveler.verdict.grouping import Gathered, Trouble, spots
from traveler.verdict.judging import Judged, Ruling
from traveler.verdict.readings import amount
from traveler.verdict.tolerance import Resolution, difference_in, resolution_of, span_of

STEPS = 10
"""So many steps of a gauge a tolerance should hold (rule of ten; common practice, no source)."""


def check_resolution(case: Case, judged: Judged) -> Iterator[Finding]:
    """More decimals than the gauge resolves, and a gauge coarser than a tenth of the tolerance."""
    gathered = Gathered()
    known: dict[tuple[str, str | None], tuple[Resolution | None, Trouble | None]] = {}
    for ruling in judged.rulings.values():
        if ruling.body is None:
            continue
        key = (ruling.step.id, ruling.body.gauge)
        if key not in known:
            resolution = resolution_of(case, ruling)
            known[key] = (resolution, _coarse(ruling.limits, resolution))
        resolution, coarse = known[key]
        if resolution is not None and finer(ruling.written, resolution):
            what = f"{ruling.written} is written finer than the gauge resolves, {resolution.step}"
            gathered.add(Trouble("REA007", what, "write what the gauge shows"), ruling.slot, ruling.seq)
        if coarse is not None:
            gathered.add(coarse, ruling.slot, ruling.seq)
    yield from gathered.findings(case)


def finer(read: Quantity, resolution: Resolution) -> bool:
    """Whether the reading shows steps that a gauge of this resolution does not have."""
    if read.unit == resolution.step.unit:
        if read.decimals > resolution.decimals:
            return True
        return not resolution.decimal and bool(read.value % resolution.step.value)
    place = difference_in(resolution.step.unit, last_place(read))
    return place is not None and place < resolution.step.value


def last_place(read: Quantity) -> Quantity:
    """One in the last written place of a reading."""
    return Quantity(Fraction(1, 10**read.decimals), read.unit, "", 0)


def _coarse(limits: Limits | None, resolution: Resolution | None) -> Trouble | None:
    if limits is None or resolution is None:
        return None
    width, step = span_of(limits), difference_in(limits.unit, resolution.step)
    if width is None or step is None or step * STEPS <= width:
        return None
    fine = f"{amount(limits, width / STEPS)} {limits.unit}"
    tenth = f"a tenth of the tolerance, {limits.describe()}"
    what = f"a gauge that resolves {resolution.step} is coarser than {tenth}"
    return Trouble("REA008", what, f"use one that resolves {fine} or finer")


def check_copied(case: Case, judged: Judged) -> Iterator[Finding]:
    """The same reading at every position of a check, where readings could have differed."""
    by_step: dict[str, list[Ruling]] = {}
    for ruling in judged.rulings.values():
        if ruling.body is not None:
            by_step.setdefault(ruling.step.id, []).append(ruling)
    for group in by_step.values():
        first = group[0]
        equal = all(one.value.value == first.value.value for one in group)
        if equal and len(group) >= case.settings.copy_down_from and could_differ(case, first):
            where = spots([one.slot for one in group], total=len(first.step.slots))
            what = f"all {len(group)} readings are {first.written}: {where}"
            hint = "read each position on its own"
            yield case.say("REA009", what, slot=first.slot, entry=first.seq, hint=hint)


def could_differ(case: Case, ruling: Ruling) -> bool:
    """Whether the tolerance holds ten or more steps of what was read, so that chance hardly gives equal ones.

    A step is the gauge's resolution or the last written place, whichever is larger. Without limits that span
    anything, the reading itself stands for the tolerance.
    """
    limits, unit = ruling.limits, ruling.value.unit
    width = (span_of(limits) if limits is not None else None) or abs(ruling.value.value)
    resolution = resolution_of(case, ruling)
    known = [last_place(ruling.written), *([resolution.step] if resolution is not None else [])]
    steps = [step for one in known if (step := difference_in(unit, one)) is not None]
    return width >= STEPS * max(steps)
