"""Comparing two definition files: what changed, as a person would tell it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from traveler.definition.difference import difference
from traveler.definition.digest import digest
from traveler.definition.model import Definition
from traveler.finding import Finding
from traveler.jobs.check_definitions import load_file


@dataclass(frozen=True, slots=True)
class Compared:
    """Both definitions (None where a finding blocks), the changes, and the findings of both files."""

    old: Definition | None
    new: Definition | None
    changes: tuple[str, ...]
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {"old": _head(self.old), "new": _head(self.new), "changes": list(self.changes)}


def compare_definitions(old: Path, new: Path) -> Compared:
    """What changed from one definition file to another.

    Findings: those of both files.

    Raises:
        CannotDo: a file is not there.
    """
    before, after = load_file(old), load_file(new)
    findings = tuple(dict.fromkeys((*before.findings, *after.findings)))
    if before.definition is None or after.definition is None:
        return Compared(before.definition, after.definition, (), findings)
    changes = tuple(difference(before.definition, after.definition))
    return Compared(before.definition, after.definition, changes, findings)


def _head(definition: Definition | None) -> dict[str, str] | None:
    if definition is None:
        return None
    return {"product": definition.product, "revision": definition.revision, "digest": digest(definition)}
