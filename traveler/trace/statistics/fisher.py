"""Fisher's exact test, for one factor or thousands: is it commoner among complained units than by chance?"""

from __future__ import annotations

from collections.abc import Sequence


def upper_probabilities(
    hits: Sequence[int], carriers: Sequence[int], complained: int, units: int
) -> list[float]:
    """P(at least so many complained units among the carriers) if complaints fell on units at random.

    Args:
        hits: complained units among the carriers of each factor.
        carriers: units that carry each factor.
        complained: complained units in all.
        units: units in all.

    Source: Fisher 1935, one-sided: the upper tail of the hypergeometric distribution. Equal tables are
    worked out once, so thousands of factors cost as much as a few hundred.
    """
    import numpy as np
    from scipy.stats import hypergeom

    tables = np.array([hits, carriers], dtype=np.int64)
    if tables.size == 0:
        return []
    different, back = np.unique(tables, axis=1, return_inverse=True)
    tails = hypergeom.sf(different[0] - 1, units, different[1], complained)
    tails = np.where(different[0] <= 0, 1.0, np.clip(tails, 0.0, 1.0))
    return [float(one) for one in tails[back.reshape(-1)]]


def smallest_attainable(carriers: Sequence[int], complained: int, units: int) -> list[float]:
    """The smallest probability the test could give each factor: if as many complaints as possible fell on it.

    It depends on the margins alone, so it may decide which factors to test without favouring any
    (Tarone 1990).
    """
    most = [min(one, complained) for one in carriers]
    return upper_probabilities(most, carriers, complained, units)
