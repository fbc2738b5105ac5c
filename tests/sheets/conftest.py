"""Plans for sheets, printed once, and what a reader of the PDF sees: text, boxes, pixels."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache, partial
from io import BytesIO
from itertools import product
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from traveler.definition.expand import expand
from traveler.definition.load import load
from traveler.definition.model import definition_digest
from traveler.definition.plan import Axis, Operation, Plan, PlanLimits, Slot, SlotKind, Step, StepKind
from traveler.record.entry import (
    Body,
    Confirmed,
    Entry,
    Fitted,
    Packed,
    Read,
    Released,
    Signed,
    Ticked,
    Witnessed,
)
from traveler.sheets.arrival_check import arrival_check_pdf
from traveler.sheets.certificate import certificate_pdf
from traveler.sheets.crate_papers import crate_label_pdf, packing_list_pdf, unit_label_pdf
from traveler.sheets.pdf.paper import EDGE, FOOT, HEAD, MARGIN, PAPERS, POINTS_PER_MM
from traveler.sheets.record import record_pdf
from traveler.sheets.sheet import Sheet, UnitHeader
from traveler.sheets.traveler import operations_pdf, traveler_pdf
from traveler.shop.gauges import Calibration, Gauge, GaugeRegister
from traveler.shop.people import People, Person
from traveler.shop.settings import Settings
from traveler.verdict.judge import SlotVerdict, Verdict
from traveler.verdict.state import SlotState, UnitState

crating_pdf = partial(operations_pdf, numbers=("C",))
final_checklist_pdf = partial(operations_pdf, numbers=("Q",))

ROOT = Path(__file__).resolve().parents[2]
SERIAL = "BW8-2648-0012T"
PRINTED = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
DRAWING = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 160 90" width="160" height="90">'
    b'<rect x="4" y="30" width="152" height="40" fill="none" stroke="#000" stroke-width="2"/></svg>'
)
KINDS = {
    StepKind.DO: SlotKind.TICK, StepKind.FIT: SlotKind.PART, StepKind.MEASURE: SlotKind.READING,
    StepKind.WORK_OUT: SlotKind.WORKED, StepKind.CONFIRM: SlotKind.CONFIRM, StepKind.PHOTO: SlotKind.PHOTO,
    StepKind.WITNESS: SlotKind.WITNESS, StepKind.COUNT: SlotKind.COUNT,
}  # fmt: skip


def make_step(
    operation: str,
    number: int,
    kind: StepKind,
    text: str,
    *,
    at: dict[str, int] | None = None,
    **more: object,
) -> Step:
    """A step with its slots at all combinations of positions ``at`` (name → count)."""
    axes = tuple(
        Axis(name=name, values=tuple(map(str, range(1, count + 1)))) for name, count in (at or {}).items()
    )
    name = f"{operation}-{number}"
    slots = []
    for values in product(*(axis.values for axis in axes)):
        where = tuple((axis.name, value) for axis, value in zip(axes, values, strict=True))
        place = "/" + ",".join(f"{key}={value}" for key, value in where) if where else ""
        slots.append(Slot(id=name + place, kind=KINDS[kind], label=text, position=where))
    return Step(id=name, number=number, kind=kind, text=text, axes=axes, slots=tuple(slots), **more)  # type: ignore[arg-type]


def make_plan(*operations: tuple[Step, ...], title: str = "Test stand", **more: object) -> Plan:
    """A plan of these operations, numbered 10, 20 …, each closed by a signature."""
    made = []
    for number, steps in enumerate(operations, start=1):
        name = str(number * 10)
        sign = Slot(id=f"{name}/sign", kind=SlotKind.SIGN, label=f"Operation {name}", role="assembler")
        made.append(
            Operation(number=name, title=f"Work {name}", area="Cell", minutes=5, steps=steps, sign=sign)
        )
    return Plan(
        product="test-stand", title=title, revision="A", revised="2026-01-05", approved_by="rhale",
        digest="ab" * 32, variant="1", operations=tuple(made), **more,
    )  # type: ignore[arg-type]  # fmt: skip


LIMITS = PlanLimits(text="max 0.05 mm", unit="mm", upper="0.05", decimals=2)


@dataclass(frozen=True)
class Piece:
    """A character or a box on a page: page from 0, left, bottom, right, top in points."""

    page: int
    name: str
    left: float
    bottom: float
    right: float
    top: float
    size: float = 0.0

    def overlaps(self, other: Piece, slack: float = 0.3) -> bool:
        return (
            self.page == other.page
            and self.left < other.right - slack
            and other.left < self.right - slack
            and self.bottom < other.top - slack
            and other.bottom < self.top - slack
        )

    def covers(self, other: Piece) -> float:
        """How much of the smaller of the two lies inside the other, as a part of one."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.top, other.top) - max(self.bottom, other.bottom)
        smaller = min(piece.area for piece in (self, other))
        return max(wide, 0) * max(high, 0) / smaller if self.page == other.page and smaller else 0.0

    @property
    def area(self) -> float:
        return (self.right - self.left) * (self.top - self.bottom)


class Reader:
    """What can be read from a PDF without knowing how it was made."""

    def __init__(self, pdf: bytes) -> None:
        import pypdfium2

        self.content = pdf
        self.document = pypdfium2.PdfDocument(pdf)

    def texts(self) -> list[str]:
        return [page.get_textpage().get_text_range().replace("\r\n", "\n") for page in self.document]

    def text(self) -> str:
        return "\n".join(self.texts())

    def characters(self) -> Iterator[Piece]:
        import pypdfium2

        raw = pypdfium2.raw
        for number, page in enumerate(self.document):
            text = page.get_textpage()
            for place in range(text.count_chars()):
                sign = chr(raw.FPDFText_GetUnicode(text.raw, place))
                if sign.strip():
                    # the page is set in CSS pixels of 0.75 points
                    size = raw.FPDFText_GetFontSize(text.raw, place) * 0.75
                    yield Piece(number, sign, *text.get_charbox(place), size)

    def boxes(self) -> list[Piece]:
        found = []
        with pikepdf.open(BytesIO(self.content)) as pdf:
            for number, page in enumerate(pdf.pages):
                for annot in page.get("/Annots", ()):
                    name = annot.get("/T") or annot.Parent.T
                    found.append(Piece(number, str(name), *(float(part) for part in annot.Rect)))
        return found

    def pixels(self, page: int, dpi: int = 150) -> np.ndarray:
        bitmap = self.document[page].render(scale=dpi / 72, grayscale=True, may_draw_forms=False)
        return np.ascontiguousarray(bitmap.to_numpy())

    def __len__(self) -> int:
        return len(self.document)


def assert_pages_are_clean(reader, size: str) -> None:
    paper = PAPERS[size]
    code = paper.qr()
    characters, boxes = list(reader.characters()), reader.boxes()
    for character in characters:
        assert character.left / POINTS_PER_MM >= MARGIN - 0.5, character
        assert character.right / POINTS_PER_MM <= paper.width - MARGIN + 0.5, character
        assert character.bottom / POINTS_PER_MM >= EDGE - 1, character
        high = paper.height - character.top / POINTS_PER_MM
        assert high > code.top + code.side or character.right / POINTS_PER_MM < code.left - 2, character
    by_page: dict[int, list] = {}
    for box in boxes:
        by_page.setdefault(box.page, []).append(box)
        assert paper.height - box.top / POINTS_PER_MM >= HEAD - 0.1, box
        assert box.bottom / POINTS_PER_MM >= FOOT - 0.1, box
        assert box.right / POINTS_PER_MM <= paper.width - MARGIN + 0.1, box
    for character in characters:
        for box in by_page.get(character.page, ()):
            assert not character.overlaps(box), (character, box)
    assert_no_text_on_text(characters)
    for page in by_page.values():
        for place, box in enumerate(page):
            assert not any(box.overlaps(other) for other in page[place + 1 :]), box


def assert_no_text_on_text(characters: list[Piece]) -> None:
    """No character covers half of another one; kerning and accents cover less."""
    near: dict[tuple[int, int, int], list[Piece]] = {}
    for character in characters:
        spots = [
            (character.page, column, row)
            for column in range(int(character.left // 12), int(character.right // 12) + 1)
            for row in range(int(character.bottom // 12), int(character.top // 12) + 1)
        ]
        for other in {id(piece): piece for spot in spots for piece in near.get(spot, ())}.values():
            assert character.covers(other) < 0.5, (character, other)
        for spot in spots:
            near.setdefault(spot, []).append(character)


@pytest.fixture(scope="session")
def clean_pages() -> Callable[[Reader, str], None]:
    return assert_pages_are_clean


@pytest.fixture(scope="session")
def step() -> Callable[..., Step]:
    return make_step


@pytest.fixture(scope="session")
def plan_of() -> Callable[..., Plan]:
    return make_plan


@pytest.fixture(scope="session")
def reader() -> type[Reader]:
    return Reader


@pytest.fixture(scope="session")
def settings() -> Settings:
    return Settings(name="Marrowby Machine Works", time_zone="Europe/London")


@pytest.fixture(scope="session")
def shop_settings(settings: Settings) -> Settings:
    """The same under a name that does not hide hypothesis' own."""
    return settings


@pytest.fixture(scope="session")
def unit() -> UnitHeader:
    return UnitHeader(serial=SERIAL, order="4471", due="2026-12-04", issued="2026-11-25")


@pytest.fixture(scope="session")
def printed() -> datetime:
    return PRINTED


def picture(name: str) -> bytes | None:
    return DRAWING if name.endswith(".svg") and not name.startswith("bobbin-winder.") else None


@pytest.fixture(scope="session")
def pictures() -> Callable[[str], bytes | None]:
    return picture


def winder_in(language: str = "en", variant: str = "8") -> Plan:
    text = (ROOT / "product_defs" / "bobbin-winder.yaml").read_text(encoding="utf-8")
    loaded = load(text, "bobbin-winder.yaml", lambda _: True)
    assert loaded.definition is not None, loaded.findings
    return expand(
        loaded.definition, variant, definition_digest(loaded.definition), language, options=("pedal",)
    )


@pytest.fixture(scope="session")
def winder() -> Plan:
    """The demo's bobbin winder with eight spindles."""
    return winder_in()


@pytest.fixture(scope="session")
def winder_sheet(winder: Plan, unit: UnitHeader, settings: Settings) -> Sheet:
    """The winder's traveler on A4."""
    return traveler_pdf(
        winder, unit, settings, PRINTED, acceptance={"guide-height": "41.87 to 42.13 mm"}, pictures=picture
    )


@pytest.fixture(scope="session")
def winder_reader(winder_sheet: Sheet) -> Reader:
    assert winder_sheet.printed, winder_sheet.findings
    return Reader(winder_sheet.pdf)


def fill(slot: Slot, step: Step | None) -> tuple[Body, SlotVerdict | None]:
    """A plausible entry for a slot, and what the verdict would say of it (its seq is added by the caller)."""
    if slot.kind is SlotKind.READING and step is not None and step.limits is not None:
        value = step.limits.nominal or step.limits.upper or step.limits.lower or "1"
        gauge = f"{step.gauge.kind.upper()[:3]}-03" if step.gauge else None
        body = Read(written=value, value=value, unit=step.limits.unit, gauge=gauge)
        return body, SlotVerdict(slot.id, SlotState.IN, value, step.limits.unit)
    bodies: dict[SlotKind, Body] = {
        SlotKind.PART: Fitted(trace="lot", value="L-2648-7"), SlotKind.CONFIRM: Confirmed(),
        SlotKind.WITNESS: Witnessed(), SlotKind.SIGN: Signed(), SlotKind.PACKED: Packed(),
    }  # fmt: skip
    return bodies.get(slot.kind, Ticked()), SlotVerdict(slot.id, SlotState.DONE)


@pytest.fixture(scope="session")
def record(winder: Plan) -> tuple[Verdict, tuple[Entry, ...]]:
    """A finished and released winder: every slot filled within its limits."""
    entries: list[Entry] = []
    slots: dict[str, SlotVerdict] = {}

    def add(body: Body, slot: str | None = None, by: str = "tkiln") -> int:
        seq = len(entries) + 1
        when = datetime(2026, 11, 26, 23, 30, tzinfo=UTC)
        entries.append(
            Entry(
                unit=SERIAL,
                at=when,
                by=by,
                slot=slot,
                body=body,
                seq=seq,
                recorded=when,
                previous="0" * 64,
                hash="a" * 64,
            )
        )
        return seq

    for slot in winder.slots():
        if slot.kind is SlotKind.WORKED:
            slots[slot.id] = SlotVerdict(slot.id, SlotState.IN, "0.008", "mm")
            continue
        body, judged = fill(slot, winder.step_of.get(slot.id))
        seq = add(body, slot.id)
        assert judged is not None
        slots[slot.id] = SlotVerdict(slot.id, judged.state, judged.value, judged.unit, seq, 1)
    add(Released(head="3c9d" * 16, count=len(entries)), by="rhale")
    return Verdict(SERIAL, UnitState.RELEASED, slots), tuple(entries)


@pytest.fixture(scope="session")
def render(
    winder: Plan,
    unit: UnitHeader,
    settings: Settings,
    record: tuple[Verdict, tuple[Entry, ...]],
    people: People,
    gauges: GaugeRegister,
) -> Callable[..., Sheet]:
    """Renders a sheet of the winder by its name, on one size of paper."""
    makers: dict[str, Callable[..., Sheet]] = {
        "traveler": traveler_pdf,
        "final-checklist": final_checklist_pdf,
        "crating-sheet": crating_pdf,
        "packing-list": packing_list_pdf,
        "unit-label": unit_label_pdf,
        "crate-label": crate_label_pdf,
        "certificate": partial(certificate_pdf, people=people, gauges=gauges),
        "arrival-check": arrival_check_pdf,
        "record": partial(record_pdf, people=people),
    }

    def make(name: str, size: str = "A4", **more: object) -> Sheet:
        shop = settings.model_copy(update={"page_size": size})
        recorded = record if name in RECORDED else ()
        shown = {"pictures": picture} if name in PICTURED else {}
        return makers[name](winder, unit, *recorded, shop, PRINTED, **shown, **more)

    return make


RECORDED = frozenset({"certificate", "arrival-check", "record"})
PICTURED = frozenset({"traveler", "final-checklist", "crating-sheet", "record"})


@pytest.fixture(scope="session")
def every_sheet(render: Callable[..., Sheet]) -> Callable[..., Reader]:
    """A sheet of the winder by its name and size of paper, rendered once for all tests."""

    @cache
    def make(name: str, size: str = "A4") -> Reader:
        sheet = render(name, size)
        assert sheet.printed, sheet.findings
        return Reader(sheet.pdf)

    return make


@pytest.fixture(scope="session")
def people() -> People:
    return People(people=(Person(id="rhale", name="Rosa Hale", roles=()),))


@pytest.fixture(scope="session")
def gauges() -> GaugeRegister:
    indicator = Gauge(
        id="IND-03", kind="indicator", title="Dial indicator", interval_days=180, uncertainty="0.003 mm",
        calibrations=(Calibration(on=date(2026, 8, 1)),),
    )  # fmt: skip
    return GaugeRegister(gauges=(indicator,))
