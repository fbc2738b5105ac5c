"""What every statistic here has in common: frozen fields, and one way to become JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from enum import Enum
from fractions import Fraction

from traveler.trace.statistics.exact import rounded

_LONGEST = 18


@dataclass(frozen=True)
class Result:
    """A frozen result; numbers leave as text, so no reader's floats change a digit."""

    def as_dict(self) -> dict[str, object]:
        """The fields by name, numbers as text, counts as whole numbers, nothing that JSON lacks."""
        return {field.name: plain(getattr(self, field.name)) for field in fields(self)}


def number_text(value: Fraction | Decimal) -> str:
    """The number as text: exact where it ends within 18 digits, else 15 significant digits.

    >>> number_text(Fraction(1, 8)), number_text(Fraction(1, 3)), number_text(Decimal("1.20E-30"))
    ('0.125', '0.333333333333333', '1.2e-30')
    """
    long = rounded(value, _LONGEST)
    written = long if Fraction(long) == Fraction(value) else rounded(value, 15)
    if written == 0:
        return "0"
    short = written.normalize()
    return f"{short:f}" if -9 <= short.adjusted() <= _LONGEST else f"{short:g}"


def plain(value: object) -> object:
    """The value as JSON knows it; numbers that are no counts become text."""
    if isinstance(value, Result):
        return value.as_dict()
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Fraction | Decimal):
        return number_text(value)
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [plain(one) for one in value]
    return value
