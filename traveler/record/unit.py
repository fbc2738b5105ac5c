"""Units and issued definitions as the store keeps them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from traveler.finding import Finding, Place


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit, or a lot of parts (then with a quantity). ``entries`` and ``head`` say where its chain ends.

    ``state`` is the text of a unit state (``issued``, ``building`` ... ``shipped``).
    """

    serial: str
    product: str
    revision: str
    variant: str
    digest: str
    issued: datetime
    order: str | None
    quantity: int | None
    state: str
    entries: int
    head: str


@dataclass(frozen=True, slots=True)
class IssuedDefinition:
    """A definition that units were issued with: ``content`` is canonical JSON, ``digest`` its SHA-256."""

    product: str
    revision: str
    digest: str
    content: str
    first_issued: datetime


@dataclass(frozen=True, slots=True)
class DefinitionDiffers:
    """The answer to a definition that is not the one already issued under its product and revision."""

    kept: IssuedDefinition
    digest: str

    def finding(self) -> Finding:
        """STO001: the definition was changed without raising its revision."""
        kept = self.kept
        what = (
            f"{kept.product} revision {kept.revision} was issued on {kept.first_issued:%Y-%m-%d} with digest "
            f"{kept.digest[:12]}; this definition has {self.digest[:12]}"
        )
        why = "units already issued are judged by what they were issued with"
        hint = "raise the revision, and say in 'change' what changed"
        return Finding("STO001", what, Place(), why=why, hint=hint)
