"""The sheets that go with a unit when its work is done: certificate, arrival check, packing list, labels."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from traveler.jobs.judge import Judged
from traveler.jobs.life import gross_mass
from traveler.jobs.office import Office
from traveler.jobs.printing import Printed, face, keep
from traveler.sheets.arrival_check import arrival_check_pdf
from traveler.sheets.certificate import certificate_pdf
from traveler.sheets.labels import crate_label_pdf, unit_label_pdf
from traveler.sheets.packing_list import packing_list_pdf
from traveler.sheets.resources import templates
from traveler.sheets.sheet import Sheet

WITH_STEP: Mapping[str, tuple[str, ...]] = {
    "released": ("certificate", "arrival-check", "packing-list", "unit-label", "crate-label"),
    "crated": ("arrival-check", "packing-list", "crate-label"),
    "placed": (),
    "shipped": ("crate-label",),
}
"""Step → the sheets it makes, or makes anew: crated ones with the mass that was weighed, a label with the
customer it goes to."""


def closing_sheets(office: Office, judged: Judged, step: str) -> Printed:
    """Renders and writes the sheets of a step; sheets for a crate only where the plan has one.

    Raises:
        OSError: the folder cannot be written to; the step itself is recorded.
    """
    serial = judged.unit.serial
    printed = Printed(serial)
    for name in WITH_STEP[step]:
        if _wanted(name, judged):
            printed += keep(office, serial, name, _SHEETS[name](office, judged))
    return printed


def _wanted(name: str, judged: Judged) -> bool:
    plan = judged.plan
    return {
        "crate-label": plan.crate is not None,
        "packing-list": any(step.packing for step in plan.steps()),
        "arrival-check": bool(plan.arrival_check),
    }.get(name, True)


def _certificate(office: Office, judged: Judged) -> Sheet:
    shop = office.shop
    return certificate_pdf(
        judged.plan, face(office, judged.unit, judged.entries), judged.verdict, judged.entries, shop.settings,
        office.now, people=shop.people, gauges=shop.gauges, shelves=templates(shop.folder),
    )  # fmt: skip


def _arrival_check(office: Office, judged: Judged) -> Sheet:
    shop = office.shop
    return arrival_check_pdf(
        judged.plan, face(office, judged.unit, judged.entries), judged.verdict, judged.entries, shop.settings,
        office.now, shelves=templates(shop.folder),
    )  # fmt: skip


def _packing_list(office: Office, judged: Judged) -> Sheet:
    shop = office.shop
    return packing_list_pdf(
        judged.plan, face(office, judged.unit, judged.entries), shop.settings, office.now,
        gross_mass=gross_mass(judged), shelves=templates(shop.folder),
    )  # fmt: skip


def _unit_label(office: Office, judged: Judged) -> Sheet:
    shop = office.shop
    return unit_label_pdf(
        judged.plan, face(office, judged.unit, judged.entries), shop.settings, office.now,
        shelves=templates(shop.folder),
    )  # fmt: skip


def _crate_label(office: Office, judged: Judged) -> Sheet:
    shop = office.shop
    return crate_label_pdf(
        judged.plan, face(office, judged.unit, judged.entries), shop.settings, office.now,
        gross_mass=gross_mass(judged),
        size="4x6 in" if shop.settings.page_size == "Letter" else "100x150 mm",
        shelves=templates(shop.folder),
    )  # fmt: skip


_SHEETS: Mapping[str, Callable[[Office, Judged], Sheet]] = {
    "certificate": _certificate,
    "arrival-check": _arrival_check,
    "packing-list": _packing_list,
    "unit-label": _unit_label,
    "crate-label": _crate_label,
}
