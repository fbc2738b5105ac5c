"""Every sheet of a unit by its name: when there is one, and how it is rendered."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from traveler.definition.fields import FINAL
from traveler.sheets.arrival_check import arrival_check_pdf
from traveler.sheets.batch.print_job import PACKING_LIST, TRAVELER, PrintContext, Printed, acceptance_limits
from traveler.sheets.batch.requests import PrintJobs, keep, texts_of, unit_header
from traveler.sheets.certificate import certificate_pdf
from traveler.sheets.crate_papers import crate_label_pdf, unit_label_pdf
from traveler.sheets.definition_pictures import picture_reader
from traveler.sheets.record import record_pdf
from traveler.sheets.sheet import PrintOptions, Sheet, UnitHeader
from traveler.sheets.templates import templates
from traveler.shop.session import Session
from traveler.verdict.judge import Judged, weighed_mass

AT_STEP: Mapping[str, tuple[str, ...]] = {
    "released": ("certificate", "arrival-check", "packing-list", "unit-label", "crate-label"),
    "crated": ("arrival-check", "packing-list", "crate-label"),
    "placed": (),
    "shipped": ("crate-label",),
}
"""Step of a unit's life → the sheets it makes, or makes again with the mass weighed and the customer."""

AFTER_RELEASE = frozenset({"released", "crated", "in stock", "shipped"})


def step_sheets(session: Session, judged: Judged, step: str) -> Printed:
    """Renders and writes the sheets of a step; findings as in :func:`traveler.sheets.batch.requests.keep`."""
    printed = Printed(judged.unit.serial)
    for name in AT_STEP[step]:
        if SHEETS[name].wanted(judged):
            printed += print_sheet(session, judged, name)
    return printed


def print_sheet(session: Session, judged: Judged, name: str, copy_number: int = 1) -> Printed:
    """Renders and writes one sheet; findings as in :func:`traveler.sheets.batch.requests.keep`."""
    sheet = SHEETS[name].render(session, judged, copy_number)
    return keep(session, judged.unit.serial, name, sheet, copy_number)


@dataclass(frozen=True, slots=True)
class SheetKind:
    """One kind of sheet. ``released``: there is none before the release.

    ``counted``: its copies are counted, and a reprint is an entry. The record is not: an entry about its
    printing would change what it prints.
    """

    render: Callable[[Session, Judged, int], Sheet]
    has: Callable[[Judged], bool] = lambda _: True
    released: bool = False
    counted: bool = True

    def wanted(self, judged: Judged) -> bool:
        """Whether the unit has such a sheet now."""
        return self.has(judged) and (not self.released or str(judged.verdict.state) in AFTER_RELEASE)


def _batch_sheet(name: str) -> Callable[[Session, Judged, int], Sheet]:
    def render(session: Session, judged: Judged, copy_number: int) -> Sheet:
        job = PrintJobs(session).again(judged, name, copy_number)
        return job.sheet.render(PrintContext(session.shop, session.now), job.unit)

    return render


def _options(
    session: Session, judged: Judged, copy_number: int = 1, *, customer: bool = False
) -> PrintOptions:
    return PrintOptions(
        copy_number=copy_number,
        language=session.speaks(customer=customer),
        texts=texts_of(session, judged.entries, customer=customer),
        templates=templates(session.shop.folder),
    )


def _header(session: Session, judged: Judged) -> UnitHeader:
    return unit_header(session, judged.unit, judged.entries)


def _certificate(session: Session, judged: Judged, copy_number: int) -> Sheet:
    shop = session.shop
    return certificate_pdf(
        judged.plan, _header(session, judged), judged.verdict, judged.entries, shop.settings, session.now,
        people=shop.people, gauges=shop.gauges, **_options(session, judged, copy_number, customer=True),
    )  # fmt: skip


def _arrival_check(session: Session, judged: Judged, copy_number: int) -> Sheet:
    return arrival_check_pdf(
        judged.plan, _header(session, judged), judged.verdict, judged.entries, session.shop.settings,
        session.now, **_options(session, judged, copy_number, customer=True),
    )  # fmt: skip


def _record(session: Session, judged: Judged, _: int) -> Sheet:
    shop = session.shop
    options = _options(session, judged) | PrintOptions(pictures=picture_reader(session, judged.plan.digest))
    return record_pdf(
        judged.plan, _header(session, judged), judged.verdict, judged.entries, shop.settings, session.now,
        people=shop.people, acceptance=acceptance_limits(shop, judged.plan, session.today), **options,
    )  # fmt: skip


def _unit_label(session: Session, judged: Judged, _: int) -> Sheet:
    header, settings = _header(session, judged), session.shop.settings
    return unit_label_pdf(judged.plan, header, settings, session.now, **_options(session, judged))


def _crate_label(session: Session, judged: Judged, _: int) -> Sheet:
    settings = session.shop.settings
    return crate_label_pdf(
        judged.plan, _header(session, judged), settings, session.now, gross_mass=weighed_mass(judged),
        size="4x6 in" if settings.page_size == "Letter" else "100x150 mm",
        **_options(session, judged, customer=True),
    )  # fmt: skip


def _has_final(judged: Judged) -> bool:
    return any(operation.number == FINAL for operation in judged.plan.operations)


SHEETS: Mapping[str, SheetKind] = {
    TRAVELER: SheetKind(_batch_sheet(TRAVELER)),
    "final-checklist": SheetKind(_batch_sheet("final-checklist"), _has_final),
    "crating-sheet": SheetKind(_batch_sheet("crating-sheet"), lambda judged: judged.plan.has_crating),
    "certificate": SheetKind(_certificate, released=True),
    "arrival-check": SheetKind(_arrival_check, lambda judged: bool(judged.plan.arrival_check), released=True),
    "packing-list": SheetKind(
        _batch_sheet(PACKING_LIST), lambda judged: any(step.packing for step in judged.plan.steps())
    ),
    "record": SheetKind(_record, counted=False),
    "unit-label": SheetKind(_unit_label),
    "crate-label": SheetKind(_crate_label, lambda judged: judged.plan.crate is not None),
}
"""Name of a sheet (and of its file) → what it is."""
