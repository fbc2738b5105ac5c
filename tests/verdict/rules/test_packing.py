"""Findings about the crate's mass and the wood mark."""

from __future__ import annotations

from traveler.record.entry import Crated, Decided, Noted, Stopped
from traveler.verdict.state import SlotState

MASS = "C-6"


def packed(book, mass: str):
    book.released().work("C", without=(MASS, "C/sign"))
    book.read(MASS, mass, by="pack")
    return book


def test_a_crate_without_its_hex_keys_is_found_by_its_mass_where_they_are_heavy_enough(book):
    """A set of bobbins is 0.84 kg; the tolerance is 0.4 kg."""
    packed(book, "65.20 kg")
    (found,) = book.found("PAC002")
    assert found.what == "the crate weighs 65.20 kg, 0.82 kg less than expected (65.62 to 66.42 kg)"
    assert found.hint.startswith("look whether one of these is missing: 4 × Bobbin set")
    assert "REA001" not in book.codes()
    assert book.verdict().slots[MASS].state is SlotState.OUT


def test_a_crate_that_weighs_what_it_should_is_fine(book):
    for mass in ("65.62 kg", "66.02 kg", "66.42 kg"):
        assert "PAC002" not in packed(type(book)(book.plan), mass).codes()


def test_a_crate_with_something_too_much_says_so(book):
    packed(book, "66.86 kg")
    assert "look whether one of these is packed twice: 4 × Bobbin set" in book.found("PAC002")[0].hint


def test_a_difference_that_no_item_explains_sends_to_the_list(book):
    packed(book, "50.00 kg")
    assert book.found("PAC002")[0].hint == "open it and go through the packing list"


def test_the_mass_told_at_the_closing_is_looked_at_too(book):
    packed(book, "66.02 kg")
    book.write(Crated(gross_mass="64.9 kg"), by="pack")
    (found,) = book.found("PAC002")
    assert found.place.entry == len(book.entries)


def test_a_mass_that_was_conceded_is_noted(book):
    packed(book, "65.00 kg")
    stop = book.write(Stopped(what="one bobbin set sent ahead"), MASS)
    book.write(Decided(stop=stop.seq, decision="use_as_is", concession="C-7"), MASS, by="qual")
    assert "PAC002" not in book.codes()
    assert "NON006" in book.codes()


def test_a_length_told_for_a_mass_is_no_mass(book):
    packed(book, "66.02 kg")
    book.write(Crated(gross_mass="64.9 mm"), by="pack")
    assert "PAC002" not in book.codes()


def test_a_mass_told_in_pounds_is_converted(book):
    packed(book, "66.02 kg")
    book.write(Crated(gross_mass="145.5 lb"), by="pack")
    assert "PAC002" not in book.codes()


def test_a_mass_that_cannot_be_read_is_no_mass(book):
    packed(book, "66.02 kg")
    book.write(Crated(gross_mass="heavy"), by="pack")
    assert "PAC002" not in book.codes()


def without_the_step_for_the_mark(book):
    operations = tuple(
        operation.model_copy(
            update={"steps": tuple(step for step in operation.steps if step.check != "wood-mark")}
        )
        for operation in book.plan.operations
    )
    book.plan = book.plan.model_validate(book.plan.model_dump() | {"operations": operations})
    return book


def test_a_plan_that_forgets_the_wood_mark_does_not_let_the_crate_go_without(book):
    without_the_step_for_the_mark(book).built()
    assert "PAC003" not in book.codes()
    book.release()
    book.work("C")
    assert "PAC003" in book.codes()
    book.write(Noted(text="Wood mark seen on every batten"), by="pack")
    assert "PAC003" not in book.codes()
