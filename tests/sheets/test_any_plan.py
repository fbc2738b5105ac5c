"""Whatever a definition says and whatever was recorded, pages stay clean.

Nothing is cut off, nothing lies under a box or another text, no limit is on another page than its box.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import partial
from random import Random

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from traveler.definition.plan import (
    Adjustment,
    Caution,
    Crate,
    GaugeNeed,
    Operation,
    PackingItem,
    PartLine,
    Plan,
    PlanLimits,
    Slot,
    SlotKind,
    Step,
    StepKind,
)
from traveler.record.entry import (
    Body,
    Confirmed,
    Counted,
    Decided,
    Entry,
    Fitted,
    Noted,
    Packed,
    Photographed,
    Read,
    Released,
    Signed,
    Stopped,
    Struck,
    Ticked,
    Witnessed,
)
from traveler.sheets.arrival_check import arrival_check_pdf
from traveler.sheets.certificate import certificate_pdf
from traveler.sheets.crate_papers import packing_list_pdf
from traveler.sheets.record import record_pdf
from traveler.sheets.sheet import Sheet
from traveler.sheets.templates import templates
from traveler.sheets.traveler import operations_pdf, traveler_pdf
from traveler.sheets.words import spoken_limits, words
from traveler.shop.gauges import Calibration, Gauge, GaugeRegister
from traveler.shop.people import People, Person, RoleHeld
from traveler.verdict.case import Case, OutsideFacts
from traveler.verdict.judge import judge_case

crating_pdf = partial(operations_pdf, numbers=("C",))

WORDS = st.lists(
    st.sampled_from(["Turn", "the", "eccentric", "bush", "toward", "µm", "⌀25", "side,", "Ω."]), min_size=1
)
WORD = st.sampled_from(["Bore", "Spindle run-out (TIR)", "W" * 60, "Heightadjustmentscrewlocknuttorque"])
TEXT = st.one_of(WORD, WORDS.map(" ".join))
LIMITS = st.sampled_from(
    [
        PlanLimits(text="max 0.05 mm", unit="mm", upper="0.05", decimals=2),
        PlanLimits(text="24 N·m ± 1.5", unit="N·m", lower="22.5", upper="25.5", nominal="24", decimals=1),
        PlanLimits(text="-120.5 to 1200.25 mm/m", unit="mm/m", lower="-120.5", upper="1200.25", decimals=2),
    ]
)
FEW, MANY = 3, 9
"""Values of a position: three positions of nine make 729 boxes."""
ADJUST = st.one_of(st.none(), TEXT.map(lambda text: Adjustment(rule="text", text=text)))
CAUTIONS = st.lists(
    st.builds(Caution, signal=st.sampled_from(["DANGER", "WARNING", "CAUTION", "NOTICE"]), text=TEXT),
    max_size=2,
)
GAUGE = st.builds(GaugeNeed, kind=st.just("indicator"), title=TEXT, resolution=st.just("0.001 mm"))
PARTS = st.lists(st.builds(PartLine, number=st.just("P-1041"), title=TEXT), max_size=4)
NO_SHRINKING = (Phase.explicit, Phase.reuse, Phase.generate)  # each page takes half a second
PLAIN = st.sampled_from(
    [StepKind.DO, StepKind.CONFIRM, StepKind.PHOTO, StepKind.COUNT, StepKind.WITNESS, StepKind.FIT]
)
SMALLEST = 9.49
ONE_LINE = 12
"""Characters of a part number that stand on one line of a packing list."""
START = datetime(2026, 11, 24, 8, 0, tzinfo=UTC)


@st.composite
def steps(draw, make, number: str, values: int):
    made = []
    places = st.dictionaries(st.sampled_from(["head", "side", "row"]), st.integers(1, values), max_size=3)
    for place in range(1, draw(st.integers(1, 6)) + 1):
        common = {"note": draw(st.one_of(st.just(""), TEXT)), "cautions": tuple(draw(CAUTIONS))}
        if draw(st.booleans()):
            common |= {"limits": draw(LIMITS), "gauge": draw(GAUGE), "adjust": draw(ADJUST)}
            common |= {"check": f"check-{number}-{place}"}
            made.append(make(number, place, StepKind.MEASURE, draw(TEXT), at=draw(places), **common))
        else:
            made.append(make(number, place, draw(PLAIN), draw(TEXT), parts=tuple(draw(PARTS)), **common))
    return tuple(made)


@st.composite
def crating(draw):
    """Operation C with a packing list."""
    items = tuple(
        PackingItem(
            slot=f"C-1/item={number}", item=draw(TEXT), quantity=str(draw(st.integers(1, 4000))),
            mass=draw(st.sampled_from([None, "71.25 kg"])),
            number=draw(st.sampled_from([None, "P-1041", "N" * 30])),
        )
        for number in range(1, draw(st.integers(1, 40)) + 1)
    )  # fmt: skip
    slots = tuple(
        Slot(id=packing_item.slot, kind=SlotKind.PACKED, label=packing_item.item) for packing_item in items
    )
    step = Step(
        id="C-1", number=1, kind=StepKind.PACK, text=draw(TEXT), note=draw(TEXT), packing=items, slots=slots
    )
    sign = Slot(id="C/sign", kind=SlotKind.SIGN, label="C", role="packer")
    return Operation(number="C", title=draw(TEXT), steps=(step,), sign=sign)


@st.composite
def plans(draw, step, plan_of, values: int) -> Plan:
    operations = [
        draw(steps(step, str(10 * number), values)) for number in range(1, draw(st.integers(1, 3)) + 1)
    ]
    plan = plan_of(*operations, title=draw(TEXT), variant_title=draw(TEXT), mass="71 kg")
    checks = tuple(step.check for step in plan.steps() if step.check)
    return plan.model_copy(
        update={
            "operations": (*plan.operations, draw(crating())),
            "crate": Crate(title=draw(TEXT), inside="1200 × 800 × 760 mm", gross_mass="1093.06 kg"),
            "arrival_check": checks,
        }
    )


class Floor:
    """Fills a plan in as a floor might that makes every mistake there is."""

    people = ("tkiln", "qmoor", "inspector-with-a-very-long-id")
    gauges = ("IND-03", "IND-77", "INDICATOR-WITH-A-LONG-NUMBER-0001")

    def __init__(self, plan: Plan, unit: str, chance: Random) -> None:
        self.plan, self.unit, self.chance = plan, unit, chance
        self.entries: list[Entry] = []
        for operation in plan.operations:
            for step in operation.steps:
                self._step(step)
            if operation.sign is not None and chance.random() < 0.8:
                self._write(Signed(), operation.sign.id)
        self._write(Released(head="3c9d" * 16, count=len(self.entries)), None)

    def _write(self, body: Body, slot: str | None) -> int:
        seq = len(self.entries) + 1
        at = START + timedelta(minutes=seq)
        late = timedelta(days=self.chance.choice((0, 0, 0, 3)))
        self.entries.append(
            Entry(
                unit=self.unit, at=at, by=self.chance.choice(self.people), slot=slot, body=body, seq=seq,
                recorded=at + late, previous="0" * 64, hash=f"{seq:064x}",
            )
        )  # fmt: skip
        return seq

    def _text(self) -> str:
        kinds = ("Bore is oval.", "Read at the wrong spindle, twice. " * 40, "W" * 900, "漢字")
        return self.chance.choice(kinds)

    def _step(self, step: Step) -> None:
        for slot in step.slots:
            if self.chance.random() < 0.1:
                continue
            for body in self._bodies(slot, step):
                seq = self._write(body, slot.id)
                if self.chance.random() < 0.1:
                    self._write(Struck(strikes=seq, reason=self._text()), slot.id)
            if self.chance.random() < 0.05:
                stop = self._write(Stopped(what=self._text()), slot.id)
                if self.chance.random() < 0.5:
                    decision = Decided(stop=stop, decision="use_as_is", concession="CON-1", text=self._text())
                    self._write(decision, slot.id)
            if self.chance.random() < 0.05:
                self._write(Noted(text=self._text()), slot.id)

    def _bodies(self, slot: Slot, step: Step) -> Iterator[Body]:
        if slot.kind is SlotKind.READING:
            for number in range(self.chance.choice((1, 1, 1, 2, 5))):
                yield self._reading(step, number)
            return
        yield {
            SlotKind.PART: Fitted(trace="lot", value=self.chance.choice(("L-7", "L" * 300))),
            SlotKind.CONFIRM: Confirmed(yes=self.chance.random() < 0.9),
            SlotKind.WITNESS: Witnessed(),
            SlotKind.PACKED: Packed(),
            SlotKind.PHOTO: Photographed(name="photo.jpg", file="ab" * 32),
            SlotKind.COUNT: Counted(good=58, rework=1, scrap=1),
        }.get(slot.kind, Ticked())

    def _reading(self, step: Step, number: int) -> Read:
        written = self.chance.choice(
            ("0.041", "24.5", "-120.500001 mm/m", "12345678901234567890.123456789012345")
        )
        unit = step.limits.unit if step.limits else "mm"
        return Read(
            written=written, value=written.split()[0], unit=unit, gauge=self.chance.choice(self.gauges),
            as_found=number == 0 and step.adjust is not None,
        )  # fmt: skip


PEOPLE = People(
    people=tuple(
        Person(
            id=person,
            name=f"{person} of the long and winding road",
            roles=(RoleHeld(role=role, since=date(2020, 1, 1)),),
        )
        for person, role in zip(Floor.people, ("assembler", "quality", "inspector"), strict=True)
    )
)
GAUGES = GaugeRegister(
    gauges=tuple(
        Gauge(
            id=gauge, kind="indicator", title="Dial indicator of the better sort", interval_days=180,
            uncertainty="0.003 mm", calibrations=(Calibration(on=date(2026, 8, 1)),),
        )
        for gauge in Floor.gauges
    )
)  # fmt: skip


def prove_clean(sheet: Sheet, plan: Plan, size: str, language: str, reader, clean) -> list[str]:
    """The texts of the pages without spaces, after they were proved clean."""
    assert sheet.printed, sheet.findings
    read = reader(sheet.pdf)
    clean(read, size)
    assert min(character.size for character in read.characters()) >= SMALLEST
    texts = ["".join(text.split()) for text in read.texts()]
    for box in read.boxes():
        made = plan.step_of.get(box.name.removeprefix("sheet#arrival/"))
        if made is not None and made.limits is not None:
            limits = spoken_limits(made.limits.text, words(language[:2], templates()))
            assert "".join(limits.split()) in texts[box.page], box
    return texts


def said(plan: Plan) -> Iterator[str]:
    """Every text of the definition that the work needs."""
    for operation in plan.operations:
        for step in operation.steps:
            yield from (step.text, step.note, *(caution.text for caution in step.cautions))
            yield from (part.title for part in step.parts)
            # beside a number of several lines the lines of an item do not follow each other in the text
            yield from (item.item for item in step.packing if len(item.number or "") < ONE_LINE)
            if step.gauge:
                yield step.gauge.title
            if step.adjust:
                yield step.adjust.text


LANGUAGES = ("en", "es", "es+en")
TEXTS = frozenset({"title", "variant_title", "change", "area", "text", "note", "item"})
"""Keys of a plan that hold a text of its definition."""


def in_other_words(plan: Plan) -> Plan:
    """The plan as it might stand in another language: every text differs and is a little longer."""

    def other(value: object, key: str = "") -> object:
        if isinstance(value, dict):
            return {
                name: other(inner, name) for name, inner in value.items() if name != "limits" or inner
            } | ({"limits": value["limits"]} if "limits" in value else {})
        if isinstance(value, list | tuple):
            return [other(inner, key) for inner in value]
        return f"Otro: {value}" if key in TEXTS and value else value

    return Plan.model_validate(other(plan.model_dump()))


Render = Callable[..., Sheet]


def renders(plan: Plan, floor: Floor, shop, language: str) -> dict[str, Render]:
    """Name of a sheet → how it is rendered for a unit at a time."""
    judged = judge_case(Case(
        floor.unit, plan, tuple(floor.entries), gauges=GAUGES, people=PEOPLE, settings=shop,
        now=START + timedelta(days=9), facts=OutsideFacts(),
    ))  # fmt: skip
    texts = (plan, in_other_words(plan)) if "+" in language else ()
    recorded, more = (judged, floor.entries, shop), {"language": language, "texts": texts}
    return {
        "traveler": lambda unit, at: traveler_pdf(plan, unit, shop, at, **more),
        "checklist": lambda unit, at: operations_pdf(plan, unit, shop, at, ("10", "C"), **more),
        "crating": lambda unit, at: crating_pdf(plan, unit, shop, at, **more),
        "packing": lambda unit, at: packing_list_pdf(plan, unit, shop, at, **more),
        "record": lambda unit, at: record_pdf(plan, unit, *recorded, at, people=PEOPLE, **more),
        "arrival": lambda unit, at: arrival_check_pdf(plan, unit, *recorded, at, **more),
        "certificate": lambda unit, at: certificate_pdf(
            plan, unit, *recorded, at, people=PEOPLE, gauges=GAUGES, **more
        ),
    }


def prove(data, names, step, plan_of, unit, shop, printed, reader, clean) -> None:
    plan = data.draw(plans(step, plan_of, MANY if names == ("traveler",) else FEW))
    face = replace(unit, serial="X" * data.draw(st.integers(3, 24)), order=data.draw(TEXT))
    size = data.draw(st.sampled_from(["A4", "Letter"]))
    language = data.draw(st.sampled_from(LANGUAGES))
    floor = Floor(plan, face.serial, data.draw(st.randoms(use_true_random=False)))
    made = renders(plan, floor, shop.model_copy(update={"page_size": size}), language)
    for name in names:
        texts = prove_clean(made[name](face, printed), plan, size, language, reader, clean)
        if name in {"traveler", "record"}:
            whole = "".join(texts)
            lacking = [value for value in said(plan) if "".join(value.split()) not in whole]
            assert not lacking, (name, lacking)


QUICK = settings(max_examples=2, deadline=None, phases=NO_SHRINKING, suppress_health_check=list(HealthCheck))
THOROUGH = settings(QUICK, max_examples=200)
SHEETS = ("traveler", "record", "certificate", "arrival", "packing", "checklist", "crating")
GROUPS = pytest.mark.parametrize(
    "names", [("traveler",), ("record",), ("certificate", "arrival", "packing", "checklist", "crating")],
    ids=lambda names: names[0],
)  # fmt: skip


@GROUPS
@QUICK
@given(data=st.data())
def test_any_plan_gives_clean_pages(
    data, names, step, plan_of, unit, shop_settings, printed, reader, clean_pages
):
    prove(data, names, step, plan_of, unit, shop_settings, printed, reader, clean_pages)


@pytest.mark.long
@pytest.mark.parametrize("name", SHEETS)
@THOROUGH
@given(data=st.data())
def test_three_hundred_plans_give_clean_pages(
    data, name, step, plan_of, unit, shop_settings, printed, reader, clean_pages
):
    prove(data, (name,), step, plan_of, unit, shop_settings, printed, reader, clean_pages)
