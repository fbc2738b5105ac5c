"""What a verdict must be told because it cannot look it up: the caller asked the store for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from traveler.finding import Finding


@dataclass(frozen=True, slots=True)
class LotFact:
    """A lot of parts or material as the store knows it."""

    lot: str
    standing: Literal["usable", "on hold", "scrapped"] = "usable"
    number: str | None = None
    """Part number of the lot, where known."""


@dataclass(frozen=True, slots=True)
class Facts:
    """Facts from outside the unit's own entries. Each may be left out; then its findings stay silent."""

    fitted_elsewhere: Mapping[tuple[str | None, str], str] = field(default_factory=dict)
    """(part number, part serial) → the other unit it is fitted in."""
    lots: Mapping[str, LotFact] | None = None
    """The lots the shop knows; None: not looked up."""
    stored_digest: str | None = None
    """Digest of the definition as it is stored now under the product and revision."""
    sheet_revisions: Mapping[int, str] = field(default_factory=dict)
    """Seq of an entry → revision printed on the sheet it came from."""
    sheet_digests: Mapping[int, str] = field(default_factory=dict)
    """Seq of an entry → digest carried by the sheet or file it came from."""
    chain: tuple[Finding, ...] = ()
    """What the verification of the unit's chain found; passed on as it is."""
