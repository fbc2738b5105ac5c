"""Every sheet of a unit by its name: when there is one, and how it is rendered."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypedDict

from traveler.definition.plan import Plan
from traveler.jobs.acceptance import acceptance_limits
from traveler.jobs.face_sheet import PACKING_LIST, TRAVELER, Room
from traveler.jobs.judged import Judged, weighed_mass
from traveler.jobs.office import Office
from traveler.jobs.pictures import picture_reader
from traveler.jobs.printed import Printed
from traveler.jobs.printing import face, keep, texts_of
from traveler.jobs.wishes import Wishes
from traveler.sheets.arrival_check import arrival_check_pdf
from traveler.sheets.certificate import certificate_pdf
from traveler.sheets.labels import crate_label_pdf, unit_label_pdf
from traveler.sheets.record import record_pdf
from traveler.sheets.resources import templates
from traveler.sheets.sheet import Sheet

AT_STEP: Mapping[str, tuple[str, ...]] = {
    "released": ("certificate", "arrival-check", "packing-list", "unit-label", "crate-label"),
    "crated": ("arrival-check", "packing-list", "crate-label"),
    "placed": (),
    "shipped": ("crate-label",),
}
"""Step of a unit's life → the sheets it makes, or makes anew with the mass weighed and the customer."""

AFTER_RELEASE = frozenset({"released", "crated", "in stock", "shipped"})


def step_sheets(office: Office, judged: Judged, step: str) -> Printed:
    """Renders and writes the sheets of a step; findings as in :func:`traveler.jobs.printing.keep`."""
    printed = Printed(judged.unit.serial)
    for name in AT_STEP[step]:
        if SHEETS[name].wanted(judged):
            printed += print_sheet(office, judged, name)
    return printed


def print_sheet(office: Office, judged: Judged, name: str, copy_number: int = 1) -> Printed:
    """Renders and writes one sheet; findings as in :func:`traveler.jobs.printing.keep`."""
    sheet = SHEETS[name].render(office, judged, copy_number)
    return keep(office, judged.unit.serial, name, sheet, copy_number)


@dataclass(frozen=True, slots=True)
class SheetKind:
    """One kind of sheet. ``released``: there is none before the release.

    ``counted``: its copies are counted, and a reprint is an entry. The record is not: an entry about its
    printing would change what it prints.
    """

    render: Callable[[Office, Judged, int], Sheet]
    has: Callable[[Judged], bool] = lambda _: True
    released: bool = False
    counted: bool = True

    def wanted(self, judged: Judged) -> bool:
        """Whether the unit has such a sheet now."""
        return self.has(judged) and (not self.released or str(judged.verdict.state) in AFTER_RELEASE)


def _face_sheet(name: str) -> Callable[[Office, Judged, int], Sheet]:
    def render(office: Office, judged: Judged, copy_number: int) -> Sheet:
        wished = Wishes(office).again(judged, name, copy_number)
        return wished.sheet.render(Room(office.shop, office.now), wished.unit)

    return render


class Spoken(TypedDict):
    """Language of a sheet and the plan with its texts in it, as the sheets take them."""

    language: str
    texts: tuple[Plan, ...]


def _spoken(office: Office, judged: Judged, *, customer: bool = False) -> Spoken:
    texts = texts_of(office, judged.entries, customer=customer)
    return Spoken(language=office.speaks(customer=customer), texts=texts)


def _certificate(office: Office, judged: Judged, copy_number: int) -> Sheet:
    shop = office.shop
    return certificate_pdf(
        judged.plan, face(office, judged.unit, judged.entries), judged.verdict, judged.entries, shop.settings,
        office.now, people=shop.people, gauges=shop.gauges, copy_number=copy_number,
        shelves=templates(shop.folder), **_spoken(office, judged, customer=True),
    )  # fmt: skip


def _arrival_check(office: Office, judged: Judged, copy_number: int) -> Sheet:
    shop = office.shop
    return arrival_check_pdf(
        judged.plan, face(office, judged.unit, judged.entries), judged.verdict, judged.entries, shop.settings,
        office.now, copy_number=copy_number, shelves=templates(shop.folder),
        **_spoken(office, judged, customer=True),
    )  # fmt: skip


def _record(office: Office, judged: Judged, _: int) -> Sheet:
    shop = office.shop
    return record_pdf(
        judged.plan, face(office, judged.unit, judged.entries), judged.verdict, judged.entries, shop.settings,
        office.now, people=shop.people, acceptance=acceptance_limits(shop, judged.plan, office.today),
        pictures=picture_reader(office, judged.plan.digest), shelves=templates(shop.folder),
        **_spoken(office, judged),
    )  # fmt: skip


def _unit_label(office: Office, judged: Judged, _: int) -> Sheet:
    shop = office.shop
    shown = face(office, judged.unit, judged.entries)
    return unit_label_pdf(
        judged.plan, shown, shop.settings, office.now, shelves=templates(shop.folder),
        **_spoken(office, judged),
    )  # fmt: skip


def _crate_label(office: Office, judged: Judged, _: int) -> Sheet:
    shop = office.shop
    return crate_label_pdf(
        judged.plan, face(office, judged.unit, judged.entries), shop.settings, office.now,
        gross_mass=weighed_mass(judged),
        size="4x6 in" if shop.settings.page_size == "Letter" else "100x150 mm",
        shelves=templates(shop.folder), **_spoken(office, judged, customer=True),
    )  # fmt: skip


def _has_operation(number: str) -> Callable[[Judged], bool]:
    return lambda judged: any(one.number == number for one in judged.plan.operations)


SHEETS: Mapping[str, SheetKind] = {
    TRAVELER: SheetKind(_face_sheet(TRAVELER)),
    "final-checklist": SheetKind(_face_sheet("final-checklist"), _has_operation("Q")),
    "crating-sheet": SheetKind(_face_sheet("crating-sheet"), _has_operation("C")),
    "certificate": SheetKind(_certificate, released=True),
    "arrival-check": SheetKind(_arrival_check, lambda judged: bool(judged.plan.arrival_check), released=True),
    "packing-list": SheetKind(
        _face_sheet(PACKING_LIST), lambda judged: any(one.packing for one in judged.plan.steps())
    ),
    "record": SheetKind(_record, counted=False),
    "unit-label": SheetKind(_unit_label),
    "crate-label": SheetKind(_crate_label, lambda judged: judged.plan.crate is not None),
}
"""Name of a sheet (and of its file) → what it is."""
