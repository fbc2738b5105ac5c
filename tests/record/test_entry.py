"""Which entries stand, and which were recorded late."""

from datetime import UTC, datetime, timedelta

import pytest

from traveler.record.entry import (
    Draft,
    Entry,
    Noted,
    Stopped,
    Struck,
    done_order,
    recorded_late,
    standing_entries,
    struck_by,
    struck_out,
)

NOON = datetime(2026, 11, 2, 12, 0, tzinfo=UTC)

STRIKE_OUTS = {
    "an earlier entry": ([(1, "noted", None), (2, "struck", 1)], {1: 2}),
    "a strike-out that is struck out itself": (
        [(1, "noted", None), (2, "struck", 1), (3, "struck", 2)], {2: 3},
    ),
    "twice: the later counts": ([(1, "noted", None), (2, "struck", 1), (3, "struck", 1)], {1: 3}),
    "itself": ([(1, "struck", 1)], {}),
    "a later entry": ([(1, "struck", 2), (2, "noted", None)], {}),
    "the issue": ([(1, "issued", None), (2, "struck", 1)], {}),
    "a stop": ([(1, "stopped", None), (2, "struck", 1)], {}),
    "an entry that was not read": ([(7, "struck", 3)], {3: 7}),
    "in any order": ([(2, "struck", 1), (1, "noted", None)], {1: 2}),
}  # fmt: skip


@pytest.mark.parametrize(("entries", "expected"), STRIKE_OUTS.values(), ids=STRIKE_OUTS)
def test_what_a_strike_out_strikes(entries, expected):
    assert struck_out(entries) == expected


def kept(seq, body, *, behind=timedelta()):
    draft = Draft(unit="BW4", at=NOON, by="tkiln", body=body)
    values = draft.model_dump() | {"body": body}
    return Entry(**values, seq=seq, recorded=NOON + behind, previous="", hash="")


def test_a_stop_stands_though_somebody_struck_it_out():
    entries = (kept(1, Noted(text="a")), kept(2, Stopped(what="b")), kept(3, Struck(strikes=2, reason="c")))
    assert standing_entries(entries) == entries
    assert struck_by(entries) == {}


def test_the_standing_entries_keep_their_order():
    entries = (kept(1, Noted(text="a")), kept(2, Noted(text="b")), kept(3, Struck(strikes=1, reason="c")))
    assert [entry.seq for entry in standing_entries(entries)] == [2, 3]
    assert struck_by(entries) == {1: 3}


@pytest.mark.parametrize(
    ("behind", "late"),
    [
        (timedelta(hours=24), None),
        (timedelta(hours=24, minutes=1), timedelta(hours=24, minutes=1)),
        (timedelta(hours=-3), None),
    ],
)
def test_late_is_more_than_so_many_hours_after_the_work(behind, late):
    assert recorded_late(kept(1, Noted(text="a"), behind=behind), 24) == late


def test_work_comes_in_the_order_in_which_it_was_done():
    first, second = kept(1, Noted(text="a")), kept(2, Noted(text="b"))
    backdated = kept(3, Noted(text="c")).model_copy(update={"at": NOON - timedelta(hours=1)})
    in_order = sorted((second, backdated, first), key=done_order)
    assert [entry.seq for entry in in_order] == [3, 1, 2]
