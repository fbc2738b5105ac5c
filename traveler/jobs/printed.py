"""What came of printing: files and findings. Apart from the rest, so that a process has it quickly."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from traveler.finding import Finding, Place


@dataclass(frozen=True, slots=True)
class Printed:
    """Sheets of one unit: the files that were written, and what was wrong with the sheets."""

    serial: str
    files: tuple[Path, ...] = ()
    findings: tuple[Finding, ...] = ()

    def __add__(self, other: Printed) -> Printed:
        return Printed(self.serial, self.files + other.files, self.findings + other.findings)

    def as_dict(self) -> dict[str, object]:
        """For ``--json``; the findings are listed by the command."""
        return {"serial": self.serial, "files": [str(file) for file in self.files]}


def not_written(serial: str, file: Path, problem: OSError) -> Finding:
    """PRT001: the file of a unit's sheet could not be written."""
    what = f"{file} could not be written: {problem.strerror or problem}"
    hint = "make room for it, then print it again; the records are not touched by this"
    return Finding("PRT001", what, Place(unit=serial), hint=hint)
