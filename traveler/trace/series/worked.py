"""Worked-out values of a unit, from the first readings of their inputs and from those that count."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from traveler.definition.plan import Step
from traveler.measure.limits import Limits
from traveler.measure.quantity import Quantity
from traveler.measure.unreadable import Unreadable
from traveler.measure.work_out import work_out
from traveler.trace.series.slot_life import SlotLife, Taken
from traveler.trace.series.weigher import Weigher
from traveler.verdict.outcome import SlotState
from traveler.verdict.planned import Planned
from traveler.verdict.weighing import TWO, Rule, weigh_quantity


def worked_lives(spots: Planned, read: Sequence[SlotLife], weigher: Weigher) -> Iterator[SlotLife]:
    """A life for every worked-out slot whose inputs were all read.

    It is judged by the plain rule: a guard band for the uncertainty of a worked-out value belongs to the
    verdict. It is taken to be read when the last of its inputs was, by whoever read that one.
    """
    lives = {life.spot.slot.id: life for life in read}
    for spot in spots.worked:
        inputs = [lives[name] for name in spot.slot.inputs if name in lives]
        if spot.step is None or not inputs or len(inputs) < len(spot.slot.inputs):
            continue
        limits = spots.limits.get(spot.step.id)
        rule = Rule("simple", weigher.rule(spot.step).rounding)
        first = _value(spot.step, limits, rule, inputs, lambda one: one.first)
        if first is None:
            continue
        stands: Taken | None = None
        if all(one.stands is not None for one in inputs):
            same = all(one.stands is one.first for one in inputs)
            stands = first if same else _value(spot.step, limits, rule, inputs, lambda one: one.stands)
        readings = (first,) if stands is None or stands is first else (first, stands)
        yield SlotLife(spot, limits, readings, stands)


def _value(
    step: Step,
    limits: Limits | None,
    rule: Rule,
    inputs: Sequence[SlotLife],
    choose: Callable[[SlotLife], Taken | None],
) -> Taken | None:
    how = step.how
    chosen = [(one.spot.slot.position, taken) for one in inputs if (taken := choose(one)) is not None]
    if how is None or not chosen:
        return None
    placed = [(position, Quantity(one.value, one.unit, "", 0)) for position, one in chosen]
    try:
        found = work_out(
            how.function, placed, along=how.along, options=how.options, coordinates=how.coordinates,
            unit=limits.unit if limits is not None else None,
        ).value  # fmt: skip
    except Unreadable:
        return None
    state = weigh_quantity(limits, found, rule, None, TWO).state if limits else SlotState.DONE
    last = max((one for _, one in chosen), key=lambda one: (one.at, one.seq))
    gauges = {one.gauge for _, one in chosen}
    gauge = gauges.pop() if len(gauges) == 1 else None
    return Taken(found.value, found.unit, state, last.at, last.seq, last.by, gauge)
