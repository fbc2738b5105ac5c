"""How long the verdict of a unit with 300 slots takes, against the bare comparison of its readings.

Every unit of the loop has readings of its own. The baseline reads and compares the same readings by
``traveler.measure`` alone: no people, gauges, order, parts, stops, nor slots without readings.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from time import process_time

import pytest

from traveler.definition.expand import expand
from traveler.definition.load import load
from traveler.definition.model import definition_digest
from traveler.definition.plan import Plan, SlotKind
from traveler.measure.judge import judge_reading
from traveler.measure.limits import parse_limits
from traveler.measure.quantity import parse_quantity
from traveler.record.chain import GENESIS, link_row
from traveler.record.entry import Body, Draft, Entry, Issued, Read, Signed
from traveler.record.stored import to_entry
from traveler.shop.gauges import Calibration, Gauge, GaugeRegister
from traveler.shop.people import People, Person, RoleHeld
from traveler.shop.settings import Settings
from traveler.verdict.case import Case, OutsideFacts
from traveler.verdict.judge import judge_case

UNITS, OPERATIONS, POSITIONS = 60, 12, 24
START = datetime(2026, 9, 21, 6, 0, tzinfo=UTC)
NOW = START + timedelta(days=30)
SHOP = Settings(name="Marrowby Machine Works")
SINCE = date(2026, 1, 1)
PEOPLE = People(people=(Person(id="asm", name="A", roles=(RoleHeld(role="assembler", since=SINCE),)),))
CALIBRATED = Calibration(on=SINCE, uncertainty="0.002 mm")
INDICATOR = Gauge(
    id="IND-01", kind="indicator", resolution="0.001 mm", interval_days=365, calibrations=(CALIBRATED,)
)
GAUGES = GaugeRegister(gauges=(INDICATOR,))
HEAD = """format: 1
product: long
title: Long
revision: A
revised: 2026-09-14
approved_by: rhale
track: serial
serials: {pattern: "LG{variant}-{n:04}"}
variants: {"1": {title: One}}
gauges:
  indicator: {title: Dial indicator, resolution: 0.001 mm}
operations:
"""


def plan_of_300_slots(rule: str) -> Plan:
    """Twelve operations of 24 readings and a signature."""
    operations = "".join(
        f"  - number: {n * 10}\n    title: Part {n}\n    sign: assembler\n    steps:\n"
        f"      - measure: Check {n}\n        id: check-{n}\n        at: {{spot: {POSITIONS}}}\n"
        f"        limits: max 0.05 mm\n        gauge: indicator\n        decision_rule: {rule}\n"
        for n in range(1, OPERATIONS + 1)
    )
    loaded = load(HEAD + operations, "long.yaml", lambda _: True)
    assert loaded.definition is not None, loaded.findings
    return expand(loaded.definition, "1", definition_digest(loaded.definition))


def record_of(plan: Plan, chance: random.Random) -> tuple[Entry, ...]:
    """A good record: every slot filled, a minute apart."""
    issued = Issued(product="long", revision="A", variant="1", digest=plan.digest)
    drafts: list[tuple[str | None, Body]] = [(None, issued)]
    for slot in plan.slots():
        value = f"{chance.randint(0, 450) / 10000:.4f}"[:5]
        read = Read(written=f"{value} mm", value=value, unit="mm", gauge="IND-01")
        drafts.append((slot.id, read if slot.kind is SlotKind.READING else Signed()))
    entries: list[Entry] = []
    for number, (slot, body) in enumerate(drafts, start=1):
        at = START + timedelta(minutes=number)
        draft = Draft(unit="LG1-00013", at=at, by="asm", slot=slot, body=body)
        entries.append(to_entry(link_row(draft, number, entries[-1].hash if entries else GENESIS, at)))
    return tuple(entries)


def per_unit(judge_one: Callable[[tuple[Entry, ...]], object], records: list[tuple[Entry, ...]]) -> float:
    """Processor time per unit in milliseconds: the best of seven passes over all records."""
    passes = []
    for _ in range(7):
        begun = process_time()
        for entries in records:
            judge_one(entries)
        passes.append((process_time() - begun) / len(records) * 1000)
    return min(passes)


@pytest.mark.bench
@pytest.mark.parametrize("rule", ["simple", "guarded"])
def test_verdict_of_300_slots_against_the_bare_comparison(rule):
    plan = plan_of_300_slots(rule)
    chance = random.Random(1)
    records = [record_of(plan, chance) for _ in range(UNITS)]
    limits = parse_limits("max 0.05 mm")
    uncertainty = parse_quantity("0.002 mm")

    def whole(entries: tuple[Entry, ...]) -> object:
        return judge_case(Case(
            "LG1-00013", plan, entries, gauges=GAUGES, people=PEOPLE, settings=SHOP, now=NOW,
            facts=OutsideFacts(),
        ))  # fmt: skip

    def bare(entries: tuple[Entry, ...]) -> object:
        return [
            judge_reading(limits, parse_quantity(entry.body.written), uncertainty=uncertainty, rule=rule)
            for entry in entries
            if isinstance(entry.body, Read)
        ]

    assert sum(1 for _ in plan.slots()) == 300
    assert len(bare(records[0])) == OPERATIONS * POSITIONS
    took, baseline = per_unit(whole, records), per_unit(bare, records)
    print(
        f"\nverdict of 300 slots, {rule}: {took:.2f} ms per unit over {UNITS} units; bare comparison of its "
        f"{OPERATIONS * POSITIONS} readings {baseline:.2f} ms; ratio {took / baseline:.1f}"
    )
