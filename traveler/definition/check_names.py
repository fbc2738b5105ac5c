"""Check that what ``names`` names is there: a position, a value of one, a variable of the variants."""

from __future__ import annotations

from collections.abc import Iterator

from traveler.definition.check_positions import given_values, used_positions
from traveler.definition.facts import Facts, mapping
from traveler.definition.shape import nearest
from traveler.definition.source import Node
from traveler.finding import Finding


def named_things(facts: Facts) -> Iterator[Finding]:
    """DEF110: ``names`` has a name for something that is not defined."""
    given = mapping(facts.root, "names")
    if given is None:
        return
    known = _known(facts)
    for key in [key for key, _ in given.items()]:
        if key.text not in known:
            what = f"'{key.text}' is neither a position, nor a value of one, nor a variable"
            yield Finding("DEF110", what, key.place, hint=nearest(key.text, sorted(known)))


def _known(facts: Facts) -> set[str]:
    declared = mapping(facts.root, "positions")
    positions: list[tuple[str, Node | None]] = (
        [(key.text, value) for key, value in declared.items()] if declared else []
    )
    positions += [(one.name, one.given) for step in facts.steps for one in used_positions(facts, step)]
    known = set(facts.variables)
    for name, given in positions:
        known.add(name)
        known |= {value for values in given_values(facts, given, list(facts.variants)) for value in values}
    return known
