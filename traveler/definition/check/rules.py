"""Checks of adjust rules and worked-out values: numbers, units, and the positions they run along."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from traveler.definition import source
from traveler.definition.check.facts import (
    FileFacts,
    StepNode,
    entries,
    finding_at,
    mapping,
    names,
    problem_at,
    scalar,
    texts,
    unknown,
    unreadable,
)
from traveler.definition.check.limits import limit_texts
from traveler.definition.check.positions import given_values, listed_values, used_positions
from traveler.definition.source import Scalar
from traveler.finding import Finding
from traveler.measure.adjust.advice import effect_per, gain_in, length_in
from traveler.measure.geometry.functions import FUNCTIONS, OPTIONS, option_problems, unit_problem
from traveler.measure.geometry.places import read_spot
from traveler.measure.limits import parse_limits
from traveler.measure.number import Unreadable

Axes = dict[str, set[str]]
"""Position → every value it takes in some variant."""


def unit_of(facts: FileFacts, step: StepNode) -> str | None:
    """The unit of a step's limits; None where they cannot be read."""
    written = step.text("limits")
    for text in limit_texts(facts, step, written) if written else ():
        try:
            return parse_limits(text).unit
        except Unreadable:
            continue
    return None


def axes_of(facts: FileFacts, step: StepNode) -> Axes:
    """The positions of a step with their values."""
    found: Axes = {}
    for used in used_positions(facts, step):
        values = given_values(facts, used.given, facts.variants_of(step.node))
        found[used.name.text] = {value for listed in values for value in listed}
    return found


def repeated_positions(facts: FileFacts) -> Iterator[Finding]:
    """DEF102 ``again`` at a position or value the check does not have; DEF311 ``at`` where it is useless."""
    for step in facts.steps:
        if step.word in ("work_out", "pack") and (at := step.node.get("at")) is not None:
            yield finding_at(at, "DEF311", f"a '{step.word}' step has no positions of its own", "delete 'at'")
        name = step.text("again")
        first = facts.ids.get(name.text) if name else None
        if name is None or first is None:
            continue
        axes = axes_of(facts, first)
        for used in used_positions(facts, step):
            position = used.name.text
            if position not in axes:
                yield unknown(used.name, "DEF102", f"'{name.text}' has no position '{position}'", axes)
                continue
            for value in listed_values(used.given) if used.own else ():
                if value.text not in axes[position]:
                    what = f"position '{position}' has no value '{value.text}'"
                    yield unknown(value, "DEF102", what, sorted(axes[position]))


def worked_out(facts: FileFacts) -> Iterator[Finding]:
    """The WRK codes of options, units and places; DEF102 a position the check does not have."""
    for step in facts.steps:
        how = mapping(step.node, "how")
        function = next((name for name in names(step.node, "how") if name in FUNCTIONS), None)
        check = scalar(how, function) if function else None
        if how is None or function is None or check is None:
            continue
        options = {name: text.text for name in OPTIONS if (text := scalar(how, name)) is not None}
        for problem in option_problems(function, options):
            yield problem_at(problem, how)
        if (first := facts.ids.get(check.text)) is not None:
            axes = axes_of(facts, first)
            for name in (*texts(how, "along"), *(key for key, _ in entries(how, "grid"))):
                if name.text not in axes:
                    what = f"check '{check.text}' has no position '{name.text}'"
                    yield unknown(name, "DEF102", what, axes)
            yield from _worked_unit(facts, step, function, first)
            yield from _coordinates(how, function, axes)


def _worked_unit(facts: FileFacts, step: StepNode, function: str, first: StepNode) -> Iterator[Finding]:
    written, reading, wanted = step.text("limits"), unit_of(facts, first), unit_of(facts, step)
    if written is None or reading is None or wanted is None:
        return
    try:
        problem = unit_problem(function, reading, wanted)
    except Unreadable as unreadable_unit:
        problem = unreadable_unit
    if problem is not None:
        yield problem_at(problem, written)


def _coordinates(how: source.Mapping, function: str, axes: Axes) -> Iterator[Finding]:
    """WRK005 places that are missing or not those of the check, WRK006 coordinates that are not lengths."""
    along = [name.text for name in texts(how, "along")] or list(axes)
    places = mapping(how, "places")
    if places is not None:
        yield from _placed(places, axes.get(along[0], set()) if len(along) == 1 else set())
    for _, spacing in entries(how, "grid"):
        if isinstance(spacing, Scalar):
            yield from unreadable(partial(length_in, name="grid spacing", unit="mm"), spacing)
    if FUNCTIONS[function].places and places is None and how.get("grid") is None:
        what = f"{function} needs to know where the readings are taken"
        yield finding_at(how, "WRK005", what, "add 'places: {A: [0, 0], …}' or 'grid: {row: 50 mm, …}'")


def _placed(places: source.Mapping, wanted: set[str]) -> Iterator[Finding]:
    for key, point in places.items():
        if wanted and key.text not in wanted:
            yield unknown(key, "WRK005", f"there is no place '{key.text}'", sorted(wanted))
        written = [value.text for value in listed_values(point)]
        if len(written) == 2:
            try:
                read_spot(key.text, (written[0], written[1]), "mm")
            except Unreadable as problem:
                yield problem_at(problem, point)
    if missing := sorted(wanted - {key.text for key, _ in places.items()}):
        yield finding_at(places, "WRK005", f"no coordinates for {', '.join(missing)}", "add them")


def adjustments(facts: FileFacts) -> Iterator[Finding]:
    """ADJ003 numbers of an adjust rule that do not fit the check, DEF102 and WRK005 for its feet."""
    for step in facts.steps:
        rule = mapping(step.node, "adjust")
        if rule is None:
            continue
        if (pitch := scalar(rule, "screw") or scalar(rule, "pitch")) is not None:
            yield from unreadable(partial(length_in, name="pitch", unit="mm"), pitch)
        unit = unit_of(facts, step)
        if unit is not None and (effect := scalar(rule, "effect")) is not None:
            yield from unreadable(partial(effect_per, unit=unit, by="turn"), effect)
        if unit is not None and (gain := scalar(rule, "bend")) is not None:
            yield from unreadable(partial(gain_in, unit=unit), gain)
        if scalar(rule, "level") is not None:
            yield from _feet(facts, step, rule)
        learn = scalar(rule, "learn")
        if learn is not None and learn.text == "false":
            yield finding_at(learn, "DEF311", "'learn: false' has no effect", "write 'learn: true'")


def _feet(facts: FileFacts, step: StepNode, rule: source.Mapping) -> Iterator[Finding]:
    places, level, fixed = mapping(rule, "places"), scalar(rule, "level"), scalar(rule, "fixed")
    if places is None or level is None:
        return
    checks = [check for name in FUNCTIONS if (check := scalar(step.node, "how", name)) is not None]
    read = facts.ids.get(checks[0].text) if checks else None
    axes = axes_of(facts, read or step)
    yield from _placed(places, axes.get(level.text, set()))
    if fixed is not None and places.get(fixed.text) is None:
        known = [key.text for key, _ in places.items()]
        yield unknown(fixed, "WRK005", f"there is no foot '{fixed.text}'", known)
    if level.text not in axes:
        yield unknown(level, "DEF102", f"the feet are read at no position '{level.text}'", axes)
