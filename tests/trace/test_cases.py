"""Cases folded from entries: states, steps out of order, strike-outs, age."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.record.entry import Complained, Entry, FollowedUp, Struck
from traveler.trace.cases import AFTER, CaseState, case_state_after, cases_of, refused_step

DAY = datetime(2026, 11, 2, 9, 0, tzinfo=UTC)
ZONE = ZoneInfo("Europe/Dublin")


def entries(*bodies: object) -> tuple[Entry, ...]:
    """Entries a day apart, from number 1."""
    return tuple(
        Entry(
            unit="BW4-1",
            at=DAY + timedelta(days=at),
            by="qmoor",
            body=body,
            seq=at + 1,
            recorded=DAY,
            previous="",
            hash="",
        )
        for at, body in enumerate(bodies)
    )


def step(word: str, case: int = 1, **more: object) -> FollowedUp:
    return FollowedUp(case=case, step=word, text=f"{word} it", **more)


def test_a_case_goes_from_open_to_closed_by_its_steps():
    words = ["contained", "cause", "action", "effective", "closed"]
    states = ["contained", "cause found", "action taken", "effectiveness checked", "closed"]
    for count in range(1, 6):
        (case,) = cases_of(entries(Complained(text="hums"), *map(step, words[:count])))
        assert case.state == states[count - 1]
    assert case.name == "BW4-1/1"


def test_each_complaint_of_a_unit_is_a_case_of_its_own():
    found = cases_of(entries(Complained(text="hums"), Complained(text="shakes"), step("contained", case=2)))
    assert [(case.name, str(case.state)) for case in found] == [
        ("BW4-1/1", "open"),
        ("BW4-1/2", "contained"),
    ]


def test_a_struck_step_does_not_count_and_a_struck_complaint_is_no_case():
    said = entries(Complained(text="hums"), step("contained"), Struck(strikes=2, reason="not true"))
    assert cases_of(said)[0].state == "open"
    assert cases_of(entries(Complained(text="hums"), Struck(strikes=1, reason="wrong unit"))) == ()


def test_an_action_that_does_not_work_sends_the_case_back():
    (case,) = cases_of(
        entries(
            Complained(text="hums"), step("cause"), step("action", due="2026-12-01"), step("not_effective")
        )
    )
    assert case.state == "contained"
    assert case.due is None


def test_the_effect_comes_due_while_it_is_not_checked():
    said = (Complained(text="hums"), step("cause"), step("action", due="2026-12-01"))
    assert str(cases_of(entries(*said))[0].due) == "2026-12-01"
    assert cases_of(entries(*said, step("effective")))[0].due is None


def test_containing_late_does_not_set_a_case_back():
    (case,) = cases_of(entries(Complained(text="hums"), step("cause"), step("contained")))
    assert case.state == "cause found"


@pytest.mark.parametrize(
    ("state", "word", "why"),
    [
        (CaseState.OPEN, "action", "no cause"),
        (CaseState.CAUSE_FOUND, "effective", "no action"),
        (CaseState.ACTION_TAKEN, "closed", "not been checked"),
        (CaseState.CLOSED, "cause", "closed"),
        (CaseState.OPEN, "reopened", "not closed"),
    ],
)
def test_steps_out_of_order_are_refused_with_the_reason(state, word, why):
    assert why in refused_step(state, word)


@given(st.lists(st.sampled_from(sorted(AFTER)), max_size=12))
def test_taking_only_allowed_steps_a_case_is_closed_by_a_check_or_as_unfounded(words):
    state, checked, unfounded = CaseState.OPEN, False, False
    for word in words:
        if refused_step(state, word) is None:
            state = case_state_after(state, word)
            checked = word == "effective" or (checked and word == "closed")
            unfounded = word == "unfounded"
    assert state is not CaseState.CLOSED or checked or unfounded


def test_age_is_in_days_of_the_shop_and_stands_still_when_closed():
    (case,) = cases_of(entries(Complained(text="hums")))
    assert case.age(DAY + timedelta(days=10), ZONE) == 10
    (closed,) = cases_of(entries(Complained(text="hums"), step("unfounded")))
    assert closed.age(DAY + timedelta(days=10), ZONE) == 1


def test_causes_are_listed_once():
    (case,) = cases_of(
        entries(
            Complained(text="hums"),
            step("cause", causes=("lot L-7",)),
            step("cause", causes=("lot L-7", "gauge G")),
        )
    )
    assert case.causes == ("lot L-7", "gauge G")
    assert case.as_dict()["causes"] == ["lot L-7", "gauge G"]
