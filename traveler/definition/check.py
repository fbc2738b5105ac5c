"""Every check of a definition, in order."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping

from traveler.definition import (
    check_header,
    check_languages,
    check_limits,
    check_names,
    check_packing,
    check_positions,
    check_references,
    check_rules,
    check_variants,
    check_work,
)
from traveler.definition.facts import Facts
from traveler.definition.lifting import ALONE
from traveler.definition.source import Mapping as MappingNode
from traveler.finding import Finding
from traveler.measure.quantity import Quantity

CHECKS: tuple[Callable[[Facts], Iterable[Finding]], ...] = (
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
    check_references.roles,
    check_references.conditions,
    check_references.checks,
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
    check_packing.parts,
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
    facts = Facts(root, exists, people, alone)
    return [finding for one in CHECKS for finding in one(facts)]
