"""A shop that has built sixty skein reels: two revisions, two variants, and things that went wrong.

Always the same readings. What is planted, for statistics to find:

* ``pin-height`` drifts upward, toward its limit, by 0.002 mm a unit;
* gauge ``IND-09`` reads ``runout`` 0.006 mm high, and every fourth unit is read with it;
* revision A allows ``runout`` 0.06 mm, revision B (from unit 30 on) 0.05 mm;
* ``belt-pull`` has other limits in each variant;
* ``arm-length`` is read in inches on every fifth unit, and in µm on every seventh;
* ``brake`` is read as found, adjusted (mostly as advised) and read again on every third unit;
* some readings are struck out, two units are stopped, one is used as it is under a concession.

The last six units are still in work, the six before are in stock, all others are shipped.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path

from traveler.definition.expand import expand
from traveler.definition.load import load
from traveler.definition.model import canonical_content, definition_digest
from traveler.definition.plan import Plan, Slot, SlotKind
from traveler.definition.serial import check_character_ok, make_serial
from traveler.measure.number import format_number
from traveler.record.entry import (
    Adjusted,
    Body,
    Confirmed,
    Crated,
    Decided,
    Draft,
    Issued,
    Packed,
    Placed,
    Read,
    Released,
    Shipped,
    Signed,
    Stopped,
    Struck,
    Ticked,
)
from traveler.record.records import IssuedDefinition
from traveler.record.store import Store, Transaction
from traveler.verdict.state import state_after

BEGUN = datetime(2026, 2, 2, 8, 0, tzinfo=UTC)
UNITS = 60
CHANGED = 30
"""The first unit of revision B."""
PRODUCT = "skein-reel"
PATTERN = "SR{variant}-{yy}{ww}-{n:04}"

DEFINITION = """\
format: 1
product: skein-reel
title: Skein reel
revision: {revision}
revised: 2026-01-1{day}
change: {change}
approved_by: rhale

track: serial
serials: {{pattern: "SR{{variant}}-{{yy}}{{ww}}-{{n:04}}"}}

variants:
  "4": {{title: Four arms, mass: 9.00 kg, pull: 18}}
  "6": {{title: Six arms, mass: 11.00 kg, pull: 26}}

positions:
  end: [near, far]

gauges:
  indicator: {{title: Dial indicator, resolution: 0.001 mm}}
  pull-scale: {{title: Pull scale, resolution: 0.1 N}}
  crate-scale: {{title: Platform scale, resolution: 0.05 kg}}

operations:
  - number: 10
    title: Frame
    steps:
      - do: Bolt the foot to the post.
      - measure: Run-out of the axle
        id: runout
        at: end
        limits: max {runout} mm
        gauge: indicator
      - work_out: Run-out difference between the ends
        id: taper
        how: {{difference: runout, along: end, sign: ignored}}
        limits: max 0.03 mm
      - measure: Height of the guide pin
        id: pin-height
        limits: 42.00 ± 0.15 mm
        gauge: indicator
      - measure: Length of the arms
        id: arm-length
        limits: 254.0 ± 0.5 mm
        gauge: indicator
      - confirm: No burrs felt.
        id: burrs
    sign: assembler
  - number: 20
    title: Brake
    steps:
      - measure: Brake play
        id: brake
        limits: 0.20 to 0.40 mm
        gauge: indicator
        adjust: {{screw: 1.25 mm, effect: 0.50 mm/turn, increases: clockwise}}
      - measure: Belt pull
        id: belt-pull
        limits: "{{pull}} ± 2.0 N"
        gauge: pull-scale
    sign: assembler

final_checks:
  - again: runout
    at: {{end: [near]}}

crating:
  crate: {{title: Carton, inside: 600 × 450 × 120 mm, empty_mass: 0.90 kg}}
  steps:
    - pack: Tick every item.
    - measure: Gross mass
      id: gross-mass
      limits: expected ± 0.25 kg
      gauge: crate-scale
  packing_list:
    - {{item: Skein reel, quantity: 1, mass: variant}}
  sign: packer
"""


@dataclass
class Built:
    """What was built: serials in order, and the plan of each."""

    serials: list[str] = field(default_factory=list)
    plans: dict[str, Plan] = field(default_factory=dict)
    end: datetime = BEGUN


def definition_text(revision: str) -> str:
    """The definition as a file; revision A or B."""
    loose = revision == "A"
    change = "First issue." if loose else "Less run-out is allowed."
    return DEFINITION.format(
        revision=revision, day=2 if loose else 3, change=change, runout="0.06" if loose else "0.05"
    )


def build(store: Store, folder: Path) -> Built:
    """Write the definition of revision B beside the others and fill the store."""
    (folder / "product_defs" / f"{PRODUCT}.yaml").write_text(definition_text("B"), encoding="utf-8")
    built = Built()
    chance = random.Random(20260202)
    with store.transaction() as work:
        for at in range(UNITS):
            revision = "A" if at < CHANGED else "B"
            loaded = load(definition_text(revision), f"{PRODUCT}.yaml", lambda _: False)
            assert loaded.definition is not None, loaded.findings
            content = canonical_content(loaded.definition).decode()
            frozen = IssuedDefinition(PRODUCT, revision, definition_digest(loaded.definition), content, BEGUN)
            work.put_definition(frozen)
            variant = "4" if at % 2 else "6"
            plan = expand(loaded.definition, variant, frozen.digest)
            serial = _serial(variant, at)
            begun = BEGUN + timedelta(days=3 * at)
            issued = Issued(product=PRODUCT, revision=revision, variant=variant, digest=frozen.digest)
            first = Draft(unit=serial, at=begun, zone="UTC", by="rhale", body=issued)
            work.issue(first, begun)
            last = begun
            for draft in _life(serial, plan, at, begun, chance):
                last = max(draft.at, last)
                work.append(_sealing(work, draft), last)
            work.set_state(serial, str(state_after(work.entries(serial), plan)))
            built.serials.append(serial)
            built.plans[serial] = plan
            built.end = last
    return built


def _sealing(work: Transaction, draft: Draft) -> Draft:
    """A release names the end of the chain before it."""
    unit = work.unit(draft.unit)
    if not isinstance(draft.body, Released) or unit is None:
        return draft
    return draft.model_copy(update={"body": Released(head=unit.head, count=unit.entries)})


def _serial(variant: str, at: int) -> str:
    day = (BEGUN + timedelta(days=3 * at)).date()
    numbers = (make_serial(PATTERN, variant, number, day, PRODUCT) for number in range(1 + 20 * at, 9999))
    return next(serial for serial in numbers if check_character_ok(serial))


def _life(serial: str, plan: Plan, at: int, begun: datetime, chance: random.Random) -> Iterator[Draft]:
    """The entries after the issue, minutes apart, in the order of the work."""
    moment = begun + timedelta(hours=1)
    seq = 1
    in_work = at >= UNITS - 6
    for by, slot, said in _written(plan, at, chance, in_work):
        about = {"struck": "strikes", "decided": "stop"}.get(said.kind)  # the entry just before
        body = said if about is None else said.model_copy(update={about: seq})
        yield Draft(unit=serial, at=moment, zone="UTC", by=by, slot=slot, body=body)
        moment += timedelta(minutes=4)
        seq += 1
        if isinstance(body, Released | Crated | Placed):
            moment += timedelta(hours=2)


Said = tuple[str, str | None, Body]


def _written(plan: Plan, at: int, chance: random.Random, in_work: bool) -> Iterator[Said]:
    builder = ("tkiln", "bfell")[at % 3 == 0]
    for operation in plan.operations:
        if in_work and operation.number == "20":
            return
        if operation.number == "C":
            yield "qmoor", None, Released(head="0" * 64, count=1)
        who = {"Q": "iwren", "C": "pstrap"}.get(operation.number, builder)
        for step in operation.steps:
            for slot in step.slots:
                yield from _slot(step.check, slot, plan, at, who, chance)
        if operation.sign is not None:
            yield who, operation.sign.id, Signed()
    yield "pstrap", None, Crated()
    yield "pstrap", None, Placed(place="Bay 1")
    if at < UNITS - 12:
        yield "sdock", None, Shipped(customer="Aldermoor Weavers")


def _slot(
    check: str | None, slot: Slot, plan: Plan, at: int, who: str, chance: random.Random
) -> Iterator[Said]:
    if slot.kind is SlotKind.READING:
        yield from _readings(check or "again", slot.id, plan, at, who, chance)
    elif slot.kind is SlotKind.CONFIRM:
        yield who, slot.id, Confirmed(yes=at != 12)
        if at == 12:
            yield who, slot.id, Confirmed()
    elif slot.kind is SlotKind.TICK:
        yield who, slot.id, Ticked()
    elif slot.kind is SlotKind.PACKED:
        yield who, slot.id, Packed()


def _readings(check: str, slot: str, plan: Plan, at: int, who: str, chance: random.Random) -> Iterator[Said]:
    gauge = "IND-09" if at % 4 == 0 else "IND-03"
    noise = Fraction(round(chance.gauss(0, 1000)), 1000)
    if check in ("runout", "again"):
        value = Fraction(28, 1000) + noise * Fraction(4, 1000) + (Fraction(6, 1000) if at % 4 == 0 else 0)
        if at == 20 and slot.endswith("near") and check == "runout":
            yield who, slot, _read(Fraction(280, 1000), "mm", gauge)
            yield who, slot, Struck(strikes=1, reason="Point in the wrong place.")
        yield who, slot, _read(abs(value), "mm", gauge)
    elif check == "pin-height":
        yield who, slot, _read(Fraction(4195, 100) + Fraction(2 * at, 1000) + noise / 100, "mm", gauge)
    elif check == "arm-length":
        value = Fraction(254) + noise / 10
        if at % 5 == 0:
            yield who, slot, _read(round(value / Fraction(254, 10), 3), "in", gauge)
        elif at % 7 == 0:
            yield who, slot, _read(Fraction(round(value * 1000)), "µm", gauge, 0)
        else:
            yield who, slot, _read(value, "mm", gauge)
    elif check == "brake":
        yield from _brake(slot, at, who, gauge, noise)
    elif check == "belt-pull":
        nominal = 18 if plan.variant == "4" else 26
        yield who, slot, _read(nominal + noise / 2, "N", "PS-01", 1)
    elif check == "gross-mass":
        expected = Fraction(99, 10) if plan.variant == "4" else Fraction(119, 10)
        yield who, slot, _read(expected + noise / 20, "kg", "CS-01", 2)


def _brake(slot: str, at: int, who: str, gauge: str, noise: Fraction) -> Iterator[Said]:
    """Every third is out as found; the tenth and the fortieth were stopped for it."""
    good = Fraction(30, 100) + noise / 100
    if at % 3 == 0:
        yield who, slot, _read(Fraction(50, 100) + noise / 100, "mm", gauge, as_found=True)
        if at in (9, 39):
            yield who, slot, Stopped(what="Screw does not hold.")
            concession = "C-7" if at == 39 else None
            decision = "use_as_is" if concession else "rework"
            yield "qmoor", slot, Decided(stop=1, decision=decision, concession=concession)
        yield who, slot, Adjusted(done="play screw", amount="0.4 turn", followed=at % 9 != 0)
        if at % 9 == 0:
            yield who, slot, _read(Fraction(43, 100), "mm", gauge)
    yield who, slot, _read(good, "mm", gauge)


def _read(value: Fraction, unit: str, gauge: str, decimals: int = 3, *, as_found: bool = False) -> Read:
    text = format_number(Fraction(value), decimals)
    return Read(written=f"{text} {unit}", value=text, unit=unit, gauge=gauge, as_found=as_found)
