"""A finding: what is wrong, where, why it matters and what to do; and the refusal of a command."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from pathlib import Path


class Weight(StrEnum):
    """How much a finding holds up: only ``BLOCKING`` closes the release gate and makes a command exit 1."""

    BLOCKING = "blocking"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a finding lies: in a file (line and column from 1), or at a unit, slot and entry (by seq)."""

    file: str | None = None
    line: int | None = None
    column: int | None = None
    unit: str | None = None
    slot: str | None = None
    entry: int | None = None

    def __str__(self) -> str:
        """``FILE:LINE:COLUMN`` for files, ``SERIAL 30-2/spindle=3 #17`` for records."""
        if self.file is not None:
            return ":".join(str(part) for part in (self.file, self.line, self.column) if part is not None)
        entry = None if self.entry is None else f"#{self.entry}"
        return " ".join(part for part in (self.unit, self.slot, entry) if part)

    def as_dict(self) -> dict[str, str | int]:
        """The parts that are known, for ``--json``."""
        return {name: value for name in self.__slots__ if (value := getattr(self, name)) is not None}


@dataclass(frozen=True, slots=True)
class FindingCode:
    """One kind of finding: its usual weight, what is wrong, why it matters, what to do, an example.

    ``firm``: a shop cannot lower its weight. ``verdict``: it is raised when a unit is judged.
    """

    weight: Weight
    title: str
    why: str
    do: str
    example: str
    firm: bool = False
    verdict: bool = False


@cache
def finding_codes() -> Mapping[str, FindingCode]:
    """Code → what is known of that kind of finding, from ``findings.yaml``, the one home of these texts."""
    import yaml

    text = Path(__file__).with_name("findings.yaml").read_text(encoding="utf-8")
    return {
        code: FindingCode(Weight(told.pop("weight")), **told, verdict=part == "verdict")
        for part, kinds in yaml.load(text, yaml.CSafeLoader).items()
        for code, told in kinds.items()
    }


def with_hint(what: str, hint: str) -> str:
    """A problem and what to do about it, in one line; a full stop does not stand before the semicolon."""
    return f"{what.removesuffix('.')}; {hint}" if hint else what


@dataclass(frozen=True, slots=True)
class Finding:
    """One located problem.

    ``code`` is three letters and three digits and never changes its meaning (``docs/findings.md``).
    ``what`` says what was found and what was expected, with units. ``hint`` may be empty only where the
    sentence in ``what`` already says it.
    """

    code: str
    what: str
    place: Place = field(default_factory=Place)
    weight: Weight = Weight.BLOCKING
    hint: str = ""

    @property
    def why(self) -> str:
        """Why it matters; empty for a code that ``findings.yaml`` does not know."""
        known = finding_codes().get(self.code)
        return known.why if known else ""

    def __str__(self) -> str:
        """One line: ``pump.yaml:41:9 LIM002 upper limit ... ; swap them``."""
        head = " ".join(part for part in (str(self.place), self.code, self.what) if part)
        return with_hint(head, self.hint)

    def as_dict(self) -> dict[str, object]:
        """The finding for ``--json``: stable keys, place as a mapping and as text."""
        return {
            "code": self.code,
            "weight": str(self.weight),
            "place": self.place.as_dict(),
            "at": str(self.place),
            "what": self.what,
            "why": self.why,
            "hint": self.hint,
        }


def order(findings: Iterable[Finding]) -> list[Finding]:
    """The findings in their one order: file, line, column, unit, slot, entry, code, text."""

    def key(finding: Finding) -> tuple[str | int, ...]:
        place = finding.place
        return (
            place.file or "", place.line or 0, place.column or 0,
            place.unit or "", place.slot or "", place.entry or 0, finding.code, finding.what,
        )  # fmt: skip

    return sorted(findings, key=key)


def blocking(findings: Iterable[Finding]) -> list[Finding]:
    """Those that hold work up."""
    return [finding for finding in findings if finding.weight is Weight.BLOCKING]


class CannotDo(Exception):
    """Bad usage, no such serial, store out of reach. The command line answers with exit code 2.

    Attributes:
        what: the reason, one sentence without a full stop.
        hint: what to do about it, or empty.
    """

    def __init__(self, what: str, hint: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.hint = hint
