"""What stands out, in which words: lots first, and only those that tell something."""

from __future__ import annotations

from dataclasses import replace

from traveler.trace.common_causes import CausesCounted
from traveler.trace.dossier.context import LotTrail, PartShown
from traveler.trace.dossier.summary import _shared, _shared_lots
from traveler.trace.ranking import rank_factors

BAD = LotTrail(
    "L-77", units=("U1", "U2", "U3", "U4"), left=("U1", "U2", "U3"), complained=("U1", "U2"), here=("U4",)
)
WIDE = LotTrail(
    "E-1", units=tuple(f"U{at}" for at in range(1, 11)), left=("U1",) * 9, complained=("U1", "U2")
)
PART = PartShown("Bearing", "P-2112", "spindle 1, 2", "lot", "L-77", "tkiln", "2026-11-02", BAD)
ALL_TOLD = (
    "3 of the 4 units shipped with it have the same complaint, this unit included; of the 2 units "
    "around it that have another lot, none. 1 unit with it is still here."
)
AROUND = frozenset({"U0", "U1", "U2", "U3", "U7", "U8"})


def told(*parts: PartShown, complained: bool = True) -> list[tuple[str, str]]:
    """What is listed of the unit U0."""
    alike = frozenset({"U0", "U1", "U2"} if complained else {"U1", "U2"})
    counts = CausesCounted(AROUND, alike, rank_factors({}, ()), ())
    found = _shared_lots(parts, "U0", (), counts)
    return [(observation.head, observation.text) for observation in found]


def test_a_lot_is_told_with_its_counts_and_who_is_still_here():
    assert told(PART) == [
        (
            "Bearing: lot L-77 (spindle 1, 2)",
            ALL_TOLD,
        )
    ]


def test_a_unit_nobody_complained_about_is_not_counted_itself():
    assert told(PART, complained=False)[0][1].startswith(
        "2 of the 3 units shipped with it have the same complaint"
    )


def test_the_lot_with_most_complaints_for_its_size_is_told_and_no_other():
    wide = replace(PART, title="End plates", value="E-1", trail=WIDE)
    assert [head for head, _ in told(wide, PART)] == ["Bearing: lot L-77 (spindle 1, 2)"]


def test_what_a_lot_was_made_of_stands_beside_it():
    made = replace(PART, trail=replace(BAD, made="EP-1", materials=(("M-0308", "H-9"),)))
    assert told(made)[0][0] == "Bearing: lot L-77 (spindle 1, 2), made of M-0308 H-9"


def test_a_lot_without_complaints_is_not_told():
    assert told(replace(PART, trail=replace(BAD, complained=()))) == []


def test_a_gauge_shared_beyond_chance_is_told_and_what_hangs_on_a_lot_is_not():
    units = {f"U{at}": {"gauge": {"IND-05" if at < 8 else "IND-01"}} for at in range(30)}
    sharing = rank_factors(units, [f"U{at}" for at in range(7)])
    (observation,) = _shared(sharing.ranked)
    assert observation.head == "Shared: gauge IND-05"
    assert "7 of 8 units with it nearby have the same complaint, 0 of 22 without it" in observation.text
    lots = {f"U{at}": {"lot of P-1": {"A" if at < 8 else "B"}} for at in range(30)}
    ranked = rank_factors(lots, [f"U{at}" for at in range(7)])
    assert list(_shared(ranked.ranked)) == []
