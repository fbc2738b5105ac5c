"""Sheets to be printed: what a batch has in common is settled once; and what came of printing."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from pathlib import Path
from typing import ClassVar

from traveler.definition.fields import CRATING, FINAL
from traveler.definition.plan import Plan, Step
from traveler.finding import Finding, Place
from traveler.measure.judge import acceptance
from traveler.measure.limits import Limits, parse_limits
from traveler.measure.number import Unreadable, parse_number
from traveler.measure.quantity import parse_quantity
from traveler.result import Result
from traveler.sheets.batch.stamp import placeholder_header
from traveler.sheets.crate_papers import packing_list_pdf
from traveler.sheets.sheet import PrintOptions, Sheet, UnitHeader
from traveler.sheets.templates import Templates, templates
from traveler.sheets.traveler import operations_pdf, traveler_pdf
from traveler.shop.folder import Shop
from traveler.text import day_in

TRAVELER = "traveler"
OPERATIONS = {"final-checklist": FINAL, "crating-sheet": CRATING}
PACKING_LIST = "packing-list"
BATCH_SHEETS = frozenset({TRAVELER, *OPERATIONS, PACKING_LIST})
"""Names of the sheets that are stamped in batches."""


def acceptance_limits(shop: Shop, plan: Plan, day: date) -> Mapping[str, str]:
    """Check → acceptance limits as a person would write them, for each guarded check of the plan.

    They hold for every usable gauge of the kind: the largest uncertainty among those in calibration that day
    rules, passing over a gauge so uncertain that nothing of the tolerance would be left. A check without
    such a gauge is left out; the verdict will say why.
    """
    factor = parse_number(shop.settings.guard_factor).value
    guarded = (step for step in plan.steps() if (step.rule or shop.settings.decision_rule) == "guarded")
    found = ((step.check, _strictest(shop, step, day, factor)) for step in guarded)
    return {check: limits.describe() for check, limits in found if check is not None and limits is not None}


def _strictest(shop: Shop, step: Step, day: date, factor: Fraction) -> Limits | None:
    if step.limits is None or step.gauge is None:
        return None
    try:
        limits = parse_limits(step.limits.text)
    except Unreadable:
        return None
    for expanded in sorted(_uncertainties(shop, step.gauge.kind, limits.unit, day), reverse=True):
        left, _ = acceptance(limits, expanded, factor)
        if left is not None:
            return left
    return None


def _uncertainties(shop: Shop, kind: str, unit: str, day: date) -> Iterator[Fraction]:
    """Expanded uncertainties of the gauges of a kind that may be used on that day, in the unit."""
    for gauge in shop.gauges.gauges:
        known = gauge.uncertainty_on(day)
        if gauge.kind != kind or known is None or not gauge.usable_on(day, shop.zone):
            continue
        try:
            yield parse_quantity(known[0]).difference_to(unit).value
        except Unreadable:
            continue


@dataclass(frozen=True, slots=True)
class PrintContext:
    """What printing needs of the session. It holds values only and may be sent to another process."""

    shop: Shop
    now: datetime

    @property
    def templates(self) -> Templates:
        """The shop's templates."""
        return templates(self.shop.folder)


@dataclass(frozen=True, slots=True)
class SheetOrder:
    """One sheet but for the unit's header.

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

    def render(self, context: PrintContext, unit: UnitHeader) -> Sheet:
        """The sheet of this unit, rendered by itself."""
        shop, now = context.shop, context.now
        options = PrintOptions(
            copy_number=self.copy_number, language=self.language, texts=self.texts,
            templates=context.templates,
        )  # fmt: skip
        if self.name == PACKING_LIST:
            return packing_list_pdf(
                self.plan, unit, shop.settings, now, gross_mass=self.gross_mass, **options
            )
        acceptance = acceptance_limits(shop, self.plan, day_in(shop.zone, now))
        options["pictures"] = self.pictures.get
        if self.name in OPERATIONS:
            return operations_pdf(
                self.plan,
                unit,
                shop.settings,
                now,
                (OPERATIONS[self.name],),
                acceptance=acceptance,
                **options,
            )
        return traveler_pdf(self.plan, unit, shop.settings, now, acceptance=acceptance, **options)

    def kind(self, unit: UnitHeader) -> Hashable:
        """What two units must have in common to be stamped from one master."""
        plan = self.plan
        built_to = (plan.digest, plan.variant, plan.options, unit.quantity)
        printed = (self.language, self.copy_number, self.gross_mass)
        return (self.name, *built_to, *printed, placeholder_header(unit))


@dataclass(frozen=True, slots=True)
class PrintJob:
    """A sheet that is to be printed."""

    unit: UnitHeader
    sheet: SheetOrder

    @property
    def kind(self) -> Hashable:
        """See :meth:`SheetOrder.kind`."""
        return self.sheet.kind(self.unit)


@dataclass(frozen=True, slots=True)
class Printed(Result):
    """Sheets of one unit: the files that were written, and what was wrong with the sheets."""

    json_keys: ClassVar[str] = "serial files"

    serial: str
    files: tuple[Path, ...] = ()
    findings: tuple[Finding, ...] = ()

    def __add__(self, other: Printed) -> Printed:
        return Printed(self.serial, self.files + other.files, self.findings + other.findings)


def not_written(serial: str, file: Path, problem: OSError) -> Finding:
    """PRT001: the file of a unit's sheet could not be written."""
    what = f"{file} could not be written: {problem.strerror or problem}"
    hint = "make room for it, then print it again; the records are not touched by this"
    return Finding("PRT001", what, Place(unit=serial), hint=hint)
