"""Sheets that show nothing of a unit but its face: what a batch of them has in common is settled once."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from datetime import datetime

from traveler.definition.plan import Plan
from traveler.jobs.acceptance import acceptance_limits
from traveler.sheets.checklist import CRATING, FINAL, SheetOptions, operations_pdf
from traveler.sheets.packing_list import packing_list_pdf
from traveler.sheets.resources import Templates, templates
from traveler.sheets.sheet import Sheet, UnitFace
from traveler.sheets.stamp_values import kind_of
from traveler.sheets.traveler import traveler_pdf
from traveler.shop.folder import Shop

TRAVELER = "traveler"
OPERATIONS = {"final-checklist": FINAL, "crating-sheet": CRATING}
PACKING_LIST = "packing-list"
FACE_SHEETS = frozenset({TRAVELER, *OPERATIONS, PACKING_LIST})
"""Names of the sheets that are stamped in batches."""


@dataclass(frozen=True, slots=True)
class Room:
    """What printing needs of the office. It holds values only and may be sent to another process."""

    shop: Shop
    now: datetime

    @property
    def shelves(self) -> Templates:
        """The shop's templates."""
        return templates(self.shop.folder)


@dataclass(frozen=True, slots=True)
class FaceSheet:
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

    def render(self, room: Room, unit: UnitFace) -> Sheet:
        """The sheet of this unit, rendered by itself."""
        shop = room.shop
        if self.name == PACKING_LIST:
            return packing_list_pdf(
                self.plan, unit, shop.settings, room.now, gross_mass=self.gross_mass,
                copy_number=self.copy_number, language=self.language, texts=self.texts, shelves=room.shelves,
            )  # fmt: skip
        more = SheetOptions(
            copy_number=self.copy_number,
            acceptance=acceptance_limits(shop, self.plan, room.now.astimezone(shop.zone).date()),
            language=self.language,
            texts=self.texts,
            pictures=self.pictures.get,
            shelves=room.shelves,
        )
        if self.name in OPERATIONS:
            number = OPERATIONS[self.name]
            return operations_pdf(self.plan, unit, shop.settings, room.now, (number,), **more)
        return traveler_pdf(self.plan, unit, shop.settings, room.now, **more)

    def kind(self, unit: UnitFace) -> Hashable:
        """What two units must have in common to be stamped from one master."""
        plan = self.plan
        built_to = (plan.digest, plan.variant, plan.options, unit.quantity)
        return (self.name, *built_to, self.language, self.copy_number, self.gross_mass, kind_of(unit))


@dataclass(frozen=True, slots=True)
class Wish:
    """A sheet that is to be printed."""

    unit: UnitFace
    sheet: FaceSheet

    @property
    def kind(self) -> Hashable:
        """See :meth:`FaceSheet.kind`."""
        return self.sheet.kind(self.unit)
