"""What a unit carries: lots with suppliers and material, gauges, people, week, values near a limit."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from traveler.definition.plan import Operation, Plan, PlanLimits, Slot, SlotKind, Step, StepKind
from traveler.record.light import LightEntry
from traveler.record.records import Unit
from traveler.trace.factors import factors_of, week

ZONE = ZoneInfo("Europe/Dublin")
UNIT = Unit(
    "BW4-1", "bobbin-winder", "D", "4", "d" * 64, datetime(2026, 7, 29, 9, 0, tzinfo=UTC), None, None,
    "shipped", 9, "h",
)  # fmt: skip
STEPS = (
    Step(
        id="10-1", number=1, kind=StepKind.FIT, text="Bearing", trace="lot", part_number="P-2112",
        slots=(Slot(id="10-1", kind=SlotKind.PART, label="Bearing"),),
    ),
    Step(
        id="10-2", number=2, kind=StepKind.MEASURE, text="Run-out", check="runout",
        limits=PlanLimits(text="max 0.05 mm", unit="mm", upper="0.05", decimals=2),
        slots=(Slot(id="10-2", kind=SlotKind.READING, label="Run-out"),),
    ),
)  # fmt: skip
PLAN = Plan(
    product="bobbin-winder", title="Winder", revision="D", revised="2026-01-01", approved_by="rhale",
    digest="d" * 64, variant="4", operations=(Operation(number="10", title="All", steps=STEPS),),
)  # fmt: skip


def glimpse(
    kind: str, slot: str | None = None, by: str = "tkiln", seq: int = 1, **said: object
) -> LightEntry:
    body = json.dumps({"kind": kind, **said}, separators=(",", ":"))
    return LightEntry("BW4-1", seq, f"2026-07-29T09:0{seq}:00.000000Z", by, slot, kind, body)


def carried(*seen: LightEntry, **more: object) -> dict[str, set[str]]:
    return factors_of(UNIT, seen, PLAN, ZONE, **more)


def test_revision_variant_and_week_are_always_carried():
    assert carried() == {"revision": {"D"}, "variant": {"4"}, "week": {"2026-W31"}}


def test_a_lot_is_named_after_its_part_and_brings_supplier_and_material():
    seen = glimpse("fitted", "10-1", trace="lot", value="P-2112/77")
    found = carried(seen, suppliers={"p-2112/7*": "Northmill"}, made_of={"P-2112/77": [("M-1", "H-9")]})
    assert found["lot of P-2112"] == {"P-2112/77"}
    assert found["supplier of P-2112"] == {"Northmill"}
    assert found["lot of M-1 in P-2112"] == {"H-9"}


def test_the_serial_of_a_part_is_no_factor():
    seen = glimpse("fitted", "10-1", trace="serial", value="M-1", number="P-2007")
    assert not any(name.startswith("lot") for name in carried(seen))


def test_who_signed_is_told_by_the_part_of_the_work():
    found = carried(
        glimpse("signed", "10/sign"),
        glimpse("signed", "Q/sign", "iwren"),
        glimpse("signed", "C/sign", "pstrap"),
    )
    assert (found["built by"], found["inspected by"], found["crated by"]) == (
        {"tkiln"},
        {"iwren"},
        {"pstrap"},
    )


def test_gauges_carriers_and_zones_are_carried():
    found = carried(
        glimpse("read", "10-2", written="0.049 mm", value="0.049", unit="mm", gauge="IND-03"),
        glimpse("shipped", customer="A", carrier="own van"),
    )
    assert (found["gauge"], found["carrier"]) == ({"IND-03"}, {"own van"})
    assert found["runout in the"] == {"upper tenth", "upper quarter"}


def test_only_the_reading_that_stands_says_how_near_it_is():
    far = glimpse("read", "10-2", seq=1, value="0.049", unit="mm", written="x", as_found=True)
    good = glimpse("read", "10-2", seq=2, value="0.010", unit="mm", written="x")
    assert "runout in the" not in carried(good, far)


def test_a_reading_beyond_a_limit_and_one_in_inches():
    found = carried(glimpse("read", "10-2", value="0.002", unit="in", written="x"))
    assert found["runout beyond the"] == {"upper limit"}


def test_a_reading_that_cannot_be_understood_carries_nothing():
    assert "runout in the" not in carried(glimpse("read", "10-2", value="0.049", unit="N", written="x"))


def test_a_week_is_that_of_the_shop():
    assert week(datetime(2026, 12, 31, 23, 30, tzinfo=UTC), ZoneInfo("Asia/Tokyo")) == "2026-W53"
    assert week(datetime(2027, 1, 4, 0, 30, tzinfo=UTC), ZoneInfo("America/Lima")) == "2026-W53"
