"""No text of ours reaches a sheet but through the catalogue, and none stays English on a Spanish one.

The texts of the plan are nonsense words that begin with Zz. In one language of the test's own making the
catalogue holds every message with its Latin letters written in Greek ones: a Latin word on a sheet that is no
nonsense is a text of ours that never went through the catalogue. In Spanish, a word that English messages
have and Spanish ones lack is a text that nobody translated.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from functools import cache, partial
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from traveler.definition.expand import expand
from traveler.definition.load import load
from traveler.definition.model import definition_digest
from traveler.definition.plan import Caution, Plan, SlotKind
from traveler.record.entry import (
    Adjusted,
    Body,
    Complained,
    Confirmed,
    Counted,
    Crated,
    Decided,
    Entry,
    Fitted,
    FollowedUp,
    Issued,
    Noted,
    Packed,
    Photographed,
    Placed,
    Read,
    Released,
    Reprinted,
    Shipped,
    Signed,
    Stopped,
    Struck,
    Ticked,
    Witnessed,
)
from traveler.sheets.arrival_check import arrival_check_pdf
from traveler.sheets.certificate import certificate_pdf
from traveler.sheets.crate_papers import crate_label_pdf, mark_words, packing_list_pdf, unit_label_pdf
from traveler.sheets.record import record_pdf
from traveler.sheets.sheet import Sheet, UnitHeader
from traveler.sheets.templates import Templates, shipped_folder, templates
from traveler.sheets.traveler import operations_pdf, traveler_pdf
from traveler.sheets.words import LIMIT_WORD, words
from traveler.shop.gauges import Calibration, Gauge, GaugeRegister
from traveler.shop.people import People, Person
from traveler.shop.settings import Settings
from traveler.verdict.judge import SlotVerdict, Verdict
from traveler.verdict.state import SlotState, UnitState

crating_pdf = partial(operations_pdf, numbers=("C",))
final_checklist_pdf = partial(operations_pdf, numbers=("Q",))

ROOT = Path(__file__).resolve().parents[2]
NOW = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
SERIAL = "ZZ8-2648-0012T"
GREEK = str.maketrans("abcdefghijklmnopqrstuvwxyz", "αβγδεφηθιξκλμνοπρςστυωψχζζ") | str.maketrans(
    "ABCDEFGHIJKLMNOPQRSTUVWXYZ", "ΑΒΓΔΕΦΗΘΙΞΚΛΜΝΟΠΡΣΣΤΥΩΨΧΖΘ"
)
GAP = re.compile(r"(\{\w+\})")
WORD = re.compile(r"[A-Za-zÀ-ɏ]{2,}")
SYMBOLS = frozenset({"mm", "kg", "SHA", "UTC", "jpg"})
"""Names that are the same in every language; further units are those of the plan's limits."""
MARKED = frozenset({"title", "variant_title", "change", "area", "text", "note", "item", "label", "raises"})
"""Keys of a plan that hold a text of the definition."""
SHEETS: Mapping[str, Callable[..., Sheet]] = {
    "traveler": traveler_pdf, "final checklist": final_checklist_pdf, "crating sheet": crating_pdf,
    "packing list": packing_list_pdf, "unit label": unit_label_pdf, "crate label": crate_label_pdf,
    "certificate": certificate_pdf, "arrival check": arrival_check_pdf, "record": record_pdf,
}  # fmt: skip
RECORDED = frozenset({"certificate", "arrival check", "record"})
PRODUCTS = ("bobbin-winder", "potters-wheel", "end-plate")


def in_greek_letters(text: str) -> str:
    return "".join(part if GAP.fullmatch(part) else part.translate(GREEK) for part in GAP.split(text))


@pytest.fixture(scope="module")
def shelves(tmp_path_factory) -> Templates:
    """The shipped templates with one more language, ``el``: every message in Greek letters."""
    from babel.messages.catalog import Catalog
    from babel.messages.pofile import read_po, write_po

    folder = tmp_path_factory.mktemp("greek")
    path = folder / "locale" / "el" / "LC_MESSAGES" / "sheets.po"
    path.parent.mkdir(parents=True)
    with (shipped_folder() / "locale" / "en" / "LC_MESSAGES" / "sheets.po").open("rb") as file:
        english = read_po(file, locale="en")
    greek = Catalog(locale="el")
    for message in english:
        if message.id:
            greek.add(message.id, in_greek_letters(str(message.id)))
    with path.open("wb") as file:
        write_po(file, greek)
    return Templates((folder, shipped_folder()))


def marked(plan: Plan) -> Plan:
    """The plan with nonsense for every text of its definition; names of positions and variables stay."""
    count = 0

    def mark(value: Any, key: str = "") -> Any:
        nonlocal count
        if key == "limits":
            return value
        if isinstance(value, dict):
            return {name: mark(inner, name) for name, inner in value.items()}
        if isinstance(value, list | tuple):
            return [mark(inner, key) for inner in value]
        if isinstance(value, str) and value and (key in MARKED or key == "options"):
            count += 1
            return f"Zz{'abcdefghij'[count % 10]}k Zzom"
        return value

    return Plan.model_validate(mark(plan.model_dump()))


def plan_of(product: str) -> Plan:
    text = (ROOT / "product_defs" / f"{product}.yaml").read_text(encoding="utf-8")
    loaded = load(text, f"{product}.yaml", lambda _: True)
    assert loaded.definition is not None, loaded.findings
    variant = min(loaded.definition.variants)
    return expand(
        loaded.definition, variant, definition_digest(loaded.definition),
        options=tuple(loaded.definition.options), quantity=30 if loaded.definition.track == "lot" else None,
    )  # fmt: skip


def bodies(plan: Plan) -> Iterator[tuple[Body, str | None]]:
    """An entry in every slot, and every kind of entry about the unit."""
    yield Issued(product="zz", revision="A", variant="8", digest="ab" * 32), None
    for slot in plan.slots():
        step = plan.step_of.get(slot.id)
        if slot.kind is SlotKind.READING and step is not None and step.limits is not None:
            value = step.limits.nominal or step.limits.upper or step.limits.lower or "1"
            for early in (True, False):
                yield Read(
                    written=value, value=value, unit=step.limits.unit, gauge="ZZ-03", as_found=early
                ), slot.id  # fmt: skip
                if early and step.adjust is not None:
                    yield Adjusted(done="Zzo", amount="1", advised="Zza", followed=True), slot.id
                    yield Adjusted(done="Zzo", followed=False), slot.id
        elif slot.kind is not SlotKind.WORKED:
            yield {
                SlotKind.PART: Fitted(trace="lot", value="ZZ-7"), SlotKind.CONFIRM: Confirmed(),
                SlotKind.WITNESS: Witnessed(), SlotKind.SIGN: Signed(), SlotKind.PACKED: Packed(),
                SlotKind.PHOTO: Photographed(name="zz.jpg", file="ab" * 32),
                SlotKind.COUNT: Counted(good=28, rework=1, scrap=1),
            }.get(slot.kind, Ticked()), slot.id  # fmt: skip
    confirmed = next((slot.id for slot in plan.slots() if slot.kind is SlotKind.CONFIRM), None)
    yield Confirmed(yes=False), confirmed
    yield Noted(text="Zzu."), None
    for decision in ("rework", "repair", "use_as_is", "scrap", "return_to_supplier", "no_fault"):
        yield Stopped(what="Zza."), None
        yield Decided(stop=0, decision=decision, concession="ZZ-1", text="Zzi."), None
    yield Released(head="ab" * 32, count=9), None
    yield Reprinted(sheet="traveler", copy_number=2), None
    yield Crated(gross_mass="88.8 kg"), None
    yield Placed(place="Zzo"), None
    yield Shipped(customer="Zza", carrier="Zzi", reference="ZZ"), None
    yield Complained(text="Zze.", check=None, reading="1 mm"), None
    yield FollowedUp(case=1, step="closed", text="Zzu."), None


def record_of(plan: Plan) -> tuple[Verdict, tuple[Entry, ...]]:
    """A full life: everything written, one reading out and conceded, one doubtful, one struck, one late."""
    entries: list[Entry] = []
    slots: dict[str, SlotVerdict] = {}

    def write(body: Body, slot: str | None, late: int = 0) -> None:
        at = NOW + timedelta(minutes=len(entries))
        entries.append(
            Entry(
                unit=SERIAL, at=at, by="zzid", slot=slot, body=body, seq=len(entries) + 1,
                recorded=at + timedelta(days=late), previous="0" * 64, hash="a" * 64,
            )
        )  # fmt: skip

    for number, (body, slot) in enumerate(bodies(plan)):
        stopped = {"stop": len(entries)} if isinstance(body, Decided) else {}
        write(body.model_copy(update=stopped), slot, late=9 if number in (3, 4) else 0)
    struck = next(entry for entry in entries if isinstance(entry.body, Read | Counted))
    write(Struck(strikes=struck.seq, reason="Zzo."), struck.slot)
    states = iter((SlotState.OUT, SlotState.DOUBTFUL))
    for slot in plan.slots():
        there = [entry for entry in entries if entry.slot == slot.id]
        body = there[-1].body if there else None
        state = SlotState.DONE
        if isinstance(body, Read) or slot.kind is SlotKind.WORKED:
            state = next(states, SlotState.IN)
        value = body.value if isinstance(body, Read) else "0.1" if slot.kind is SlotKind.WORKED else None
        seq = there[-1].seq if there else None
        slots[slot.id] = SlotVerdict(slot.id, state, value, "mm" if value else None, seq, 1)
    return Verdict(SERIAL, UnitState.SHIPPED, slots), tuple(entries)


PEOPLE = People(people=(Person(id="zzid", name="Zzora Zzale", roles=()),))
GAUGES = GaugeRegister(
    gauges=(
        Gauge(
            id="ZZ-03", kind="indicator", title="Zzial", interval_days=180, uncertainty="0.003 mm",
            calibrations=(Calibration(on=NOW.date() - timedelta(days=9)),),
        ),
    )
)  # fmt: skip


@pytest.fixture(scope="module")
def printed(shelves) -> Callable[..., tuple[Plan, Sheet]]:
    """A sheet of a product in a language; as a second copy, with an order, a customer and a quantity."""
    settings = Settings(name="Zzop", time_zone="UTC")
    face = UnitHeader(SERIAL, "ZZ-9", "2026-12-04", "2026-11-25", "Zza & Zzo", 30)

    @cache
    def make(product: str, name: str, language: str = "el") -> tuple[Plan, Sheet]:
        plan = plan_of(product)
        plan = plan.model_copy(update={"marks": tuple(MARKS), "operations": _with_every_caution(plan)})
        more: dict[str, Any] = {"language": language, "texts": (marked(plan),), "templates": shelves}
        recorded = record_of(plan) if name in RECORDED else ()
        if name in {"certificate", "record"}:
            more["people"] = PEOPLE
        if name == "certificate":
            more["gauges"] = GAUGES
        if name in {"traveler", "record"}:
            more["acceptance"] = {step.check: "1 to 2 mm" for step in plan.steps() if step.check}
        if name in {"traveler", "packing list", "certificate"}:
            more |= {"copy_number": 2}
        return plan, SHEETS[name](plan, face, *recorded, settings, NOW, **more)

    return make


MARKS = (
    "this-way-up", "fragile", "keep-dry", "centre-of-gravity", "no-hand-hooks", "keep-from-sunlight",
    "do-not-roll", "clamp-here", "stacking-limit-mass", "do-not-stack", "sling-here", "temperature-limits",
)  # fmt: skip


def _with_every_caution(plan: Plan) -> tuple[Any, ...]:
    """The operations, the first with a caution of each signal word."""
    first, *rest = plan.operations
    cautions = tuple(Caution(signal=word, text="Zzu.") for word in ("DANGER", "WARNING", "CAUTION", "NOTICE"))
    return (first.model_copy(update={"cautions": cautions}), *rest)


def has(plan: Plan, name: str) -> bool:
    """Whether the product has such a sheet."""
    numbers = {operation.number for operation in plan.operations}
    return {"final checklist": "Q" in numbers, "crating sheet": "C" in numbers}.get(name, True)


def all_texts(sheet: Sheet, reader: Any) -> Iterator[str]:
    """What can be read: on the pages, in tooltips, bookmarks, alternative texts, the title."""
    yield from reader(sheet.pdf).texts()
    with pikepdf.open(BytesIO(sheet.pdf)) as pdf:
        yield str(pdf.docinfo["/Title"])
        with pdf.open_outline() as outline:
            yield from _titles(outline.root)
        form = pdf.Root.get("/AcroForm")
        if form is not None:
            yield from (str(field.TU) for field in form.Fields)
        for item in pdf.objects:
            if isinstance(item, pikepdf.Dictionary) and "/Alt" in item:
                yield str(item.Alt)


def _titles(items: Iterable[Any]) -> Iterator[str]:
    for item in items:
        yield item.title
        yield from _titles(item.children)


def allowed(plan: Plan) -> frozenset[str]:
    """Latin words that are no text: units, names of positions, values and variables, numbers of parts."""
    theirs = [plan.product, plan.revision, plan.variant, SERIAL, *plan.variables]
    for step in plan.steps():
        theirs += [step.picture or "", step.part_number or "", *(part.number for part in step.parts)]
        theirs += [item.number or "" for item in step.packing]
        theirs += [LIMIT_WORD.sub("", step.limits.text)] if step.limits else []
        theirs += [str(step.gauge.resolution)] if step.gauge else []
        theirs += [name for axis in step.axes for name in (axis.name, *axis.values) if axis.name != "piece"]
    return SYMBOLS | {word for text in theirs for word in WORD.findall(text)}


def ours_in_latin(plan: Plan, sheet: Sheet, reader: Any) -> set[str]:
    known = allowed(plan)
    found = {word for text in all_texts(sheet, reader) for word in WORD.findall(text)}
    return {word for word in found if not word.lower().startswith("zz") and not _known(word, known)}


def _known(word: str, known: frozenset[str]) -> bool:
    """Whether a word is not text; digests are cut up into letters and digits."""
    return word in known or re.fullmatch(r"[a-f]+", word) is not None


@pytest.mark.parametrize(
    "product", ["bobbin-winder", "end-plate", pytest.param("potters-wheel", marks=pytest.mark.long)]
)
@pytest.mark.parametrize("name", SHEETS)
def test_no_text_of_ours_bypasses_the_catalogue(product, name, printed, reader):
    if not has(plan_of(product), name):
        assert (product, name) in {("end-plate", "final checklist"), ("end-plate", "crating sheet")}
        return
    plan, sheet = printed(product, name)
    assert sheet.printed, sheet.findings
    assert ours_in_latin(plan, sheet, reader) == set()


@pytest.fixture(scope="module")
def english_only() -> frozenset[str]:
    """Words of English messages that no Spanish message has."""
    spanish = words("es", templates()).catalog
    english, other = (
        {word.lower() for text in texts for word in WORD.findall(GAP.sub(" ", text)) if len(word) > 2}
        for texts in (spanish.keys(), spanish.values())
    )
    return frozenset(english - other)


@pytest.mark.parametrize("name", SHEETS)
def test_no_english_of_ours_is_left_on_a_spanish_sheet(name, printed, reader, english_only):
    plan, sheet = printed("bobbin-winder", name, "es")
    found = {word.lower() for text in all_texts(sheet, reader) for word in WORD.findall(text)}
    assert found & english_only - allowed(plan) == set()


def test_english_would_be_found(printed, reader, english_only):
    _, sheet = printed("bobbin-winder", "crate label", "en")
    found = {word.lower() for text in all_texts(sheet, reader) for word in WORD.findall(text)}
    assert {"gross", "inside", "order"} <= found & english_only


def test_every_mark_and_every_kind_of_entry_is_among_what_is_printed():
    shown = {mark_words(name, words("en", templates())) for name in MARKS}
    assert len(shown) == len(MARKS)
    kinds = {body.kind for product in PRODUCTS for body, _ in bodies(plan_of(product))}
    assert kinds | {"struck"} == {
        argument.model_fields["kind"].default for argument in Body.__args__[0].__args__
    }


def test_a_text_that_bypasses_the_catalogue_would_be_found(printed, reader, shelves):
    plan = plan_of("potters-wheel")
    shown = marked(plan).model_copy(update={"title": "Bypass"})
    settings, face = Settings(name="Zzop"), UnitHeader(SERIAL)
    sheet = traveler_pdf(plan, face, settings, NOW, language="el", texts=(shown,), templates=shelves)
    assert ours_in_latin(plan, sheet, reader) == {"Bypass"}
