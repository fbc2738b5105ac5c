import json
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.trace.ranking import Factor, factor_table, rank_factors


def shop(units=400, seed=1):
    """Units with twenty lots in turn, weeks, four gauges and three people by chance."""
    chance = np.random.default_rng(seed)
    return {
        f"U{at:03}": {
            "lot": {f"L{at // 20:02}"},
            "week": {f"W{at // 15:02}"},
            "gauge": {f"G{chance.integers(4)}"},
            "person": {f"P{chance.integers(3)}"},
        }
        for at in range(units)
    }


BAD_LOT = [f"U{at:03}" for at in (100, 102, 105, 108, 111, 115, 118)]


def test_the_lot_behind_the_complaints_comes_first_with_its_numbers():
    found = rank_factors(shop(), [*BAD_LOT, "U003", "U250"])
    first = found.ranked[0]
    assert first.factors == (Factor("lot", "L05"),)
    assert (first.hits, first.complained, first.carriers, first.units) == (7, 9, 20, 400)
    assert first.convincing
    assert [suspect.besides for suspect in found.convincing[1:]] == [1] * (len(found.convincing) - 1)
    assert first.sentence.startswith("lot L05: 7 of 20 units complained, 2 of 380 without it; odds ")
    assert "this does not prove a cause" in found.sentences[1]
    assert found.sentences[2] == first.sentence


def test_probabilities_and_corrections_are_those_of_scipy_and_statsmodels():
    from scipy import stats
    from statsmodels.stats.multitest import multipletests

    units, complained = shop(), [*BAD_LOT, "U003", "U250"]
    found = rank_factors(units, complained, show=1000)
    for suspect in found.ranked:
        table = [
            [suspect.hits, suspect.carriers - suspect.hits],
            [
                suspect.complained - suspect.hits,
                suspect.units - suspect.carriers - suspect.complained + suspect.hits,
            ],
        ]
        p = stats.fisher_exact(table, alternative="greater").pvalue
        assert np.isclose(float(suspect.p), p, rtol=1e-9)
    carriers = factor_table(units)
    hits = carriers.among(carriers.chosen(complained))
    raw, compared = [], []
    for at, count in enumerate(carriers.carriers):
        raw.append(float(stats.hypergeom.sf(hits[at] - 1, 400, count, 9)))
        compared.append(float(stats.hypergeom.sf(min(count, 9) - 1, 400, count, 9)))
    k = next(k for k in range(1, 1000) if sum(value <= 0.05 / k for value in compared) <= k)
    tested = [value for value, best in zip(raw, compared, strict=True) if best <= 0.05 / k]
    assert found.compared == len(tested)
    expected_holm = sorted(multipletests(tested, method="holm")[1])
    expected_bh = sorted(multipletests(tested, method="fdr_bh")[1])
    shown = [suspect for suspect in found.ranked if suspect.compared]
    assert np.allclose(
        sorted(float(shared_factor.p_holm) for shared_factor in shown), expected_holm[: len(shown)]
    )
    assert np.allclose(
        sorted(float(shared_factor.p_bh) for shared_factor in shown), expected_bh[: len(shown)]
    )


def test_factors_that_no_count_can_tell_apart_share_one_rank_and_it_is_said():
    units = shop()
    for carried in units.values():
        carried["supplier of lot"] = {f"S-{next(iter(carried['lot']))}"}
    first = rank_factors(units, BAD_LOT).ranked[0]
    assert first.factors == (Factor("lot", "L05"), Factor("supplier of lot", "S-L05"))
    assert "the record cannot show which one matters" in first.sentence


def test_factors_with_mostly_the_same_units_are_named_beside():
    units = shop()
    for at, (_, carried) in enumerate(sorted(units.items())):
        carried["pallet"] = {"N5" if 101 <= at < 121 else f"N{at % 2}"}
    first = rank_factors(units, BAD_LOT).ranked[0]
    assert Factor("lot", "L05") in (*first.factors, *first.alike)
    assert Factor("pallet", "N5") in (*first.factors, *first.alike)
    assert "Almost the same units carry" in first.sentence


def test_what_hangs_on_the_first_is_told_from_what_stands_alone():
    """Everything in lot L05 was built by P9, who also built twenty sound units elsewhere; G9 stands alone."""
    units = shop()
    for at, (_, carried) in enumerate(sorted(units.items())):
        if 100 <= at < 120 or 200 <= at < 220:
            carried["person"] = {"P9"}
        if 300 <= at < 320:
            carried["gauge"] = {"G9"}
    others = [f"U{at:03}" for at in range(300, 320, 4)]
    found = {
        shared_factor.factors[0]: shared_factor
        for shared_factor in rank_factors(units, [*BAD_LOT, *others]).convincing
    }
    assert found[Factor("lot", "L05")].besides is None
    assert found[Factor("person", "P9")].besides == 1
    assert "not significant without the units of rank 1" in found[Factor("person", "P9")].sentence
    assert found[Factor("gauge", "G9")].besides < Decimal("0.001")


@pytest.mark.parametrize(
    ("complained", "sentence"),
    [
        ([], "No unit has this complaint: nothing to compare."),
        (["U003"], "Only 1 unit has this complaint: too few to conclude anything."),
        (sorted(shop()), "All 400 units complained: no unit is left to compare with."),
    ],
)
def test_numbers_too_small_to_say_anything_are_called_so(complained, sentence):
    found = rank_factors(shop(), complained)
    assert found.sentences[0] == sentence
    assert found.convincing == ()


def test_one_complaint_can_never_accuse_anything():
    found = rank_factors(shop(), ["U003"])
    assert found.sentences[1] == "No factor can reach significance with 1 of 400 units."
    assert found.compared == 0
    assert all(suspect.p_holm == 1 for suspect in found.ranked)


def test_scattered_complaints_name_nothing():
    found = rank_factors(shop(), [f"U{at:03}" for at in range(7, 400, 44)])
    assert found.convincing == ()
    assert found.sentences[-1].startswith("No factor is more frequent than chance")
    assert found.ranked


def test_a_complained_unit_that_is_not_among_the_units_is_refused():
    with pytest.raises(ValueError, match="not among the units: U999"):
        rank_factors(shop(), ["U999"])


def test_no_units_and_units_without_factors_give_an_empty_ranking():
    assert rank_factors({}, []).ranked == ()
    assert rank_factors({"A": {}, "B": {}}, ["A"]).ranked == ()


def test_the_ranking_becomes_json():
    document = json.loads(json.dumps(rank_factors(shop(), BAD_LOT).as_dict()))
    assert document["ranked"][0]["factors"] == [{"attribute": "lot", "value": "L05"}]
    assert document["ranked"][0]["hits"] == 7
    assert Fraction(document["ranked"][0]["p"]) < Fraction(1, 10**6)


def test_a_layout_can_be_kept_and_asked_again():
    carriers = factor_table(shop())
    assert rank_factors(carriers, BAD_LOT) == rank_factors(shop(), BAD_LOT)


RANDOM = st.lists(
    st.tuples(st.sampled_from("abc"), st.sampled_from("xyz"), st.booleans()), min_size=2, max_size=30
)


@settings(max_examples=40)
@given(RANDOM, st.randoms())
def test_neither_the_order_of_units_nor_their_names_matter(drawn, random):
    units = {f"U{at}": {"lot": {lot}, "gauge": {gauge}} for at, (lot, gauge, _) in enumerate(drawn)}
    complained = [f"U{at}" for at, (*_, bad) in enumerate(drawn) if bad]
    shuffled = list(enumerate(drawn))
    random.shuffle(shuffled)
    renamed = {f"V{at}": units[f"U{old}"] for at, (old, _) in enumerate(shuffled)}
    complained_too = [f"V{at}" for at, (_, (*_, bad)) in enumerate(shuffled) if bad]
    first, other = rank_factors(units, complained), rank_factors(renamed, complained_too)
    assert first == other


@settings(max_examples=40)
@given(RANDOM)
def test_ranks_rise_with_the_probability_and_no_group_is_shown_that_no_complained_unit_carries(drawn):
    units = {f"U{at}": {"lot": {lot}, "gauge": {gauge}} for at, (lot, gauge, _) in enumerate(drawn)}
    found = rank_factors(units, [f"U{at}" for at, (*_, bad) in enumerate(drawn) if bad])
    assert [suspect.rank for suspect in found.ranked] == list(range(1, len(found.ranked) + 1))
    corrected = [(suspect.p_holm, suspect.p) for suspect in found.ranked]
    assert corrected == sorted(corrected)
    assert all(0 < suspect.hits <= min(suspect.carriers, suspect.complained) for suspect in found.ranked)
    assert all(suspect.p <= suspect.p_bh <= suspect.p_holm <= 1 for suspect in found.ranked)


@pytest.mark.parametrize("seed", [1, 2])
def test_false_alarms_stay_below_one_in_twenty(seed):
    """300 sets of complaints drawn by chance in one shop."""
    carriers = factor_table(shop(seed=seed))
    chance = np.random.default_rng(seed)
    alarms = sum(
        bool(rank_factors(carriers, chance.choice(carriers.units, 12, replace=False), show=1).convincing)
        for _ in range(300)
    )
    assert alarms / 300 <= 0.05
