"""The register of gauges as it stands today, with how much each was used; and those that are due."""

from __future__ import annotations

from collections.abc import Sequence

from traveler.jobs.gauge_uncertainty import registered
from traveler.jobs.office import Office
from traveler.record.references import reference_value
from traveler.shop.gauge_standing import GaugeToday, due_within, gauge_today
from traveler.trace.gauge_use import GaugeUse, used_gauges

NEVER = GaugeUse()


def gauges_listed(office: Office, ids: Sequence[str] = ()) -> list[tuple[GaugeToday, GaugeUse]]:
    """The gauges of these ids (all of them without) in the order of the register, with their use.

    Raises:
        CannotDo: there is no gauge of one of the ids.
    """
    shop = office.shop
    gauges = [registered(shop.gauges, one) for one in ids] if ids else list(shop.gauges.gauges)
    with office.store.reading() as records:
        used = used_gauges(records)
    soon = shop.settings.gauge_due_days
    return [
        (gauge_today(one, office.now, shop.zone, soon), used.get(reference_value(one.id), NEVER))
        for one in gauges
    ]


def gauges_due(office: Office, days: int) -> list[GaugeToday]:
    """The gauges in use that are due within so many days, the most urgent first."""
    return due_within(office.shop.gauges.gauges, office.now, office.shop.zone, days)
