import math
from decimal import Decimal
from fractions import Fraction

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.stats.proportion import FirstTry, yields

TRIES = st.lists(
    st.builds(
        FirstTry,
        st.sampled_from("abcdef"),
        st.sampled_from(["10", "20"]),
        st.sampled_from("xy"),
        st.booleans(),
    ),
    max_size=40,
)  # fmt: skip


def shop(passes: dict[str, list[int]]) -> list[FirstTry]:
    """One check an operation; a list of 1 and 0 for the units in order."""
    return [
        FirstTry(f"U{at}", operation, f"check {operation}", bool(unit))
        for operation, units in passes.items()
        for at, unit in enumerate(units)
    ]


def test_rolled_yield_is_the_product_of_the_operations():
    found = yields(shop({"10": [1] * 9 + [0], "20": [1] * 8 + [0, 0], "30": [1] * 10}))
    assert [line.first_pass.share for line in found.operations] == [Fraction(9, 10), Fraction(8, 10), 1]
    assert found.rolled == Fraction(72, 100)
    assert found.whole.share == Fraction(8, 10)
    low, high = found.rolled_interval
    assert low < Decimal("0.72") < high
    assert found.sentence.startswith("Rolled throughput yield 72 % (95 % interval ")
    assert found.sentence.endswith(
        "Most often caught: check 20 in operation 20, passed first time by 8 of 10 = 80 % "
        "(95 % interval 49 % to 94.3 %)."
    )


def test_a_unit_passes_an_operation_only_if_every_check_and_position_did():
    tries = [
        FirstTry("A", "10", "runout", True), FirstTry("A", "10", "runout", False),
        FirstTry("A", "10", "torque", True),
        FirstTry("B", "10", "runout", True), FirstTry("B", "10", "torque", True),
    ]  # fmt: skip
    found = yields(tries)
    assert [(line.check, line.first_pass.hits, line.first_pass.n) for line in found.checks] == [
        ("runout", 1, 2), ("torque", 2, 2),
    ]  # fmt: skip
    assert (found.operations[0].first_pass.hits, found.whole.hits) == (1, 1)


def test_nothing_recorded_and_nothing_failed_and_all_failed():
    assert (yields([]).sentence, yields([]).rolled) == ("No first try recorded.", None)
    good = yields(shop({"10": [1] * 20}))
    assert (good.rolled, good.rolled_interval[1]) == (1, 1)
    assert "Most often caught" not in good.sentence
    bad = yields(shop({"10": [0] * 5, "20": [1] * 5}))
    assert (bad.rolled, bad.rolled_interval[0]) == (0, 0)
    assert bad.rolled_interval[1] < 1


def test_the_interval_of_the_rolled_yield_holds_it_as_often_as_it_says():
    """1,000 drawn shops of 40 units and four operations of yield 0.95, 0.9, 0.98 and 0.85."""
    chance = np.random.default_rng(8)
    shares = {"10": 0.95, "20": 0.9, "30": 0.98, "40": 0.85}
    true, held = math.prod(shares.values()), 0
    for _ in range(1000):
        drawn = {name: (chance.random(40) < share).astype(int).tolist() for name, share in shares.items()}
        low, high = yields(shop(drawn)).rolled_interval
        held += low <= true <= high
    assert held / 1000 > 0.93


@given(TRIES)
def test_yields_are_shares_and_the_whole_is_no_better_than_any_operation_all_units_went_through(tries):
    found = yields(tries)
    for line in (*found.checks, *found.operations):
        assert 0 <= line.first_pass.share <= 1
    if found.rolled is not None:
        low, high = found.rolled_interval
        assert low <= found.rolled <= high
        assert found.whole.hits <= min(
            (line.first_pass.hits for line in found.operations if line.first_pass.n == found.whole.n),
            default=found.whole.n,
        )
