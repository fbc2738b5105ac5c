"""From the text of a file to a checked definition."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass

from traveler.definition.check import check
from traveler.definition.lifting import ALONE
from traveler.definition.model import Definition
from traveler.definition.shape import read_shape
from traveler.definition.source import Mapping as MappingNode
from traveler.definition.source import Path, places, read_source
from traveler.finding import Finding, Place, blocking, order
from traveler.measure.quantity import Quantity


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
    return Loaded(None if blocking(findings) else definition, tuple(findings), places(source.root))
