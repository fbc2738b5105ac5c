"""Whatever text comes, the parsers answer or say why not: never another exception."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from traveler.measure.limits import parse_fit, parse_limits
from traveler.measure.number import Unreadable, parse_number
from traveler.measure.quantity import parse_quantity, parse_unit

PARSERS: dict[str, Callable[[str], object]] = {
    "number": parse_number,
    "unit": parse_unit,
    "quantity": parse_quantity,
    "quantity beside mm": lambda text: parse_quantity(text, "mm"),
    "quantity beside deg": lambda text: parse_quantity(text, "deg"),
    "limits": parse_limits,
    "fit": parse_fit,
}
WORDS = [
    "24",
    "1.5",
    "0,05",
    "1 3/8",
    "5e-2",
    "1e30",
    "0",
    "-",
    "+",
    "±",
    "+/-",
    "/",
    "·",
    " ",
    " to ",
    "max ",
    "min ",
    "≤",
    "N·m",
    "mm",
    "in",
    "deg",
    "°",
    "'",
    '"',
    "°C",
    "%",
    "H7",
    "g6",
    "ISO 2768-m",
    " leg ",
    "R",
    "expected",
    "m",
    "^",
    "²",
    "⁻",
    "2",
    "kg",
    "Ω",
    "delta ",
    "C",
    "(",
    ")",
    ".",
    ",",
    "_",
    "x",
    "⌀",
    "\u00a0",
    "٣",
    "½",
]
texts = st.one_of(
    st.text(max_size=60),
    st.lists(st.sampled_from(WORDS), max_size=9).map("".join),
    st.lists(st.sampled_from(WORDS), max_size=9).map(" ".join),
    st.from_regex(r"[0-9.,/ +\-±°'\"eE]{0,20}[A-Za-z·/^0-9]{0,8}", fullmatch=True),
)


@pytest.mark.parametrize("name", PARSERS)
@given(text=texts)
@example(text="\x00")
@example(text="°" * 50)
@example(text="9" * 5000)
@example(text="1e999999999999")
@example(text="m" * 150)
@example(text="5 " + "m^9·" * 40 + "m")
@example(text="24 ± 1 %" * 20)
@example(text="\ud800 mm")
def test_any_text_is_read_or_refused_with_a_code(name: str, text: str) -> None:
    refusal = refused(PARSERS[name], text)
    if refusal is not None:
        assert re.fullmatch(r"[A-Z]{3}[0-9]{3}", refusal.code)
        assert refusal.what
        assert str(refusal).startswith(f"{refusal.code} {refusal.what}")


def refused(parse: Callable[[str], object], text: str) -> Unreadable | None:
    try:
        parse(text)
    except Unreadable as refusal:
        return refusal
    return None


def test_a_refusal_says_code_what_hint_and_span() -> None:
    refusal = Unreadable("NUM001", "'x' is not a number", "write digits", (0, 1))
    assert str(refusal) == "NUM001 'x' is not a number; write digits"
    assert (refusal.code, refusal.what, refusal.hint, refusal.span) == (
        "NUM001", "'x' is not a number", "write digits", (0, 1),
    )  # fmt: skip
    assert str(Unreadable("NUM001", "no")) == "NUM001 no"
