"""A shop, the winder's plan, and a book in which a test writes what the floor writes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from traveler.definition.expand import expand
from traveler.definition.load import load
from traveler.definition.model import definition_digest
from traveler.definition.plan import Plan, Slot, SlotKind, Step
from traveler.definition.serial import check_character
from traveler.finding import Finding
from traveler.measure.limits import parse_limits
from traveler.measure.number import exact_text
from traveler.record import entry as kinds
from traveler.record.chain import GENESIS, link_row
from traveler.record.entry import Draft, Entry
from traveler.record.stored import to_entry
from traveler.shop.gauges import Calibration, Gauge, GaugeRegister
from traveler.shop.people import People, Person, RoleHeld
from traveler.shop.settings import Settings
from traveler.verdict.case import Case, OutsideFacts
from traveler.verdict.judge import Verdict, judge_case
from traveler.verdict.plan_index import Phase, phase_of

WINDER = Path(__file__).parents[2] / "product_defs" / "bobbin-winder.yaml"
PAYLOAD = "BW4-2639-0001"
UNIT = PAYLOAD + check_character(PAYLOAD)
START = datetime(2026, 9, 21, 6, 0, tzinfo=UTC)
NOW = START + timedelta(days=30)


def person(name: str, *roles: str, left: date | None = None) -> Person:
    held = tuple(RoleHeld(role=role, since=date(2020, 1, 1)) for role in roles)
    return Person(id=name, name=name.title(), roles=held, left=left)


PEOPLE = People(
    people=(
        person("asm", "assembler"),
        person("asm2", "assembler"),
        person("insp", "inspector"),
        person("qual", "quality"),
        person("pack", "packer"),
        person("eng", "engineering"),
        person("ship", "shipping"),
        person("boss", "director"),
        person("gone", "assembler", left=date(2026, 9, 1)),
    )
)


def gauge(name: str, kind: str, **rest: Any) -> Gauge:
    values: dict[str, Any] = {"interval_days": 365, "calibrations": (Calibration(on=date(2026, 3, 1)),)}
    return Gauge(id=name, kind=kind, **(values | rest))


GAUGES = GaugeRegister(
    gauges=(
        gauge("IND-01", "indicator", resolution="0.001 mm", uncertainty="0.002 mm"),
        gauge("HGT-01", "height-gauge", resolution="0.01 mm", uncertainty="0.015 mm"),
        gauge("TRQ-01", "torque-wrench", resolution="0.1 N·m", range="5 to 50 N·m"),
        gauge("PRO-01", "protractor", resolution="0.01 deg"),
        gauge("FEE-01", "feeler-gauge", resolution="0.01 mm"),
        gauge("PUL-01", "pull-scale", resolution="0.1 N"),
        gauge("EAR-01", "earth-tester", resolution="0.001 Ω"),
        gauge("TAC-01", "tachometer", resolution="1 1/min"),
        gauge("SND-01", "sound-meter", resolution="0.1 dB"),
        gauge("SCA-01", "crate-scale", resolution="0.01 kg"),
    )
)


@cache
def winder(variant: str = "4") -> Plan:
    loaded = load(WINDER.read_text(encoding="utf-8"), "bobbin-winder.yaml", lambda _: True)
    assert loaded.definition is not None, loaded.findings
    return expand(loaded.definition, variant, definition_digest(loaded.definition))


def plan_of(text: str, variant: str = "1") -> Plan:
    loaded = load(text, "made.yaml", lambda _: True)
    assert loaded.definition is not None, loaded.findings
    return expand(loaded.definition, variant, definition_digest(loaded.definition))


class Book:
    """The record of one unit in the making. Every entry comes a minute after the one before."""

    def __init__(self, plan: Plan, unit: str = UNIT) -> None:
        self.plan = plan
        self.unit = unit
        self.entries: list[Entry] = []
        self.clock = START
        self.people = PEOPLE
        self.gauges = GAUGES
        self.settings = Settings(name="Marrowby Machine Works")
        self.facts = OutsideFacts()
        self.now = NOW

    def write(self, body: Any, slot: str | None = None, by: str = "asm", **rest: Any) -> Entry:
        """Append an entry; ``at`` and ``recorded`` default to a minute after the last."""
        self.clock += timedelta(minutes=1)
        at = rest.pop("at", self.clock)
        recorded = rest.pop("recorded", max(at, self.clock))
        draft = Draft(unit=self.unit, at=at, by=by, slot=slot, body=body, **rest)
        previous = self.entries[-1].hash if self.entries else GENESIS
        self.entries.append(to_entry(link_row(draft, len(self.entries) + 1, previous, recorded)))
        return self.entries[-1]

    def issue(self, by: str = "boss", **rest: Any) -> Entry:
        plan = self.plan
        values = {
            "product": plan.product,
            "revision": plan.revision,
            "variant": plan.variant,
            "digest": plan.digest,
        }
        return self.write(kinds.Issued(**(values | rest)), by=by)

    def read(self, slot: str, written: str, by: str = "asm", gauge: str | None = "", **rest: Any) -> Entry:
        """A reading as a person writes it, ``0.041 mm``, by default with the gauge that the check needs."""
        value, _, unit = written.partition(" ")
        step = self.plan.step_of.get(slot)
        if gauge == "":
            need = step.gauge.kind if step is not None and step.gauge is not None else ""
            gauge = next((gauge.id for gauge in self.gauges.gauges if gauge.kind == need), None)
        found = rest.pop("as_found", False)
        body = kinds.Read(written=written, value=value, unit=unit or None, gauge=gauge, as_found=found)
        return self.write(body, slot, by, **rest)

    def fill(self, slot: Slot, by: str = "asm", number: int = 0) -> Entry | None:
        """What a good unit has in this slot; ``number`` varies the readings."""
        step = self.plan.step_of.get(slot.id)
        if slot.kind is SlotKind.READING:
            assert step is not None
            return self.read(slot.id, good_reading(step, number), by)
        if slot.kind is SlotKind.PART:
            assert step is not None
            trace = "serial" if step.trace == "serial" else "lot"
            return self.write(kinds.Fitted(trace=trace, value=f"{trace.upper()}-{number}"), slot.id, by)
        if slot.kind is SlotKind.WORKED:
            return None
        return self.write(_BODIES[slot.kind](), slot.id, by)

    def work(self, *operations: str, without: tuple[str, ...] = ()) -> Book:
        """Do these operations well, apart from the slots named."""
        for operation in self.plan.operations:
            if operation.number not in operations:
                continue
            by = _BY[phase_of(operation.number)]
            for number, slot in enumerate(operation.slots()):
                if slot.id not in without:
                    self.fill(slot, slot.role if slot.role in ("insp",) else _writer(slot, by), number)
        return self

    def built(self, without: tuple[str, ...] = ()) -> Book:
        """Issued, built and inspected."""
        self.issue()
        return self.work(
            *(operation.number for operation in self.plan.operations if operation.number != "C"),
            without=without,
        )

    def release(self, by: str = "qual") -> Entry:
        return self.write(kinds.Released(head=self.entries[-1].hash, count=len(self.entries)), by=by)

    def released(self) -> Book:
        self.built().release()
        return self

    def crated(self) -> Book:
        self.released().work("C")
        self.write(kinds.Crated(), by="pack")
        return self

    def case(self) -> Case:
        return Case(
            self.unit, self.plan, tuple(self.entries), gauges=self.gauges, people=self.people,
            settings=self.settings, now=self.now, facts=self.facts,
        )  # fmt: skip

    def verdict(self) -> Verdict:
        return judge_case(self.case())

    def found(self, *codes: str) -> list[Finding]:
        """The findings with these codes."""
        return [finding for finding in self.verdict().findings if finding.code in codes]

    def codes(self) -> set[str]:
        return {finding.code for finding in self.verdict().findings}


_BODIES: dict[SlotKind, Callable[[], Any]] = {
    SlotKind.TICK: kinds.Ticked,
    SlotKind.CONFIRM: kinds.Confirmed,
    SlotKind.WITNESS: kinds.Witnessed,
    SlotKind.SIGN: kinds.Signed,
    SlotKind.PHOTO: kinds.Photographed,
    SlotKind.PACKED: kinds.Packed,
    SlotKind.COUNT: lambda: kinds.Counted(good=20),
}
_BY = {Phase.BUILD: "asm", Phase.FINAL: "insp", Phase.CRATING: "pack"}


def _writer(slot: Slot, by: str) -> str:
    return {"inspector": "insp", "quality": "qual", "packer": "pack"}.get(slot.role or "", by)


def good_reading(step: Step, number: int) -> str:
    """A reading well inside the limits of the step, not the same for two numbers in a row."""
    assert step.limits is not None
    limits = parse_limits(step.limits.text)
    place = Fraction(1, 10**limits.decimals)
    nudge = place * (number % 3 - 1)
    if limits.lower is not None and limits.upper is not None:
        value = (limits.lower + limits.upper) / 2 + nudge
    else:
        value = (limits.upper or Fraction(0)) * Fraction(2, 5) + nudge
    rounded = Fraction(round(value * 10**limits.decimals), 10**limits.decimals)
    return f"{exact_text(rounded, limits.decimals)} {limits.unit}"


@pytest.fixture
def book() -> Book:
    """An empty book of a winder with four spindles."""
    return Book(winder())


@pytest.fixture
def book_of() -> Callable[..., Book]:
    """A function that gives a book for a definition's text."""
    return lambda text, variant="1": Book(plan_of(text, variant))


@pytest.fixture
def winder_of() -> Callable[[str], Plan]:
    """A function that gives the plan of a variant of the winder."""
    return winder
