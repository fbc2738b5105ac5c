"""What every sheet takes and gives: the unit's header, the circumstances of a print, a PDF with findings."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TypedDict
from zoneinfo import ZoneInfo

from traveler.definition.fields import languages_of
from traveler.definition.plan import Plan
from traveler.finding import Finding, blocking
from traveler.sheets.pdf import codes as qr
from traveler.sheets.pdf.paper import PAPERS, Paper
from traveler.sheets.templates import Templates, templates
from traveler.sheets.words import BilingualWords, Words, words
from traveler.shop.settings import Settings
from traveler.text import day_in

PictureReader = Callable[[str], bytes | None]
"""Name of a picture → its bytes, or None where there is none."""


def no_pictures(name: str) -> bytes | None:  # noqa: ARG001 - the shape of a PictureReader
    """A reader for shops without pictures."""
    return None


@dataclass(frozen=True, slots=True)
class UnitHeader:
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


class PrintOptions(TypedDict, total=False):
    """What may be said of a print besides shop and time; see :class:`Printing`."""

    copy_number: int
    language: str
    texts: Sequence[Plan]
    templates: Templates
    pictures: PictureReader


@dataclass(frozen=True, slots=True)
class Printing:
    """The circumstances of one print: shop, time, copy, language, where pictures and templates come from.

    ``printed`` must have a zone; it is shown in the shop's. Nothing here reads a clock. ``language``: of the
    sheet, or two as ``es+en``; empty: the shop's. ``texts``: the plan with its texts in each language;
    empty: as the plan has them. ``names`` are those of positions, values and variables in the language.
    """

    settings: Settings
    printed: datetime
    copy_number: int = 1
    language: str = ""
    texts: Sequence[Plan] = ()
    templates: Templates = field(default_factory=templates)
    pictures: PictureReader = no_pictures
    names: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.printed.tzinfo is None:
            msg = "the time of printing needs a zone"
            raise ValueError(msg)

    @property
    def paper(self) -> Paper:
        """The shop's paper."""
        return PAPERS[self.settings.page_size]

    @property
    def languages(self) -> tuple[str, ...]:
        """The languages of the sheet: one, or two on one sheet."""
        return languages_of(self.language or self.settings.language)

    @property
    def spoken(self) -> str:
        """The (first) language of the sheet."""
        return self.languages[0]

    @property
    def say(self) -> Words:
        """The words of the (first) language, with the names that the definition gives."""
        return replace(words(self.spoken, self.templates), names=self.names)

    @property
    def both(self) -> Words | BilingualWords:
        """The words that templates add: in both languages where there are two."""
        if not self.paired:
            return self.say
        first, other = self.languages
        return BilingualWords(words(first, self.templates), words(other, self.templates))

    @property
    def paired(self) -> bool:
        """Whether the sheet speaks two languages."""
        return len(self.languages) > 1

    def alone(self, language: str, names: Mapping[str, str] | None = None) -> Printing:
        """The same print in one language, with the names of positions in it."""
        return replace(self, language=language, names=names or {})

    @property
    def day(self) -> str:
        """The day of printing in the shop's zone, ISO 8601."""
        return day_in(ZoneInfo(self.settings.time_zone), self.printed).isoformat()

    def address(self, serial: str, gtin: str | None = None) -> qr.Address:
        """What the QR codes of this unit start with."""
        return qr.qr_address(serial, self.settings.base_url, gtin)
