"""What holds for every verdict: it never fails, it is the same again, and good readings do no harm."""

from __future__ import annotations

from datetime import timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from traveler.finding import order
from traveler.record import entry as kinds
from traveler.verdict.gate import GATES
from traveler.verdict.judge import Verdict
from traveler.verdict.state import SlotState

FEW = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
SLOTS = ("10-1", "10-3/screw=1", "20-3", "30-2/spindle=1,end=near", "40-1", "40-6", "40/sign", "Q-1",
         "Q/sign", "C-3/item=1", "C-4", "C-6", "C/sign")  # fmt: skip

words = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12)
numbers = st.integers(min_value=-2, max_value=40)
maybe = st.none() | words
slots = st.none() | st.sampled_from(SLOTS) | words
written = st.one_of(words, st.sampled_from(["0.04", "5e-2", "0,05", "1e999999", "-3", "24.0", "½", "٣"]))
units = st.none() | st.sampled_from(["mm", "in", "N·m", "kg", "furlong", "µm", "°C", ""])
people = st.sampled_from(["asm", "asm2", "insp", "qual", "pack", "eng", "boss", "gone", "nobody"]) | words
bodies = st.one_of(
    st.sampled_from([
        kinds.Ticked(), kinds.Signed(), kinds.Witnessed(), kinds.Packed(), kinds.Photographed(),
        kinds.Confirmed(), kinds.Confirmed(yes=False), kinds.Counted(good=3), kinds.Noted(text="wood mark"),
    ]),
    st.builds(kinds.Read, written=written, value=written, unit=units, gauge=maybe, as_found=st.booleans()),
    st.builds(kinds.Fitted, trace=st.sampled_from(["serial", "lot"]), value=words, number=maybe),
    st.builds(kinds.Adjusted, done=words),
    st.builds(kinds.Stopped, what=words),
    st.builds(
        kinds.Decided,
        stop=numbers,
        decision=st.sampled_from(
            ["rework", "repair", "use_as_is", "scrap", "return_to_supplier", "no_fault"]
        ),
        concession=maybe,
        measure_again=st.lists(st.sampled_from(SLOTS) | words, max_size=2).map(tuple),
    ),
    st.builds(kinds.Struck, strikes=numbers, reason=st.just("wrong")),
    st.builds(kinds.Released, head=words, count=numbers),
    st.builds(kinds.Crated, gross_mass=maybe | st.just("66 kg")),
    st.builds(
        kinds.Issued, product=words, revision=words, variant=words, digest=words, quantity=st.none() | numbers
    ),
    st.builds(kinds.Shipped, customer=words),
    st.builds(kinds.Placed, place=words),
)  # fmt: skip
minutes = st.integers(min_value=-3000, max_value=3000)
drafts = st.lists(st.tuples(bodies, slots, people, minutes), max_size=15)


def written_in(book, some, *, issued: bool = True):
    fresh = type(book)(book.plan)
    if issued:
        fresh.issue()
    for body, slot, by, minute in some:
        fresh.write(body, slot, by, at=fresh.clock + timedelta(minutes=minute), recorded=fresh.clock)
    return fresh


@FEW
@given(some=drafts, issued=st.booleans())
def test_a_verdict_never_fails_and_is_the_same_again(book, some, issued):
    fresh = written_in(book, some, issued=issued)
    found = fresh.verdict()
    assert isinstance(found, Verdict)
    assert found == fresh.verdict()
    assert list(found.findings) == order(found.findings)
    assert list(found.slots) == [slot.id for slot in book.plan.slots()]
    assert all(str(finding) and finding.why for finding in found.findings)
    fresh.entries.reverse()
    assert found == fresh.verdict()


@FEW
@given(some=drafts)
def test_a_gate_never_fails(book, some):
    case = written_in(book, some).case()
    for gate in GATES.values():
        assert gate(case, "qual", book.now, None) == gate(case, "qual", book.now, None)


@FEW
@given(some=drafts)
def test_junk_before_it_does_not_release_a_unit_that_is_not_complete(book, some):
    """Nothing that anybody writes opens the gate while a slot of the build is open."""
    fresh = written_in(book, some)
    if not fresh.verdict().complete:
        assert GATES["release"](fresh.case(), "qual", fresh.now, None)


@FEW
@given(thousandths=st.integers(min_value=0, max_value=50), slot=st.sampled_from(range(8)))
def test_a_reading_inside_the_limits_never_adds_a_finding_out_of_tolerance(book, thousandths, slot):
    fresh = type(book)(book.plan)
    fresh.built()
    step = book.plan.check("runout")
    fresh.read(step.slots[slot].id, f"{thousandths / 1000:.3f} mm")
    found = fresh.found("REA001")
    assert [finding for finding in found if finding.place.slot == step.slots[slot].id] == []


@FEW
@given(thousandths=st.integers(min_value=0, max_value=200))
def test_a_slot_is_in_exactly_when_its_reading_is_at_most_the_limit(book, thousandths):
    fresh = type(book)(book.plan)
    fresh.issue()
    slot = "30-2/spindle=1,end=near"
    fresh.read(slot, f"{thousandths / 1000:.3f} mm")
    assert (fresh.verdict().slots[slot].state is SlotState.IN) == (thousandths <= 50)


@FEW
@given(some=drafts)
def test_striking_everything_out_leaves_every_slot_open(book, some):
    harmless = [
        drawn for drawn in some if not isinstance(drawn[0], kinds.Struck | kinds.Issued | kinds.Stopped)
    ]
    fresh = written_in(book, harmless)
    for seq in range(2, len(fresh.entries) + 1):
        fresh.write(kinds.Struck(strikes=seq, reason="never mind"), by="qual")
    found = fresh.verdict()
    assert {slot.state for slot in found.slots.values()} == {SlotState.OPEN}
    assert found.state == "issued"


def test_a_verdict_is_json(book):
    import json

    text = json.dumps(book.crated().verdict().as_dict(), ensure_ascii=False)
    back = json.loads(text)
    assert back["state"] == "crated"
    assert back["complete"] is True
    assert back["slots"]["30-2/spindle=1,end=near"]["state"] == "in"
    assert back["findings"] == []


def test_an_unknown_time_zone_counts_as_utc(book):
    book.settings = book.settings.model_copy(update={"time_zone": "Nowhere/Here"})
    assert book.built().verdict().accepted
