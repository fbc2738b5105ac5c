"""A plan with every kind of slot, and results written down as each kind of file."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pikepdf
import pytest

from traveler.definition.plan import (
    Axis,
    GaugeNeed,
    Operation,
    Plan,
    PlanLimits,
    Slot,
    SlotKind,
    Step,
    StepKind,
)
from traveler.record.entry import Entry
from traveler.record.readers.files import read_results
from traveler.record.readers.understand import Understood, UnitContext, understand_results

SERIAL = "BW4-2637-0001-K"
DIGEST = "d" * 64
NOW = datetime(2026, 9, 14, 15, 0, tzinfo=UTC)


def _step(
    number: str, at: int, kind: StepKind, slots: list[tuple[str, SlotKind]], text: str, **more: object
) -> Step:
    made = tuple(Slot(id=f"{number}-{at}{where}", kind=kind, label=f"{text}{where}") for where, kind in slots)
    return Step(id=f"{number}-{at}", number=at, kind=kind, text=text, slots=made, **more)


def _sign(number: str, role: str) -> Slot:
    return Slot(id=f"{number}/sign", kind=SlotKind.SIGN, label="Sign", role=role)


def plan() -> Plan:
    """Two spindles, one of everything else."""
    limits = PlanLimits(text="max 0.05 mm", unit="mm", upper="0.05", decimals=2)
    mass = PlanLimits(text="48.2 ± 0.4 kg", unit="kg", lower="47.8", upper="48.6", nominal="48.2", decimals=1)
    gauge = GaugeNeed(kind="indicator", title="Dial indicator")
    ends = [("/spindle=1,end=near", SlotKind.READING), ("/spindle=1,end=far", SlotKind.READING)]
    axes = (Axis(name="spindle", values=("1",)), Axis(name="end", values=("near", "far")))
    frame = (
        _step("10", 1, StepKind.DO, [("", SlotKind.TICK)], "=Bolt both end plates"),
        _step(
            "10", 2, StepKind.FIT, [("", SlotKind.PART)], "Drive motor", trace="serial", part_number="P-2007"
        ),
        _step("10", 3, StepKind.FIT, [("", SlotKind.PART)], "Bearings", trace="lot", part_number="P-3001"),
        _step(
            "10", 4, StepKind.MEASURE, ends, "Run-out", check="runout", limits=limits, gauge=gauge, axes=axes
        ),
        _step(
            "10", 5, StepKind.WORK_OUT, [("", SlotKind.WORKED)], "Difference", check="taper", limits=limits
        ),
        _step("10", 6, StepKind.CONFIRM, [("", SlotKind.CONFIRM)], "Guard edges deburred"),
        _step("10", 7, StepKind.WITNESS, [("", SlotKind.WITNESS)], "Guards fitted", role="inspector"),
        _step("10", 8, StepKind.COUNT, [("", SlotKind.COUNT)], "Pieces"),
    )
    crate = (
        _step("C", 1, StepKind.PHOTO, [("", SlotKind.PHOTO)], "Open crate"),
        _step("C", 2, StepKind.PACK, [("/item=1", SlotKind.PACKED)], "Packing list"),
        _step(
            "C", 3, StepKind.MEASURE, [("", SlotKind.READING)], "Gross mass", check="gross-mass", limits=mass
        ),
    )
    return Plan(
        product="bobbin-winder", title="Bench bobbin winder", revision="D", revised="2026-09-14",
        approved_by="rhale", digest=DIGEST, variant="4", variant_title="Four spindles",
        operations=(
            Operation(number="10", title="Frame", steps=frame, sign=_sign("10", "assembler")),
            Operation(number="C", title="Crating", steps=crate, sign=_sign("C", "packer")),
        ),
    )  # fmt: skip


def filled_pdf(boxes: Mapping[str, str], ticks: tuple[str, ...] = ()) -> bytes:
    """A PDF whose form fields hold these values."""
    pdf = pikepdf.new()
    pdf.add_blank_page()
    fields = []
    for name, value in boxes.items():
        if name in ticks:
            widget = pikepdf.Dictionary(FT=pikepdf.Name.Btn, T=name, V=pikepdf.Name("/" + value), Ff=0)
        else:
            widget = pikepdf.Dictionary(FT=pikepdf.Name.Tx, T=name, V=value)
        fields.append(pdf.make_indirect(widget))
    pdf.Root.AcroForm = pdf.make_indirect(pikepdf.Dictionary(Fields=pikepdf.Array(fields)))
    made = io.BytesIO()
    pdf.save(made)
    return made.getvalue()


@dataclass(frozen=True)
class Desk:
    """Where files are read: knows the plan, the unit, the clock."""

    plan: Plan
    serial: str = SERIAL
    digest: str = DIGEST
    now: datetime = NOW

    def csv(
        self, *rows: str, head: str | None = None, columns: str = "slot,value,unit,gauge,by,at,as_found,note"
    ) -> bytes:
        """A CSV with these rows."""
        top = f"# serial: {SERIAL}\n# revision: D\n# digest: {DIGEST}\n" if head is None else head
        return (top + "\n".join([columns, *rows]) + "\n").encode()

    def yaml(self, *lines: str) -> bytes:
        """A YAML with these lines under results."""
        return "\n".join([f"format: 1\nserial: {SERIAL}\nrevision: D\nresults:", *lines, ""]).encode()

    def pdf(self, boxes: Mapping[str, str], ticks: tuple[str, ...] = ()) -> bytes:
        """A filled sheet of the unit."""
        own = {"unit#serial": SERIAL, "unit#revision": "D", "unit#digest": DIGEST}
        return filled_pdf({**own, **boxes}, ticks)

    def read(
        self,
        content: bytes,
        file: str = "results.csv",
        already: tuple[Entry, ...] = (),
        by: str | None = "tkiln",
        zone: str = "Europe/Madrid",
    ) -> Understood:
        """What the file comes to."""
        setting = UnitContext(SERIAL, self.plan, already, NOW, ZoneInfo(zone), by)
        return understand_results(read_results(content, file), setting)

    def found(self, content: bytes, file: str = "results.csv", **more: object) -> list[tuple[str, str]]:
        """(code, place) of every finding; nothing may come of a file with a blocking one."""
        understood = self.read(content, file, **more)
        if any(finding.weight == "blocking" for finding in understood.findings):
            assert understood.drafts == ()
        assert all(finding.what for finding in understood.findings)
        return [(finding.code, str(finding.place)) for finding in understood.findings]


@pytest.fixture(scope="session")
def desk() -> Desk:
    """The desk with the plan of :func:`plan`."""
    return Desk(plan())
