"""What each sheet of one small unit says, page by page, word for word.

The texts are in ``tests/golden``; ``pytest tests/sheets/test_golden.py --refresh-golden`` writes them again.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from functools import partial
from pathlib import Path

import pytest

from traveler.definition.expand import expand
from traveler.definition.load import load
from traveler.definition.model import definition_digest
from traveler.definition.plan import Plan, Slot, SlotKind, Step
from traveler.record.entry import (
    Adjusted,
    Body,
    Confirmed,
    Entry,
    Fitted,
    Issued,
    Packed,
    Photographed,
    Read,
    Released,
    Signed,
    Struck,
    Ticked,
    Witnessed,
)
from traveler.sheets.arrival_check import arrival_check_pdf
from traveler.sheets.certificate import certificate_pdf
from traveler.sheets.crate_papers import crate_label_pdf, packing_list_pdf, unit_label_pdf
from traveler.sheets.record import record_pdf
from traveler.sheets.sheet import Sheet, UnitHeader
from traveler.sheets.traveler import operations_pdf, traveler_pdf
from traveler.shop.gauges import Calibration, Gauge, GaugeRegister
from traveler.shop.people import People, Person, RoleHeld
from traveler.shop.settings import Settings
from traveler.verdict.case import Case, OutsideFacts
from traveler.verdict.judge import judge_case

crating_pdf = partial(operations_pdf, numbers=("C",))
final_checklist_pdf = partial(operations_pdf, numbers=("Q",))

WORLD = Path(__file__).resolve().parents[1] / "world"
SERIAL = "ST2-2648-0001C"
START = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
PRINTED = START + timedelta(days=1)
SHOP = Settings(name="Marrowby Machine Works", time_zone="Europe/London")
UNIT = UnitHeader(SERIAL, order="4471", due="2026-12-04", issued="2026-11-25", customer="Aldermoor Weavers")
PEOPLE = People(
    people=tuple(
        Person(id=text, name=name, roles=(RoleHeld(role=role, since=date(2020, 1, 1)),))
        for text, name, role in (
            ("tkiln", "Tess Kiln", "assembler"), ("iwren", "Ira Wren", "inspector"),
            ("qmoor", "Quentin Moor", "quality"), ("pstrap", "Pia Strap", "packer"),
        )
    )
)  # fmt: skip
GAUGES = GaugeRegister(
    gauges=(
        Gauge(
            id="IND-03", kind="indicator", title="Dial indicator", interval_days=180, uncertainty="0.003 mm",
            calibrations=(Calibration(on=date(2026, 8, 1)),),
        ),
        Gauge(
            id="SCA-01", kind="crate-scale", title="Platform scale", interval_days=365, uncertainty="0.02 kg",
            calibrations=(Calibration(on=date(2026, 8, 1)),),
        ),
    )
)  # fmt: skip
WHO = {"Q": "iwren", "C": "pstrap"}


@pytest.fixture(scope="module")
def plan() -> Plan:
    file = WORLD / "product_defs" / "step-stool.yaml"
    definition = load(file.read_text(encoding="utf-8"), file.name, lambda _: True).definition
    assert definition is not None
    return expand(definition, "2", definition_digest(definition))


def body(slot: Slot, step: Step | None) -> Body:
    """What the floor writes into a slot."""
    bodies: dict[SlotKind, Body] = {
        SlotKind.PART: Fitted(trace="lot", value="L-2648/7"), SlotKind.CONFIRM: Confirmed(),
        SlotKind.WITNESS: Witnessed(), SlotKind.SIGN: Signed(), SlotKind.PACKED: Packed(),
        SlotKind.PHOTO: Photographed(name="carton.jpg", file="ab" * 32),
    }  # fmt: skip
    if slot.kind is not SlotKind.READING or step is None or step.limits is None:
        return bodies.get(slot.kind, Ticked())
    value, gauge = ("0.041", "IND-03") if step.limits.unit == "mm" else (step.limits.nominal, "SCA-01")
    return Read(written=str(value), value=str(value), unit=step.limits.unit, gauge=gauge)


@pytest.fixture(scope="module")
def entries(plan: Plan) -> list[Entry]:
    """A whole life up to the release: one reading adjusted, one struck out, one entry late."""
    made: list[Entry] = []

    def write(body: Body, slot: str | None, by: str, late: int = 0) -> int:
        at = START + timedelta(minutes=2 * len(made))
        made.append(
            Entry(
                unit=SERIAL, at=at, by=by, slot=slot, body=body, seq=len(made) + 1,
                recorded=at + timedelta(days=late), previous="0" * 64, hash=f"{len(made) + 1:064x}",
            )
        )  # fmt: skip
        return len(made)

    write(
        Issued(product=plan.product, revision="A", variant="2", digest=plan.digest, order="4471"),
        None,
        "tkiln",
    )
    for operation in plan.operations:
        who = WHO.get(operation.number, "tkiln")
        if operation.number == "C":
            write(Released(head=made[-1].hash, count=len(made)), None, "qmoor")
        for slot in operation.slots():
            step = plan.step_of.get(slot.id)
            what, by = body(slot, step), "iwren" if slot.kind is SlotKind.WITNESS else who
            if slot.id == "10-4/side=left" and isinstance(what, Read):
                found = what.model_copy(update={"written": "0.081", "value": "0.081", "as_found": True})
                write(found, slot.id, by)
                write(Adjusted(done="hinge screw", amount="1/4 turn clockwise"), slot.id, by)
            if slot.id == "10-4/side=right" and isinstance(what, Read):
                wrong = write(what.model_copy(update={"written": "0.41", "value": "0.41"}), slot.id, by)
                write(Struck(strikes=wrong, reason="Point left out."), slot.id, by)
            write(what, slot.id, by, late=2 if slot.id == "10-6" else 0)
    return made


@pytest.fixture(scope="module")
def sheets(plan: Plan, entries: list[Entry]) -> dict[str, Callable[[], Sheet]]:
    judged = judge_case(Case(
        SERIAL,
        plan,
        tuple(entries),
        gauges=GAUGES,
        people=PEOPLE,
        settings=SHOP,
        now=PRINTED,
        facts=OutsideFacts(),
    ))  # fmt: skip
    plain, recorded = (plan, UNIT, SHOP, PRINTED), (plan, UNIT, judged, entries, SHOP, PRINTED)
    return {
        "traveler": partial(traveler_pdf, *plain),
        "traveler.es": partial(traveler_pdf, *plain, language="es"),
        "final-checklist": partial(final_checklist_pdf, *plain),
        "crating-sheet": partial(crating_pdf, *plain),
        "packing-list": partial(packing_list_pdf, *plain),
        "certificate": partial(certificate_pdf, *recorded, people=PEOPLE, gauges=GAUGES),
        "arrival-check": partial(arrival_check_pdf, *recorded),
        "record": partial(record_pdf, *recorded, people=PEOPLE),
        "unit-label": partial(unit_label_pdf, *plain),
        "crate-label": partial(crate_label_pdf, *plain),
    }


NAMES = (
    *("traveler", "traveler.es", "final-checklist", "crating-sheet", "packing-list", "certificate"),
    *("arrival-check", "record", "unit-label", "crate-label"),
)


@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_says_what_it_said(name, sheets, reader, golden):
    sheet = sheets[name]()
    assert sheet.printed, sheet.findings
    pages = []
    for number, text in enumerate(reader(sheet.pdf).texts(), start=1):
        lines = (" ".join(line.split()) for line in text.splitlines())
        pages.append("\n".join((f"== page {number}", *(line for line in lines if line))))
    golden(f"{name}.txt", "\n".join(pages) + "\n")
