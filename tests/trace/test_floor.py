"""Since when a unit is in its state."""

from datetime import UTC, datetime, timedelta

import pytest

from traveler.record.entry import (
    Crated,
    Decided,
    Entry,
    Issued,
    Noted,
    Placed,
    Released,
    Reprinted,
    Shipped,
    Signed,
    Stopped,
    Struck,
    Ticked,
)
from traveler.trace.floor import AGEING, LATE, TURNING, in_state_since
from traveler.verdict.state import UnitState

BEGUN = datetime(2026, 9, 14, tzinfo=UTC)
ISSUED = Issued(product="winder", revision="A", variant="4", digest="0" * 64)


def life(*bodies):
    """Entries a day apart; a body may come with its slot."""
    entries = []
    for seq, item in enumerate((ISSUED, *bodies), 1):
        slot, body = item if isinstance(item, tuple) else (None, item)
        at = BEGUN + timedelta(days=seq - 1)
        entries.append(
            Entry.model_construct(
                unit="BW",
                seq=seq,
                at=at,
                recorded=at,
                zone="UTC",
                by="tkiln",
                slot=slot,
                body=body,
                source="tool",
                previous="",
                hash="",
            )
        )
    return entries


REPRINT, NOTE = Reprinted(sheet="traveler", copy_number=2), Noted(text="Long cable.")
RELEASED = Released(head="0" * 64, count=2)
LIVES = {
    "only issued": ((), 0),
    "issued, whatever was printed or noted": ((REPRINT, NOTE), 0),
    "built since the first work": ((REPRINT, ("10-1", Ticked()), ("10-2", Ticked())), 2),
    "inspected since the first final check": ((("10-1", Ticked()), ("Q-1", Ticked()), ("Q-2", Ticked())), 2),
    "stopped since the stop": ((("10-1", Ticked()), Stopped(what="Cracked."), NOTE), 2),
    "built on since the decision": (
        (("10-1", Ticked()), Stopped(what="Cracked."), Decided(stop=3, decision="rework"), NOTE), 3,
    ),
    "released": ((("10-1", Ticked()), RELEASED, NOTE), 2),
    "crated": ((RELEASED, Crated(), NOTE), 2),
    "in stock since it was first placed": ((RELEASED, Crated(), Placed(place="A"), Placed(place="B")), 3),
    "shipped": ((RELEASED, Crated(), Placed(place="A"), Shipped(customer="W")), 4),
    "released again since the shipping was struck": (
        (("10-1", Ticked()), RELEASED, Crated(), Struck(strikes=4, reason="Wrong unit.")), 4,
    ),
    "signed last": ((("10-1", Ticked()), ("10/sign", Signed())), 1),
}  # fmt: skip


@pytest.mark.parametrize(("bodies", "day"), LIVES.values(), ids=LIVES)
def test_since_when(bodies, day):
    assert in_state_since(life(*bodies)) == BEGUN + timedelta(days=day)


@pytest.mark.parametrize("name", [name for name in LIVES if name in ("released", "crated", "shipped")])
def test_late_states_are_dated_from_the_turning_entries_alone(name):
    bodies, day = LIVES[name]
    kept = [entry for entry in life(*bodies) if entry.body.kind in TURNING]
    assert in_state_since(kept) == BEGUN + timedelta(days=day)


def test_a_unit_without_an_entry_is_in_no_state():
    with pytest.raises(ValueError, match="no state"):
        in_state_since([])


def test_every_state_but_the_last_ones_ages():
    assert set(AGEING) == set(UnitState) - {"shipped", "scrapped"}
    assert sorted(LATE) == ["crated", "in stock", "released", "shipped"]
