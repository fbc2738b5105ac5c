"""How numbers read in sentences: three figures, whole percents, a and b and c."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from traveler.trace.statistics.exact import rounded
from traveler.trace.statistics.result import number_text


def short(value: Fraction | Decimal, digits: int = 3) -> str:
    """The number to so many significant digits, as a person would say it.

    >>> short(Fraction(2, 3)), short(Decimal("1234.5"), 4), short(Decimal(0))
    ('0.667', '1234', '0')
    """
    return number_text(rounded(value, digits))


def chance(value: Decimal) -> str:
    """A probability in words that do not pretend: ``p = 0.03``, ``p < 0.001``."""
    return "p < 0.001" if value < Decimal("0.001") else f"p = {short(value, 2)}"


def percent(share: Fraction | Decimal) -> str:
    """A share in percent; more digits only near none and near all.

    >>> percent(Fraction(1, 2)), percent(Fraction(2, 3000)), percent(Decimal("0.9987"))
    ('50 %', '0.067 %', '99.87 %')
    """
    hundred = Fraction(share) * 100
    if hundred in (0, 100) or 2 <= hundred <= 98:
        return f"{short(hundred, 3 if hundred != int(hundred) else 4)} %"
    if hundred > 98:
        return f"{number_text(100 - rounded(100 - hundred, 2))} %"
    return f"{short(hundred, 2)} %"


def listed(words: Sequence[str], joint: str = "and") -> str:
    """``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {joint} {words[-1]}"


def counted(number: int, one: str, many: str | None = None) -> str:
    """``1 reading``, ``3 readings``."""
    return f"{number} {one if number == 1 else many or one + 's'}"
