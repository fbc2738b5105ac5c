"""What every sheet takes and gives: the unit's face, the shop's ways, and a PDF with findings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from zoneinfo import ZoneInfo

from traveler.finding import Finding, blocking
from traveler.sheets import qr
from traveler.sheets.paper import PAPERS, Paper
from traveler.sheets.resources import Templates, templates
from traveler.sheets.words import Words, words
from traveler.shop.settings import Settings

PictureReader = Callable[[str], bytes | None]
"""Name of a picture → its bytes, or None where there is none."""


def no_pictures(name: str) -> bytes | None:  # noqa: ARG001 - the shape of a PictureReader
    """A reader for shops without pictures."""
    return None


@dataclass(frozen=True, slots=True)
class UnitFace:
    """What a sheet shows of a unit. Dates are ISO 8601 text; ``order`` None means built for stock."""

    serial: str
    order: str | None = None
    due: str | None = None
    issued: str = ""
    customer: str | None = None
    quantity: int | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """A finished sheet. ``pdf`` is empty when a blocking finding stood in the way."""

    pdf: bytes
    findings: tuple[Finding, ...] = ()
    pages: int = 0

    @property
    def printed(self) -> bool:
        """Whether there is something to print."""
        return bool(self.pdf) and not blocking(self.findings)


@dataclass(frozen=True, slots=True)
class Printing:
    """The circumstances of one print: shop, time, copy, language, where pictures and templates come from.

    ``printed`` must have a zone; it is shown in the shop's. Nothing here reads a clock.
    """

    settings: Settings
    printed: datetime
    copy: int = 1
    language: str = ""
    templates: Templates = field(default_factory=templates)
    pictures: PictureReader = no_pictures

    def __post_init__(self) -> None:
        if self.printed.tzinfo is None:
            msg = "the time of printing needs a zone"
            raise ValueError(msg)

    @property
    def paper(self) -> Paper:
        """The shop's paper."""
        return PAPERS[self.settings.page_size]

    @property
    def spoken(self) -> str:
        """The language of the sheet."""
        return self.language or self.settings.language

    @property
    def say(self) -> Words:
        """The words of that language."""
        return words(self.spoken, self.templates)

    @property
    def day(self) -> str:
        """The day of printing in the shop's zone, ISO 8601."""
        return self.printed.astimezone(ZoneInfo(self.settings.time_zone)).date().isoformat()

    def address(self, serial: str, gtin: str | None = None) -> qr.Address:
        """What the QR codes of this unit start with."""
        return qr.address(serial, self.settings.base_url, gtin)
