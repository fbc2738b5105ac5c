"""The quality certificate of a released unit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from traveler.definition.plan import Plan
from traveler.finding import Finding, Place
from traveler.record.entry import Entry
from traveler.sheets.attached import attached_plan
from traveler.sheets.certificate_view import certificate
from traveler.sheets.finish import Request, make_in_each
from traveler.sheets.head_view import head
from traveler.sheets.identity_view import identity
from traveler.sheets.record_view import record_view
from traveler.sheets.resources import Templates, templates
from traveler.sheets.sheet import Printing, Sheet, UnitFace
from traveler.shop.gauges import GaugeRegister
from traveler.shop.people import People
from traveler.shop.settings import Settings
from traveler.verdict.outcome import Verdict


def certificate_pdf(
    plan: Plan,
    unit: UnitFace,
    verdict: Verdict,
    entries: Iterable[Entry],
    settings: Settings,
    printed: datetime,
    *,
    people: People | None = None,
    gauges: GaugeRegister | None = None,
    copy_number: int = 1,
    language: str = "",
    texts: Sequence[Plan] = (),
    shelves: Templates | None = None,
) -> Sheet:
    """The certificate: what was measured against what, with which gauge, and who released it.

    Findings: SHT020 the unit is not released; there is no certificate then.
    """
    printing = Printing(settings, printed, copy_number, language, shelves or templates())
    record = record_view(verdict, entries, people, settings.time_zone)
    missing = () if record.released else (not_released(unit.serial),)

    def build(shown: Plan, printing: Printing) -> Request:
        say = printing.say
        rule = say("Values as measured before shipping.")
        return Request(
            template="sheets/certificate.html",
            title=say("Quality certificate {serial}, {title}", serial=unit.serial, title=shown.title),
            context={
                "head": head(shown, unit, printing, say("Quality certificate"), rule),
                "identity": identity(shown, unit, printing, inside=False),
                "certificate": certificate(shown, record, gauges or GaugeRegister(), say),
            },
            address=printing.address(unit.serial, plan.gtin),
            attached=(attached_plan(plan),),
            findings=missing,
        )

    return make_in_each(build, plan, texts, printing)


def not_released(serial: str) -> Finding:
    """The finding for a unit without a standing release."""
    return Finding(
        "SHT020",
        f"{serial} is not released",
        Place(unit=serial),
        why="a certificate says that quality released the unit",
        hint=f"traveler release {serial}",
    )
