from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.trace.stats.contingency import benjamini_hochberg, holm

PROBABILITIES = st.lists(st.decimals(min_value=0, max_value=1, places=4), min_size=1, max_size=40)


@pytest.mark.parametrize("many", [1, 2, 7, 60])
def test_both_corrections_agree_with_statsmodels(many):
    from statsmodels.stats.multitest import multipletests

    raw = np.random.default_rng(many).beta(0.3, 3, many).round(4).tolist()
    given_ = [Decimal(str(item)) for item in raw]
    assert np.allclose([float(value) for value in holm(given_)], multipletests(raw, method="holm")[1])
    assert np.allclose(
        [float(value) for value in benjamini_hochberg(given_)], multipletests(raw, method="fdr_bh")[1]
    )


@given(PROBABILITIES)
def test_correction_never_makes_a_probability_smaller_nor_changes_the_order(given_):
    for corrected in (holm(given_), benjamini_hochberg(given_)):
        assert all(raw <= new <= 1 for raw, new in zip(given_, corrected, strict=True))
        assert sorted(corrected) == [new for _, new in sorted(zip(given_, corrected, strict=True))]
    assert all(strict >= mild for strict, mild in zip(holm(given_), benjamini_hochberg(given_), strict=True))


def test_nothing_to_correct():
    assert holm([]) == benjamini_hochberg([]) == ()
    assert holm([Decimal("0.04")]) == benjamini_hochberg([Decimal("0.04")]) == (Decimal("0.04"),)
