"""Checks of positions: defined, counted by a number, no value twice, not too many of them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from traveler.definition.check.facts import (
    FileFacts,
    StepNode,
    entries,
    finding_at,
    mapping,
    names,
    unknown,
)
from traveler.definition.source import Mapping, Node, Scalar, Sequence
from traveler.finding import Finding
from traveler.text import did_you_mean

MOST_PLACES = 500
"""Slots of one step; the largest real grid is a tenth of that."""

RESERVED = ("piece", "item", "name", "count", "values")
"""Names that slot ids or the format use themselves."""

_COUNT = re.compile(r"[1-9][0-9]{0,3}")


@dataclass(frozen=True, slots=True)
class Used:
    """A position as a step uses it: its name as written, and what it is declared as (None: nowhere)."""

    name: Scalar
    given: Node | None
    own: bool
    """Whether its values are written in the step itself."""


def used_positions(facts: FileFacts, step: StepNode) -> list[Used]:
    """The positions under ``at`` of a step."""
    found: list[Used] = []
    declared = mapping(facts.root, "positions")
    at = step.node.get("at")
    for entry in at.items if isinstance(at, Sequence) else [at]:
        if isinstance(entry, Scalar):
            found.append(Used(entry, declared.get(entry.text) if declared else None, own=False))
        elif isinstance(entry, Mapping):
            found += [Used(key, value, own=True) for key, value in entry.items()]
    return found


def listed_values(given: Node | None) -> list[Scalar]:
    """The texts of a list of values."""
    return [item for item in given.items if isinstance(item, Scalar)] if isinstance(given, Sequence) else []


def given_values(facts: FileFacts, given: Node | None, variants: list[str]) -> list[list[str]]:
    """What a position comes to for these variants, each once; empty where it is not a position."""
    if isinstance(given, Mapping):
        given = given.get("count") or given.get("values")
    if isinstance(given, Sequence):
        return [[value.text for value in listed_values(given)]]
    if not isinstance(given, Scalar):
        return []
    counts = [int(count) for count in facts.values(given.text, variants) if _COUNT.fullmatch(count)]
    return [[str(n) for n in range(1, count + 1)] for count in counts]


def positions(facts: FileFacts) -> Iterator[Finding]:
    """DEF102 unknown position, DEF204 more than 500 slots in a step."""
    known = names(facts.root, "positions")
    for step in facts.steps:
        used, total = used_positions(facts, step), 1
        for position in used:
            if not position.own and position.given is None:
                what = f"position '{position.name.text}' is not defined"
                yield unknown(position.name, "DEF102", what, known)
            values = given_values(facts, position.given, facts.variants_of(step.node))
            total *= max(map(len, values), default=1)
        if total > MOST_PLACES:
            what = f"{step.id} has {total} places, at most {MOST_PLACES} are possible"
            yield finding_at(used[0].name, "DEF204", what, "split the step")


def specifications(facts: FileFacts) -> Iterator[Finding]:
    """DEF103 a count that is not a number, DEF203 a value or position twice, DEF205 a name already in use."""
    for name, value in entries(facts.root, "positions"):
        yield from _specification(facts, name, value, list(facts.variants))
    for step in facts.steps:
        seen: set[str] = set()
        for position in used_positions(facts, step):
            name = position.name
            if name.text in seen:
                yield finding_at(name, "DEF203", f"position '{name.text}' is named twice", "name it once")
            seen.add(name.text)
            if position.own and position.given is not None:
                yield from _specification(facts, name, position.given, facts.variants_of(step.node))


def _specification(facts: FileFacts, name: Scalar, given: Node, variants: list[str]) -> Iterator[Finding]:
    if name.text in RESERVED:
        what = f"'{name.text}' cannot name a position, the format uses it"
        yield finding_at(name, "DEF205", what, "choose another")
    written = (given.get("count") or given.get("values")) if isinstance(given, Mapping) else given
    seen: set[str] = set()
    for value in listed_values(written):
        if value.text in seen:
            what = f"position '{name.text}' has the value '{value.text}' twice"
            yield finding_at(value, "DEF203", what, "each value names one place")
        seen.add(value.text)
    if not isinstance(written, Scalar):
        return
    for count, where in facts.values(written.text, variants).items():
        if _COUNT.fullmatch(count):
            continue
        what = f"count of '{name.text}' is '{count}' for variant {', '.join(where)}, not a whole number"
        hint = "a count is a whole number from 1"
        if count == written.text and not count[:1].isdigit():
            what = f"count of '{name.text}': '{count}' is neither a number nor a variable"
            hint = did_you_mean(count, facts.variables)
        yield finding_at(written, "DEF103", what, hint)


def named_things(facts: FileFacts) -> Iterator[Finding]:
    """DEF110: ``names`` has a name for something that is not defined."""
    given = [(name.text, value) for name, value in entries(facts.root, "positions")]
    given += [
        (used.name.text, used.given)
        for step in facts.steps
        for used in used_positions(facts, step)
        if used.given
    ]
    known = {*facts.variables, *(name for name, _ in given)}
    for _, node in given:
        known.update(*given_values(facts, node, list(facts.variants)))
    for key, _ in entries(facts.root, "names"):
        if key.text not in known:
            what = f"'{key.text}' is neither a position, nor a value of one, nor a variable"
            yield unknown(key, "DEF110", what, sorted(known))
