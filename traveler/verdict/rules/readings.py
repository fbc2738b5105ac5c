"""Findings about readings: against their limits, as written, and as a set (REA001 to REA015)."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from traveler.definition.plan import SlotKind
from traveler.finding import Finding
from traveler.measure.limits import Limits
from traveler.measure.number import display_number
from traveler.measure.quantity import Quantity, same_dimension
from traveler.record.entry import Confirmed, Read, done_order
from traveler.verdict.case import Case, Problem, Problems, listed_slots
from traveler.verdict.deciding import DecidingReadings
from traveler.verdict.rows import ReadingRow, amount, distance_outside
from traveler.verdict.rules.gauges import Resolution, difference_in, resolution_of
from traveler.verdict.rules.packing import is_gross_mass
from traveler.verdict.state import NOT_ACCEPTED, SlotState

FAR = 10
"""So many tolerance widths outside the limits no real deviation lies: the unit or the point is wrong."""

LIKELY_UNITS = (
    *("mm", "in", "mil", "µm", "cm", "m"),
    *("N·m", "lbf·ft", "lbf·in"),
    *("N", "kN", "lbf", "kgf"),
    *("kg", "g", "lb"),
    *("°C", "°F", "deg", "rad"),
)
"""Units a person may have had in mind, tried in this order."""


def check_limits(case: Case, decided: DecidingReadings) -> Iterator[Finding]:
    """Out of tolerance, in the guard band, implausible, and where the rule cannot be applied."""
    for row in decided.rows.values():
        if row.state in NOT_ACCEPTED:
            yield from _against_limits(case, row)
        elif row.value.value.numerator < 0 and _absurd(row):
            what = f"{_as_read(row)} lies more than {FAR} times as far below zero as {_wanted(row)} above"
            hint = "look at the sign, the unit and the decimal point"
            yield case.finding("REA006", what, about=row, hint=hint)
    for step, problem in case.index.unreadable.items():
        yield case.finding("REA015", f"limits of {step}: {problem.what}", slot=step, hint=problem.hint)


def _absurd(row: ReadingRow) -> bool:
    """Whether a value is inside only because its limits have no lower bound."""
    limits = row.limits
    if limits is None or limits.lower is not None or limits.upper is None or limits.upper <= 0:
        return False
    return -row.value.value > FAR * limits.upper


def _against_limits(case: Case, row: ReadingRow) -> Iterator[Finding]:
    stop = case.concession(row.slot, row.latest)
    if stop is not None and stop.decision is not None:
        what = f"{row.value} against {_wanted(row)}, used as is under {stop.decision.concession}"
        yield case.finding("NON006", what, about=row)
        return
    if row.weighed.problem is not None:
        code, what = row.weighed.problem
        hint = "enter the gauge's uncertainty in gauges.yaml" if code == "REA012" else "use a better gauge"
        yield case.finding(code, what, about=row, hint=hint)
    if row.state is SlotState.OUT:
        yield from _out(case, row)
    elif row.state is SlotState.DOUBTFUL and row.weighed.problem is None:
        yield _doubtful(case, row)


def _out(case: Case, row: ReadingRow) -> Iterator[Finding]:
    limits = row.limits
    if limits is None or is_gross_mass(case.plan, row.step):
        return
    excess, distance = limits.excess(row.value.value), distance_outside(limits, row.value.value)
    hint = row.step.adjust.text if row.step.adjust is not None else ""
    what = f"{_as_read(row)} against {_wanted(row)}: {distance}"
    yield case.finding("REA001", what, about=row, hint=hint or "adjust and read again, or stop it")
    width = plausible_span(limits)
    if width and abs(excess) > FAR * width:
        times = round(abs(excess) / width)
        what = f"{_as_read(row)} lies {times} tolerance widths outside {_wanted(row)}"
        yield case.finding("REA006", what, about=row, hint=_likely(row.written, limits))


def plausible_span(limits: Limits) -> Fraction:
    """What an implausible deviation is compared with: the tolerance, else the size of the only bound."""
    span = limits.span
    return span if span is not None else abs(limits.upper or limits.lower or Fraction(0))


def _doubtful(case: Case, row: ReadingRow) -> Finding:
    zone = row.weighed.acceptance
    what = f"{row.value} is inside {_wanted(row)} but not inside the acceptance limits {zone}"
    return case.finding("REA002", what, about=row, hint="adjust, or measure with a better gauge")


def _as_read(row: ReadingRow) -> str:
    """The value, and what was written where it was written in another unit."""
    if row.worked or row.written.unit == row.unit:
        return str(row.value)
    return f"{row.value} (written {row.as_written})"


def _wanted(row: ReadingRow) -> str:
    return row.limits.describe() if row.limits is not None else "no limits"


def _likely(read: Quantity, limits: Limits) -> str:
    """The unit or shift of the point with which the number would be inside."""
    for unit in LIKELY_UNITS:
        if unit != read.unit and same_dimension(unit, limits.unit):
            value = Quantity(read.value, unit, read.written, read.decimals).to(limits.unit).value
            if limits.holds(value):
                return f"was it {display_number(read.value, read.decimals)} {unit}?"
    for shift in (10, 100, 1000):
        if limits.holds(read.to(limits.unit).value / shift):
            near = f"{display_number(read.value / shift, read.decimals)} {read.unit}"
            return f"is the decimal point in its place? {near} would be inside"
    return "look at the unit and the decimal point"


def check_unreadable(case: Case, decided: DecidingReadings) -> Iterator[Finding]:
    """Readings after the deciding one that cannot be judged: no unit, another dimension, no number."""
    for unreadable_reading in decided.unreadable:
        yield case.finding(
            unreadable_reading.code,
            unreadable_reading.what,
            slot=unreadable_reading.slot,
            entry=unreadable_reading.entry.seq,
            hint=unreadable_reading.hint or "strike it, read again",
        )


def check_adjusted(case: Case) -> Iterator[Finding]:
    """Adjustments before which nothing was read."""
    for entry in case.of_kind("adjusted"):
        if entry.slot is None:
            continue
        filled = case.filled.get(entry.slot)
        before = any(done_order(item) < done_order(entry) for item in filled.entries) if filled else False
        found = (
            any(isinstance(entry.body, Read) and entry.body.as_found for entry in filled.entries)
            if filled
            else False
        )
        if not before and not found:
            what = f"adjusted by {entry.by} without a reading as found"
            yield case.finding("REA010", what, about=entry, hint="read before you adjust")


def check_confirmed(case: Case) -> Iterator[Finding]:
    """Statements that were confirmed as not so."""
    for slot, filled in case.filled_of(SlotKind.CONFIRM):
        body = filled.last.body
        if not isinstance(body, Confirmed) or body.yes:
            continue
        stop = case.concession(slot, filled.last.seq)
        if stop is not None and stop.decision is not None:
            what = f"not so, and used as is under {stop.decision.concession}: {filled.planned.slot.label}"
            yield case.finding("NON006", what, slot=slot, entry=filled.last.seq)
        else:
            what = f"{filled.last.by} found this not so: {filled.planned.slot.label}"
            hint = "put it right and confirm again, or stop the unit"
            yield case.finding("REA014", what, slot=slot, entry=filled.last.seq, hint=hint)


STEPS = 10
"""So many steps of a gauge a tolerance should hold (rule of ten; common practice, no source)."""


def check_resolution(case: Case, decided: DecidingReadings) -> Iterator[Finding]:
    """More decimals than the gauge resolves, and a gauge coarser than a tenth of the tolerance."""
    gathered = Problems()
    known: dict[tuple[str, str | None], tuple[Resolution | None, Problem | None]] = {}
    for row in decided.rows.values():
        if row.worked:
            continue
        key = (row.step.id, row.gauge)
        if key not in known:
            resolution = resolution_of(case, row)
            known[key] = (resolution, _coarse(row.limits, resolution))
        resolution, coarse = known[key]
        if resolution is not None and finer(row.written, resolution):
            what = f"{row.written} is written finer than the gauge resolves, {resolution.step}"
            gathered.add(Problem("REA007", what, "write what the gauge shows"), row.slot, row.seq)
        if coarse is not None:
            gathered.add(coarse, row.slot, row.seq)
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


def _coarse(limits: Limits | None, resolution: Resolution | None) -> Problem | None:
    if limits is None or resolution is None:
        return None
    width, step = limits.span, difference_in(limits.unit, resolution.step)
    if width is None or step is None or step * STEPS <= width:
        return None
    fine = f"{amount(limits, width / STEPS)} {limits.unit}"
    tenth = f"a tenth of the tolerance, {limits.describe()}"
    what = f"a gauge that resolves {resolution.step} is coarser than {tenth}"
    return Problem("REA008", what, f"use one that resolves {fine} or finer")


def check_copied(case: Case, decided: DecidingReadings) -> Iterator[Finding]:
    """The same reading at every position of a check, where readings could have differed."""
    by_step: dict[str, list[ReadingRow]] = {}
    for row in decided.rows.values():
        if not row.worked:
            by_step.setdefault(row.step.id, []).append(row)
    for group in by_step.values():
        first = group[0]
        equal = all(item.value.value == first.value.value for item in group)
        if equal and len(group) >= case.settings.copy_down_from and could_differ(case, first):
            where = listed_slots([reading.slot for reading in group], total=len(first.step.slots))
            what = f"all {len(group)} readings are {first.written}: {where}"
            hint = "read each position on its own"
            yield case.finding("REA009", what, about=first, hint=hint)


def could_differ(case: Case, row: ReadingRow) -> bool:
    """Whether the tolerance holds ten or more steps of what was read, so that chance hardly gives equal ones.

    A step is the gauge's resolution or the last written place, whichever is larger. Without limits that span
    anything, the reading itself stands for the tolerance.
    """
    limits, unit = row.limits, row.value.unit
    width = (limits.span if limits is not None else None) or abs(row.value.value)
    resolution = resolution_of(case, row)
    known = [last_place(row.written), *([resolution.step] if resolution is not None else [])]
    steps = [step for quantity in known if (step := difference_in(unit, quantity)) is not None]
    return width >= STEPS * max(steps)
