"""Checks of adjust rules and worked-out values: numbers, units, and the positions they run along."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from traveler.definition import source
from traveler.definition.check.facts import FileFacts, StepNode, mapping, names, problem_at, scalar, texts
from traveler.definition.check.limits import limit_texts
from traveler.definition.check.positions import given_values, used_positions
from traveler.definition.source import Node, Scalar, Sequence
from traveler.finding import Finding
from traveler.measure.adjust.advice import effect_per, gain_in, length_in
from traveler.measure.geometry.functions import FUNCTIONS, OPTIONS, option_problems, unit_problem
from traveler.measure.geometry.places import read_spot
from traveler.measure.limits import parse_limits
from traveler.measure.number import Unreadable
from traveler.text import did_you_mean

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
        found[used.name] = {value for item in values for value in item}
    return found


def repeated_positions(facts: FileFacts) -> Iterator[Finding]:
    """DEF102 ``again`` at a position or value the check does not have; DEF311 ``at`` where it is useless."""
    for step in facts.steps:
        if step.word in ("work_out", "pack") and (at := step.node.get("at")) is not None:
            what = f"a '{step.word}' step has no positions of its own"
            yield Finding("DEF311", what, at.place, hint="delete 'at'")
        name = step.text("again")
        first = facts.ids.get(name.text) if name else None
        if first is None:
            continue
        axes = axes_of(facts, first)
        for used in used_positions(facts, step):
            if used.name not in axes:
                what = f"'{first.text('id').text}' has no position '{used.name}'"  # type: ignore[union-attr]
                yield Finding("DEF102", what, used.place, hint=did_you_mean(used.name, list(axes)))
                continue
            for value in _values(used.given):
                if used.own and value.text not in axes[used.name]:
                    what = f"position '{used.name}' has no value '{value.text}'"
                    yield Finding(
                        "DEF102", what, value.place, hint=did_you_mean(value.text, sorted(axes[used.name]))
                    )


def _values(given: Node | None) -> list[Scalar]:
    return [item for item in given.items if isinstance(item, Scalar)] if isinstance(given, Sequence) else []


def worked_out(facts: FileFacts) -> Iterator[Finding]:
    """The WRK codes of ``measure/work_out.py``, DEF102 for a position the check does not have."""
    for step in facts.steps:
        how = mapping(step.node, "how")
        function = next((name for name in names(step.node, "how") if name in FUNCTIONS), None)
        check = scalar(how, function) if how and function else None
        first = facts.ids.get(check.text) if check else None
        if how is None or function is None or check is None:
            continue
        options = {name: text.text for name in OPTIONS if (text := scalar(how, name)) is not None}
        for problem in option_problems(function, options):
            yield problem_at(problem, how.place)
        if first is not None:
            yield from _along(how, axes_of(facts, first), check.text)
            yield from _worked_unit(facts, step, function, first)
            yield from _coordinates(how, function, axes_of(facts, first))


def _along(how: source.Mapping, axes: Axes, check: str) -> Iterator[Finding]:
    for name in (*texts(how, "along"), *(key for key, _ in _entries(how, "grid"))):
        if name.text not in axes:
            what = f"check '{check}' has no position '{name.text}'"
            yield Finding("DEF102", what, name.place, hint=did_you_mean(name.text, list(axes)))


def _entries(node: source.Mapping, key: str) -> list[tuple[Scalar, Node]]:
    found = mapping(node, key)
    return list(found.items()) if found else []


def _worked_unit(facts: FileFacts, step: StepNode, function: str, first: StepNode) -> Iterator[Finding]:
    written, reading, wanted = step.text("limits"), unit_of(facts, first), unit_of(facts, step)
    if written is None or reading is None or wanted is None:
        return
    try:
        problem = unit_problem(function, reading, wanted)
    except Unreadable as unknown:
        problem = unknown
    if problem is not None:
        yield problem_at(problem, written.place)


def _coordinates(how: source.Mapping, function: str, axes: Axes) -> Iterator[Finding]:
    """WRK005 places that are missing or not those of the check, WRK006 coordinates that are no lengths."""
    along = [name.text for name in texts(how, "along")] or list(axes)
    places = mapping(how, "places")
    if places is not None:
        wanted = axes.get(along[0], set()) if len(along) == 1 else set()
        yield from _placed(places, wanted)
    for _, spacing in _entries(how, "grid"):
        if isinstance(spacing, Scalar):
            yield from _length(spacing, "grid spacing")
    if FUNCTIONS[function].places and places is None and how.get("grid") is None:
        what = f"{function} needs to know where the readings are taken"
        yield Finding(
            "WRK005", what, how.place, hint="add 'places: {A: [0, 0], …}' or 'grid: {row: 50 mm, …}'"
        )


def _placed(places: source.Mapping, wanted: set[str]) -> Iterator[Finding]:
    for key, point in places.items():
        if wanted and key.text not in wanted:
            what = f"there is no place '{key.text}'"
            yield Finding("WRK005", what, key.place, hint=did_you_mean(key.text, sorted(wanted)))
        written = [value.text for value in _values(point)]
        if len(written) == 2:
            try:
                read_spot(key.text, (written[0], written[1]), "mm")
            except Unreadable as problem:
                yield problem_at(problem, point.place)
    if missing := sorted(wanted - {key.text for key, _ in places.items()}):
        yield Finding("WRK005", f"no coordinates for {', '.join(missing)}", places.place, hint="add them")


def _length(written: Scalar, name: str) -> Iterator[Finding]:
    try:
        length_in(written.text, name, "mm")
    except Unreadable as problem:
        yield problem_at(problem, written.place)


def adjustments(facts: FileFacts) -> Iterator[Finding]:
    """ADJ003 numbers of an adjust rule that do not fit the check, DEF102 and WRK005 for its feet."""
    for step in facts.steps:
        rule = mapping(step.node, "adjust")
        if rule is None:
            continue
        if (pitch := scalar(rule, "screw") or scalar(rule, "pitch")) is not None:
            yield from _length(pitch, "pitch")
        unit = unit_of(facts, step)
        if unit is not None and (effect := scalar(rule, "effect")) is not None:
            yield from _reads(partial(effect_per, unit=unit, by="turn"), effect)
        if unit is not None and (gain := scalar(rule, "bend")) is not None:
            yield from _reads(partial(gain_in, unit=unit), gain)
        if scalar(rule, "level") is not None:
            yield from _feet(facts, step, rule)
        learn = scalar(rule, "learn")
        if learn is not None and learn.text == "false":
            yield Finding("DEF311", "'learn: false' says nothing", learn.place, hint="write 'learn: true'")


def _reads(read: Callable[[str], object], written: Scalar) -> Iterator[Finding]:
    try:
        read(written.text)
    except Unreadable as problem:
        yield problem_at(problem, written.place)


def _feet(facts: FileFacts, step: StepNode, rule: source.Mapping) -> Iterator[Finding]:
    places = mapping(rule, "places")
    if places is None:
        return
    how = mapping(step.node, "how")
    read = next(
        (facts.ids.get(item.text) for item in (scalar(how, name) for name in FUNCTIONS) if item), None
    )
    axes = axes_of(facts, read or step)
    level = scalar(rule, "level")
    wanted: set[str] = axes.get(level.text, set()) if level else set()
    yield from _placed(places, wanted)
    fixed = scalar(rule, "fixed")
    if fixed is not None and places.get(fixed.text) is None:
        yield _no_foot(fixed, places)
    if level is not None and level.text not in axes:
        what = f"the feet are read at no position '{level.text}'"
        yield Finding("DEF102", what, level.place, hint=did_you_mean(level.text, list(axes)))


def _no_foot(fixed: Scalar, places: source.Mapping) -> Finding:
    known = [key.text for key, _ in places.items()]
    return Finding(
        "WRK005", f"there is no foot '{fixed.text}'", fixed.place, hint=did_you_mean(fixed.text, known)
    )
