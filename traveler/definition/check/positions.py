"""Checks of positions: defined, counted by a number, no value twice, not too many of them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product as every_pair

from traveler.definition.check.facts import FileFacts, StepNode, mapping, names
from traveler.definition.source import Mapping, Node, Scalar, Sequence
from traveler.finding import Finding, Place
from traveler.text import did_you_mean

MOST_PLACES = 500
"""Slots of one step; the largest real grid is a tenth of that."""

RESERVED = ("piece", "item", "name", "count", "values")
"""Names that slot ids or the format use themselves."""

_COUNT = re.compile(r"[1-9][0-9]{0,3}")


@dataclass(frozen=True, slots=True)
class Used:
    """A position as a step uses it: name, where it is written, what it is declared as (None: nowhere)."""

    name: str
    place: Place
    given: Node | None
    own: bool
    """Whether its values are written in the step itself."""


def used_positions(facts: FileFacts, step: StepNode) -> list[Used]:
    """The positions under ``at`` of a step; those of the repeated check for ``again``."""
    found: list[Used] = []
    declared = mapping(facts.root, "positions")
    at = step.node.get("at")
    for entry in at.items if isinstance(at, Sequence) else [at]:
        if isinstance(entry, Scalar):
            given = declared.get(entry.text) if declared else None
            found.append(Used(entry.text, entry.place, given, own=False))
        elif isinstance(entry, Mapping):
            found += [Used(key.text, key.place, value, own=True) for key, value in entry.items()]
    return found


def given_values(
    facts: FileFacts, given: Node | None, variants: list[str]
) -> dict[tuple[str, ...], list[str]]:
    """What a position comes to → the variants where it does; empty where it is no position."""
    if isinstance(given, Mapping):
        given = given.get("count") or given.get("values")
    if isinstance(given, Sequence):
        return {tuple(item.text for item in given.items if isinstance(item, Scalar)): variants}
    if not isinstance(given, Scalar):
        return {}
    counts = facts.values(given.text, variants)
    numbered = {count: where for count, where in counts.items() if _COUNT.fullmatch(count)}
    return {tuple(str(n) for n in range(1, int(count) + 1)): where for count, where in numbered.items()}


def positions(facts: FileFacts) -> Iterator[Finding]:
    """DEF102 unknown position, DEF204 more than 500 slots in a step."""
    known = names(facts.root, "positions")
    for step in facts.steps:
        used = used_positions(facts, step)
        for position in used:
            if not position.own and position.given is None:
                what = f"position '{position.name}' is not defined"
                yield Finding("DEF102", what, position.place, hint=did_you_mean(position.name, known))
        if used:
            yield from _too_many(facts, step, used)


def _too_many(facts: FileFacts, step: StepNode, used: list[Used]) -> Iterator[Finding]:
    total = 1
    for use in used:
        lengths = [len(values) for values in given_values(facts, use.given, facts.variants_of(step.node))]
        total *= max(lengths, default=1)
    if total > MOST_PLACES:
        what = f"{step.id} has {total} places, at most {MOST_PLACES} are possible"
        yield Finding("DEF204", what, used[0].place, hint="split the step")


def specifications(facts: FileFacts) -> Iterator[Finding]:
    """DEF103 a count that is no number, DEF203 a value or position twice, DEF205 a name already in use."""
    declared = mapping(facts.root, "positions")
    for name, value in declared.items() if declared else ():
        yield from _specification(facts, name.text, name.place, value, list(facts.variants))
    for step in facts.steps:
        used = used_positions(facts, step)
        for first, second in every_pair(enumerate(used), repeat=2):
            if first[0] < second[0] and first[1].name == second[1].name:
                what = f"position '{second[1].name}' is named twice"
                yield Finding("DEF203", what, second[1].place, hint="name it once")
        for position in used:
            if position.own and position.given is not None:
                variants = facts.variants_of(step.node)
                yield from _specification(facts, position.name, position.place, position.given, variants)


def _specification(
    facts: FileFacts, name: str, place: Place, given: Node, variants: list[str]
) -> Iterator[Finding]:
    if name in RESERVED:
        yield Finding(
            "DEF205", f"'{name}' cannot name a position, the format uses it", place, hint="choose another"
        )
    written = (given.get("count") or given.get("values")) if isinstance(given, Mapping) else given
    if isinstance(written, Sequence):
        yield from _values_twice(name, written)
    elif isinstance(written, Scalar):
        for count, where in facts.values(written.text, variants).items():
            if _COUNT.fullmatch(count):
                continue
            if count == written.text and not count[:1].isdigit():
                what = f"count of '{name}': '{count}' is neither a number nor a variable"
                yield Finding("DEF103", what, written.place, hint=did_you_mean(count, facts.variables))
            else:
                what = f"count of '{name}' is '{count}' for variant {', '.join(where)}, not a whole number"
                yield Finding("DEF103", what, written.place, hint="a count is a whole number from 1")


def _values_twice(name: str, written: Sequence) -> Iterator[Finding]:
    seen: set[str] = set()
    for item in written.items:
        if isinstance(item, Scalar):
            if item.text in seen:
                what = f"position '{name}' has the value '{item.text}' twice"
                yield Finding("DEF203", what, item.place, hint="each value names one place")
            seen.add(item.text)


def named_things(facts: FileFacts) -> Iterator[Finding]:
    """DEF110: ``names`` has a name for something that is not defined."""
    given = mapping(facts.root, "names")
    if given is None:
        return
    known = _known(facts)
    for key in [key for key, _ in given.items()]:
        if key.text not in known:
            what = f"'{key.text}' is neither a position, nor a value of one, nor a variable"
            yield Finding("DEF110", what, key.place, hint=did_you_mean(key.text, sorted(known)))


def _known(facts: FileFacts) -> set[str]:
    declared = mapping(facts.root, "positions")
    positions: list[tuple[str, Node | None]] = (
        [(key.text, value) for key, value in declared.items()] if declared else []
    )
    positions += [
        (position.name, position.given) for step in facts.steps for position in used_positions(facts, step)
    ]
    known = set(facts.variables)
    for name, given in positions:
        known.add(name)
        known |= {value for values in given_values(facts, given, list(facts.variants)) for value in values}
    return known
