"""A lot of parts: its pieces are made one after the other and belong in one series."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from traveler.definition.expand import expand
from traveler.definition.load import load
from traveler.record.entry import Entry, Issued, Read
from traveler.record.records import Unit
from traveler.shop.gauges import GaugeRegister
from traveler.shop.settings import Settings
from traveler.trace.stats.series import Collector, Narrowed
from traveler.trace.stats.unit_readings import unit_readings
from traveler.verdict.rows import Weigher

BEGUN = datetime(2026, 9, 14, 8, 0, tzinfo=UTC)
HUBS = """\
format: 1
product: hub
title: Hub
revision: A
revised: 2026-09-01
approved_by: rhale
track: lot
serials: {pattern: "HB-{yy}{ww}-{n:04}"}
variants: {std: {title: Standard}}
operations:
  - number: 10
    title: Turning
    steps:
      - fit: Bar
        number: M-1
        trace: lot
      - measure: Bore
        id: bore
        every: 2
        limits: 25.00 to 25.02 mm
      - count: Pieces of the lot
    sign: machinist
"""


def entry(seq, body, slot=None):
    at = BEGUN + timedelta(minutes=seq)
    return Entry.model_construct(
        unit="HB-1", seq=seq, at=at, recorded=at, zone="UTC", by="mchip", slot=slot, body=body, source="tool",
        previous="", hash="",
    )  # fmt: skip


def test_the_pieces_of_a_lot_are_one_series_in_the_order_of_making():
    loaded = load(HUBS, "hub.yaml", lambda _: False)
    assert loaded.definition is not None, loaded.findings
    plan = expand(loaded.definition, "std", "0" * 64, quantity=10)
    slots = [slot.id for step in plan.steps() for slot in step.slots if step.check == "bore"]
    assert len(slots) == 5
    issued = Issued(product="hub", revision="A", variant="std", digest="0" * 64, quantity=10)
    read = [Read(written=f"25.0{at} mm", value=f"25.0{at}", unit="mm") for at in (1, 2, 0, 1, 3)]
    entries = [entry(1, issued), *(entry(at + 2, item, slots[at]) for at, item in enumerate(read))]
    unit = Unit("HB-1", "hub", "A", "std", "0" * 64, BEGUN, None, 10, "building", 6, "")
    collector = Collector(Narrowed())
    weigher = Weigher(Settings(name="Marrowby"), GaugeRegister(), ZoneInfo("UTC"))
    collector.add(unit_readings(unit, plan, entries, weigher))
    (series,) = collector.series()
    assert series.place == ""
    assert [str(value) for value in series.values] == ["2501/100", "1251/50", "25", "2501/100", "2503/100"]
    assert [first.passed for first in series.firsts] == [True, True, True, True, False]
