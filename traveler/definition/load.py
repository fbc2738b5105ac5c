"""Every check of a definition, in order."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass

from traveler.definition.check import (
    header as check_header,
)
from traveler.definition.check import (
    header as check_languages,
)
from traveler.definition.check import (
    header as check_variants,
)
from traveler.definition.check import (
    limits as check_limits,
)
from traveler.definition.check import (
    packing as check_packing,
)
from traveler.definition.check import (
    positions as check_names,
)
from traveler.definition.check import (
    positions as check_positions,
)
from traveler.definition.check import (
    rules as check_rules,
)
from traveler.definition.check import (
    steps as check_references,
)
from traveler.definition.check import (
    steps as check_work,
)
from traveler.definition.check.facts import FileFacts
from traveler.definition.mass import ALONE
from traveler.definition.model import Definition
from traveler.definition.shape import read_shape
from traveler.definition.source import Mapping as MappingNode
from traveler.definition.source import Path, node_places, read_source
from traveler.finding import Finding, Place, blocking, order
from traveler.measure.quantity import Quantity

CHECKS: tuple[Callable[[FileFacts], Iterable[Finding]], ...] = (
    check_header.approver,
    check_header.revised,
    check_header.serial_pattern,
    check_header.trade_items,
    check_variants.same_variables,
    check_variants.masses,
    check_positions.specifications,
    check_positions.positions,
    check_references.gauge_kinds,
    check_references.pictures,
    check_references.known_roles,
    check_references.conditions,
    check_references.referred_checks,
    check_references.doubled_ids,
    check_references.variables,
    check_work.operation_numbers,
    check_work.one_word,
    check_work.lot_words,
    check_work.lot_counts,
    check_work.first_pieces,
    check_work.both_pieces,
    check_work.repeats,
    check_limits.resolutions,
    check_limits.limits,
    check_limits.expected_limits,
    check_limits.crate_mass,
    check_rules.repeated_positions,
    check_rules.worked_out,
    check_rules.adjustments,
    check_packing.packing_list,
    check_packing.part_quantities,
    check_packing.expected_items,
    check_packing.packed_once,
    check_packing.wood_mark,
    check_packing.marks,
    check_packing.heavy,
    check_languages.languages,
    check_names.named_things,
)


def check(
    root: MappingNode,
    exists: Callable[[str], bool | str],
    people: Mapping[str, Collection[str]] | None = None,
    alone: Quantity = ALONE,
) -> list[Finding]:
    """Everything that is wrong with what a definition says, apart from its shape."""
    facts = FileFacts(root, exists, people, alone)
    return [finding for check in CHECKS for finding in check(facts)]


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
    said = check(source.root, exists, people, alone) if isinstance(source.root, MappingNode) else []
    findings = order({*source.findings, *shape, *said})
    return Loaded(None if blocking(findings) else definition, tuple(findings), node_places(source.root))
