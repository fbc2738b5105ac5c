"""Why a stop may not be decided on so: everything at once, in one order."""

from __future__ import annotations

from datetime import timedelta

import pytest

from traveler.record.entry import Decided, Stopped
from traveler.verdict.rules.persons import decision_action
from traveler.verdict.rules.stops import may_decide

NEAR = "30-2/spindle=1,end=near"


@pytest.fixture
def stopped(book):
    book.built()
    book.stop = book.write(Stopped(what="run-out over"), NEAR).seq
    return book


def refused(book, by="qual", minutes=1, **decided):
    body = Decided(**({"stop": book.stop, "decision": "rework"} | decided))
    at = book.clock + timedelta(minutes=minutes)
    return [finding.code for finding in may_decide(book.case(), body, by, at)]


@pytest.mark.parametrize("by", ["qual", "eng"])
@pytest.mark.parametrize("decision", ["rework", "repair", "scrap", "return_to_supplier", "no_fault"])
def test_quality_and_engineering_decide(stopped, by, decision):
    assert refused(stopped, by, decision=decision) == []


def test_using_as_is_is_conceding_and_takes_quality(stopped):
    assert decision_action(Decided(stop=1, decision="use_as_is")) == "concede"
    assert decision_action(Decided(stop=1, decision="scrap")) == "decide"
    assert refused(stopped, "qual", decision="use_as_is", concession="C-1") == []
    assert refused(stopped, "eng", decision="use_as_is", concession="C-1") == ["GAT002"]
    assert refused(stopped, "qual", decision="use_as_is", concession=" ") == ["NON002"]


@pytest.mark.parametrize("name", [NEAR, "30-2", "runout", "Q-2"])
def test_a_slot_a_step_and_a_check_can_be_measured_again(stopped, name):
    assert refused(stopped, measure_again=(name,)) == []


def test_a_role_is_held_on_the_day_told_and_today(stopped):
    stopped.people = type(stopped.people)(
        people=tuple(
            person.model_copy(update={"left": stopped.clock.date()}) if person.id == "qual" else person
            for person in stopped.people.people
        )
    )
    assert refused(stopped) == ["PER003"], "now it is a month later"


def test_everything_is_said_at_once(stopped):
    found = refused(
        stopped, "pack", minutes=-600, decision="use_as_is", measure_again=("nosuch",), concession=None
    )
    assert sorted(set(found)) == ["ENT001", "GAT002", "NON002", "SEQ010"]


def test_nothing_is_decided_on_a_scrapped_unit(stopped):
    whole = stopped.write(Stopped(what="fell"), by="insp").seq
    stopped.write(Decided(stop=whole, decision="scrap"), by="qual")
    assert refused(stopped, decision="no_fault") == ["GAT001"]
    assert refused(stopped, stop=whole, decision="no_fault") == ["GAT001"]
