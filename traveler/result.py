"""What a question or an action answers: a frozen dataclass, and the one way it becomes JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, time
from decimal import ROUND_HALF_EVEN, Context, Decimal
from enum import Enum
from fractions import Fraction
from pathlib import PurePath
from typing import Any, ClassVar

_LONGEST, _SHORTER = 18, 15
"""Digits of a number that is shown exactly, and of one that does not end within them."""


class Result:
    """Base of an answer.

    ``json_keys`` names what the JSON holds, in order. Each word is a field or property; ``key=path.to.value``
    where the key is another word, and ``*path`` for all keys of that part. Without it: every field.
    """

    __slots__ = ()
    json_keys: ClassVar[str] = ""

    def as_dict(self) -> dict[str, object]:
        """The answer for ``--json``."""
        return as_dict(self)


def as_dict(value: object) -> dict[str, object]:
    """A dataclass as a mapping that JSON knows, see :class:`Result`.

    Raises:
        TypeError: a value in it has no one form in JSON.
    """
    words = getattr(value, "json_keys", "").split() or [field.name for field in fields(value)]  # type: ignore[arg-type]
    told: dict[str, object] = {}
    for word in words:
        key, _, path = word.rpartition("=")
        part = as_json(_at(value, path.removeprefix("*")))
        if path.startswith("*"):
            told |= part if isinstance(part, dict) else {}
        else:
            told[key or path] = part
    return told


def as_json(value: object) -> object:
    """The value as JSON knows it: numbers that are no counts become text, times ISO 8601.

    Raises:
        TypeError: the value has no one form in JSON.
    """
    if value is None or type(value) in (str, int, bool, float):
        return value
    for name, arguments in (("as_dict", {}), ("model_dump", {"mode": "json"})):
        if hasattr(value, name):
            return getattr(value, name)(**arguments)
    for types, form in _FORMS:
        if isinstance(value, types):
            return form(value)
    if is_dataclass(value):
        return as_dict(value)
    msg = f"{type(value).__name__} has no one form in JSON"
    raise TypeError(msg)


def number_text(value: Fraction | Decimal) -> str:
    """The number as text: exact where it ends within 18 digits, else 15 significant digits.

    >>> number_text(Fraction(1, 8)), number_text(Fraction(1, 3)), number_text(Decimal("1.20E-30"))
    ('0.125', '0.333333333333333', '1.2e-30')
    """
    exactly = _to_digits(value, _LONGEST)
    written = exactly if Fraction(exactly) == Fraction(value) else _to_digits(value, _SHORTER)
    if written == 0:
        return "0"
    short = written.normalize()
    return f"{short:f}" if -9 <= short.adjusted() <= _LONGEST else f"{short:g}"


def _to_digits(value: Fraction | Decimal, digits: int) -> Decimal:
    context = Context(prec=digits, rounding=ROUND_HALF_EVEN)
    if isinstance(value, Fraction):
        return context.divide(Decimal(value.numerator), Decimal(value.denominator))
    return context.plus(value)


def _at(value: object, path: str) -> object:
    """The value at the end of a path of attributes; None where a part on the way is None."""
    for name in path.split("."):
        if value is None:
            return None
        value = getattr(value, name)
    return value


_FORMS: tuple[tuple[tuple[type, ...], Callable[[Any], object]], ...] = (
    ((Enum,), lambda value: value.value),
    ((date, time), lambda value: value.isoformat()),
    ((Fraction, Decimal), number_text),
    ((PurePath,), str),
    ((Mapping,), lambda value: {str(key): as_json(part) for key, part in value.items()}),
    ((set, frozenset), lambda value: [as_json(part) for part in sorted(value)]),
    ((tuple, list), lambda value: [as_json(part) for part in value]),
)
"""How a value of these types is shown."""
