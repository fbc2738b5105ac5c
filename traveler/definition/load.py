"""From the text of a file to a checked definition: what is read, and every check in order."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass

from traveler.definition.check import header, limits, packing, positions, rules, steps
from traveler.definition.check.facts import FileFacts
from traveler.definition.mass import ALONE
from traveler.definition.model import Definition
from traveler.definition.shape import read_shape
from traveler.definition.source import Mapping as MappingNode
from traveler.definition.source import Path, node_places, read_source
from traveler.finding import Finding, Place, blocking, order
from traveler.measure.quantity import Quantity

CHECKS: tuple[Callable[[FileFacts], Iterable[Finding]], ...] = (
    header.approver,
    header.revised,
    header.serial_pattern,
    header.trade_items,
    header.same_variables,
    header.masses,
    positions.specifications,
    positions.positions,
    steps.gauge_kinds,
    steps.pictures,
    steps.known_roles,
    steps.conditions,
    steps.referred_checks,
    steps.doubled_ids,
    steps.variables,
    steps.operation_numbers,
    steps.one_word,
    steps.lot_words,
    steps.lot_counts,
    steps.first_pieces,
    steps.both_pieces,
    steps.repeats,
    limits.resolutions,
    limits.limits,
    limits.expected_limits,
    rules.repeated_positions,
    rules.worked_out,
    rules.adjustments,
    packing.packing_list,
    packing.part_quantities,
    packing.expected_items,
    packing.packed_once,
    packing.wood_mark,
    packing.marks,
    packing.heavy,
    header.languages,
    positions.named_things,
)


@dataclass(frozen=True, slots=True)
class Loaded:
    """What a file gave: the definition, or None where a finding blocks; all findings in their order.

    ``places`` has the place of every value by its path, like ``("operations", 0, "title")``.
    """

    definition: Definition | None
    findings: tuple[Finding, ...]
    places: dict[Path, Place]


def load(
    text: str,
    file: str,
    exists: Callable[[str], bool | str],
    people: Mapping[str, Collection[str]] | None = None,
    alone: Quantity = ALONE,
) -> Loaded:
    """Read and check one definition; every problem of the file is found in one go.

    ``file`` is the name that places carry. ``exists`` says whether a picture is there, or in words why it
    cannot be printed. ``people`` are the ids of the people known with the roles they hold; without it,
    persons and roles are not checked. ``alone`` is what one person may lift.
    """
    source = read_source(text, file)
    if source.root is None:
        return Loaded(None, tuple(order(source.findings)), {})
    definition, shape = read_shape(source.root)
    checked: list[Finding] = []
    if isinstance(source.root, MappingNode):
        facts = FileFacts(source.root, exists, people, alone)
        checked = [finding for check in CHECKS for finding in check(facts)]
    findings = order({*source.findings, *shape, *checked})
    return Loaded(None if blocking(findings) else definition, tuple(findings), node_places(source.root))
