"""Turns of a screw as a person says and writes them, and advice for a screw or a bend."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from fractions import Fraction

from traveler.measure.adjust.advice import (
    Advice,
    advice_to,
    aim,
    comfortable,
    decimals_of,
    effect_per,
    gain_in,
    shown_quantity,
    value_of,
)
from traveler.measure.limits import Limits
from traveler.measure.number import Unreadable, display_number, round_to, to_decimals
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.text import plural

PAIRS = (
    ("clockwise", "counter-clockwise"),
    ("cw", "ccw"),
    ("clockwise", "counterclockwise"),
    ("clockwise", "anti-clockwise"),
    ("clockwise", "anticlockwise"),
    ("right", "left"),
    ("in", "out"),
    ("up", "down"),
    ("more", "less"),
    ("tighter", "looser"),
    ("tighten", "loosen"),
    ("add", "remove"),
    ("larger", "smaller"),
    ("en sentido horario", "en sentido antihorario"),
    ("a la derecha", "a la izquierda"),
)
"""Directions and their opposites."""

_SIGN = {word: sign for pair in PAIRS for word, sign in zip(pair, (1, -1), strict=True)}
_OTHER = {word: other for pair in reversed(PAIRS) for word, other in (pair, pair[::-1])}
_LONGEST_FIRST = sorted(_SIGN, key=len, reverse=True)
_SEEN_FROM = re.compile(r",? +(seen|viewed|looking|visto|vista)\b.*$", re.IGNORECASE)
_EIGHTHS = ("", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞")
_FRACTIONS = str.maketrans({
    "¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3",
    "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
})  # fmt: skip
GRIDS = (Fraction(1, 8), Fraction(1, 24), Fraction(1, 72), Fraction(1, 360), Fraction(1, 3600))
"""Steps a hand can turn to, coarsest first: eighths, 15°, 5°, 1°, and at worst a tenth of a degree."""


def opposite(direction: str) -> str:
    """The direction that undoes this one; what follows its word (``seen from above``) stays.

    >>> opposite("clockwise seen from above")
    'counter-clockwise seen from above'
    """
    plain = direction.strip()
    for word in _LONGEST_FIRST:
        if plain.casefold() == word or plain.casefold().startswith((f"{word} ", f"{word},")):
            return _OTHER[word] + plain[len(word) :]
    return f"the other way than {plain}"


def spoken_turns(turns: Fraction) -> str:
    """A number of turns, without its sign, as a person says it: ``¼``, ``1⅜``, ``2 full turns``, ``35°``.

    >>> spoken_turns(Fraction(11, 8)), spoken_turns(Fraction(-1, 36))
    ('1⅜', '10°')
    """
    size = abs(turns)
    whole, rest = divmod(size, 1)
    count = plural(whole, "full turn") if whole else ""
    if rest == 0:
        return count or "0"
    if (rest * 8).denominator == 1:
        return f"{whole or ''}{_EIGHTHS[int(rest * 8)]}"
    degrees = f"{display_number(to_decimals(rest * 360, 1))}°"
    return f"{count} and {degrees}" if count else degrees


def rounded_turns(turns: Fraction, good: Callable[[Fraction], bool]) -> Fraction:
    """The turns on the coarsest of ``GRIDS`` that is still ``good`` enough; on the finest if none is."""
    found = turns
    for grid in GRIDS:
        found = round_to(turns, grid)
        if good(found):
            return found
    return found


def parse_adjustment(text: str, by: str = "turn") -> Fraction:
    """How far somebody adjusted, in the unit ``by``; positive in the first direction of its pair.

    A number without a unit is in ``by``. A direction may stand before or behind; without one the sign rules.

    >>> parse_adjustment("turn ¼ clockwise"), parse_adjustment("90° left")
    (Fraction(1, 4), Fraction(-1, 4))

    Raises:
        Unreadable: ADJ006.
    """
    sign, amount = _divided(text)
    amount = "1/2" if amount in ("half a turn", "half turn", "half") else amount
    try:
        found = parse_quantity(amount, by).to(by).value
    except Unreadable as problem:
        what = f"adjustment {text!r} is not understood: {problem.what}"
        raise Unreadable("ADJ006", what, "write it like '1/4 turn clockwise' or '0.1 mm in'") from problem
    if sign and found < 0:
        raise Unreadable("ADJ006", f"adjustment {text!r} has a minus sign and a direction", "write only one")
    return found * (_SIGN[sign] if sign else 1)


def directions_in(text: str) -> tuple[str, str] | None:
    """The pair that the direction of a noted adjustment belongs to, the positive one first; None without."""
    word, _ = _divided(text)
    return next((pair for pair in PAIRS if word in pair), None)


def has_amount(text: str) -> bool:
    """Whether a note says an amount at all: ``half a turn`` does, ``tension screw`` does not."""
    return "half" in text.casefold() or any(sign.isnumeric() for sign in text)


def _divided(text: str) -> tuple[str, str]:
    """The word of direction that the text begins or ends with (empty if there is none), and the amount."""
    plain = _SEEN_FROM.sub("", " ".join(text.translate(_FRACTIONS).split()))
    plain = re.sub(r"^turn (it )?|\bfull (?=turns?\b)", "", plain, flags=re.IGNORECASE)
    folded = plain.casefold()
    for word in _LONGEST_FIRST:
        if folded.endswith(f" {word}"):
            return word, plain[: -len(word)].strip()
        if folded.startswith(f"{word} "):
            return word, plain[len(word) :].strip()
    return "", plain


def screw_advice(values: Mapping[str, str], limits: Limits, reading: Quantity) -> Advice:
    """One screw: the way to the aim over the effect of a turn (``effect``, ``increases``)."""
    effect = effect_per(value_of(values, "effect", "screw"), limits.unit, "turn")
    increases = value_of(values, "increases", "screw")
    exact = (aim(limits) - reading.value) / effect
    return turn_advice(limits, reading, exact, effect, (increases, opposite(increases)), values["effect"])


def turn_advice(
    limits: Limits, reading: Quantity, exact: Fraction, effect: Fraction, ways: tuple[str, str], why: str
) -> Advice:
    """Advice to turn a screw about so far, rounded to what a hand can do.

    ``ways`` are the directions of positive and negative turns.
    """
    turns = rounded_turns(exact, lambda some: comfortable(limits, reading.value + some * effect))
    direction = ways[0] if turns > 0 else ways[1]
    text = f"turn {spoken_turns(turns)} {direction}"
    return advice_to(text, limits, reading, reading.value + turns * effect, (turns, "turn", direction), why)


def bend_advice(values: Mapping[str, str], limits: Limits, reading: Quantity) -> Advice:
    """A bend over or under its angle: correct by gain × deviation from the aim (``bend``: the gain)."""
    written = value_of(values, "bend", "bend")
    gain, unit = gain_in(written, limits.unit)
    change = gain * (aim(limits) - reading.value)
    decimals = decimals_of(reading, limits) + (0 if unit == limits.unit else 2)
    direction = "larger" if change > 0 else "smaller"
    text = f"set the bend {shown_quantity(abs(change), unit, decimals).written} {direction}"
    return advice_to(text, limits, reading, aim(limits), (change, unit, direction), f"gain {written}")
