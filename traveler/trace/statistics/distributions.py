"""The distributions the other modules ask for: plain numbers in, plain numbers out, scipy behind.

The one place that knows scipy's names and argument orders. ``scipy.special`` loads in a tenth of the time of
``scipy.stats``, so the latter is imported only where nothing else offers the function.
"""

from __future__ import annotations


def normal_quantile(p: float) -> float:
    """Z with Φ(z) = p."""
    from scipy import special

    return float(special.ndtri(p))


def normal_upper(z: float) -> float:
    """1 − Φ(z), without loss far out."""
    from scipy import special

    return float(special.ndtr(-z))


def chi_square_quantile(p: float, dof: float) -> float:
    """The p-quantile of χ² with ``dof`` degrees of freedom (need not be whole)."""
    from scipy import special

    return float(special.chdtri(dof, 1 - p))


def chi_square_upper(value: float, dof: float) -> float:
    """P(χ² > value)."""
    from scipy import special

    return float(special.chdtrc(dof, value))


def student_quantile(p: float, dof: float) -> float:
    """The p-quantile of Student's t."""
    from scipy import special

    return float(special.stdtrit(dof, p))


def student_two_sided(t: float, dof: float) -> float:
    """P(|T| > |t|) for Student's t."""
    from scipy import special

    return float(2 * special.stdtr(dof, -abs(t)))


def f_upper(value: float, between: float, within: float) -> float:
    """P(F > value) with those degrees of freedom."""
    from scipy import special

    return float(special.fdtrc(between, within, value))


def beta_quantile(p: float, a: float, b: float) -> float:
    """The p-quantile of the beta distribution."""
    from scipy import special

    return float(special.betaincinv(a, b, p))


def noncentral_t_quantile(p: float, dof: float, shift: float) -> float:
    """The p-quantile of the noncentral t distribution with noncentrality ``shift``."""
    from scipy.stats import nct

    return float(nct.ppf(p, dof, shift))


def binomial_lower(successes: int, trials: int, p: float) -> float:
    """P(at most that many successes)."""
    from scipy import special

    return float(special.bdtr(successes, trials, p))


def binomial_two_sided(successes: int, trials: int) -> float:
    """Exact two-sided probability of a split at least this uneven, both sides being equally likely."""
    if trials == 0:
        return 1.0
    fewer = min(successes, trials - successes)
    return min(1.0, 2 * binomial_lower(fewer, trials, 0.5))
