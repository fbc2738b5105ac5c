"""Sheets to be printed: what a batch has in common is settled once; and what came of printing."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from traveler.definition.plan import Plan
from traveler.finding import Finding, Place
from traveler.sheets.batch.stamp import placeholder_header
from traveler.sheets.crate_papers import packing_list_pdf
from traveler.sheets.sheet import Sheet, UnitHeader
from traveler.sheets.traveler import CRATING, FINAL, SheetOptions, operations_pdf, traveler_pdf
from traveler.sheets.views.limits import acceptance_limits
from traveler.sheets.words import Templates, templates
from traveler.shop.folder import Shop
from traveler.text import day_in

TRAVELER = "traveler"
OPERATIONS = {"final-checklist": FINAL, "crating-sheet": CRATING}
PACKING_LIST = "packing-list"
FACE_SHEETS = frozenset({TRAVELER, *OPERATIONS, PACKING_LIST})
"""Names of the sheets that are stamped in batches."""


@dataclass(frozen=True, slots=True)
class PrintContext:
    """What printing needs of the office. It holds values only and may be sent to another process."""

    shop: Shop
    now: datetime

    @property
    def shelves(self) -> Templates:
        """The shop's templates."""
        return templates(self.shop.folder)


@dataclass(frozen=True, slots=True)
class SheetOrder:
    """One sheet but for the unit's face.

    ``texts``: the plan with its texts in each language of the sheet (``language``); ``pictures``: name →
    content, for all that it may show; ``gross_mass``: weighed, on packing lists.
    """

    name: str
    plan: Plan
    texts: tuple[Plan, ...]
    language: str
    pictures: Mapping[str, bytes]
    copy_number: int = 1
    gross_mass: str | None = None

    def render(self, room: PrintContext, unit: UnitHeader) -> Sheet:
        """The sheet of this unit, rendered by itself."""
        shop = room.shop
        if self.name == PACKING_LIST:
            return packing_list_pdf(
                self.plan, unit, shop.settings, room.now, gross_mass=self.gross_mass,
                copy_number=self.copy_number, language=self.language, texts=self.texts, shelves=room.shelves,
            )  # fmt: skip
        more = SheetOptions(
            copy_number=self.copy_number,
            acceptance=acceptance_limits(shop, self.plan, day_in(shop.zone, room.now)),
            language=self.language,
            texts=self.texts,
            pictures=self.pictures.get,
            shelves=room.shelves,
        )
        if self.name in OPERATIONS:
            number = OPERATIONS[self.name]
            return operations_pdf(self.plan, unit, shop.settings, room.now, (number,), **more)
        return traveler_pdf(self.plan, unit, shop.settings, room.now, **more)

    def kind(self, unit: UnitHeader) -> Hashable:
        """What two units must have in common to be stamped from one master."""
        plan = self.plan
        built_to = (plan.digest, plan.variant, plan.options, unit.quantity)
        return (
            self.name,
            *built_to,
            self.language,
            self.copy_number,
            self.gross_mass,
            placeholder_header(unit),
        )


@dataclass(frozen=True, slots=True)
class PrintJob:
    """A sheet that is to be printed."""

    unit: UnitHeader
    sheet: SheetOrder

    @property
    def kind(self) -> Hashable:
        """See :meth:`FaceSheet.kind`."""
        return self.sheet.kind(self.unit)


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
