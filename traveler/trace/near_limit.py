"""How near a reading lies to a limit, as words to count units by."""

from __future__ import annotations

from fractions import Fraction

from traveler.trace.statistics.exact import Number, exact

ZONES = {"tenth": Fraction(1, 10), "quarter": Fraction(1, 4)}
"""Names of the zones next to a limit, as shares of the tolerance."""


def zones(reading: Number, *, lower: Number | None = None, upper: Number | None = None) -> tuple[str, ...]:
    """The zones a reading lies in: ``beyond upper``, ``upper tenth``, ``upper quarter``, same for lower.

    Zones are shares of the tolerance and hold the limit itself and what lies beyond it. With one limit
    only, the distance of the limit from zero takes the place of the tolerance (a run-out or a gap starts
    at nothing); a single limit at zero has no zones. Common practice, no source.

    >>> zones("0.046", upper="0.05")
    ('upper tenth', 'upper quarter')
    """
    value = exact(reading)
    low, high = (None if one is None else exact(one) for one in (lower, upper))
    width = high - low if low is not None and high is not None else abs(high or low or Fraction())
    found = []
    for side, limit, sign in (("upper", high, 1), ("lower", low, -1)):
        if limit is None or not width:
            continue
        left = sign * (limit - value)
        found += [f"beyond {side}"] if left < 0 else []
        found += [f"{side} {name}" for name, share in ZONES.items() if left <= share * width]
    return tuple(found)
