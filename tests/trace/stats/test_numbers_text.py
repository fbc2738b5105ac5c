import json
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from traveler.result import Result, number_text
from traveler.text import listed, plural
from traveler.trace.stats.numbers import chance, exact, percent, short


class Colour(StrEnum):
    BLACK = "black"


@dataclass(frozen=True)
class Inner(Result):
    share: Fraction


@dataclass(frozen=True)
class Outer(Result):
    count: int
    inner: Inner
    pair: tuple[Decimal, Decimal | None]
    colour: Colour
    by_name: dict[str, Fraction]


def test_results_become_json_with_numbers_as_text_and_counts_as_numbers():
    outer = Outer(3, Inner(Fraction(1, 8)), (Decimal("1E+2"), None), Colour.BLACK, {"a": Fraction(1, 3)})
    assert json.loads(json.dumps(outer.as_dict())) == {
        "count": 3,
        "inner": {"share": "0.125"},
        "pair": ["100", None],
        "colour": "black",
        "by_name": {"a": "0.333333333333333"},
    }


@given(st.decimals(allow_nan=False, allow_infinity=False, places=6, min_value=-(10**9), max_value=10**9))
def test_a_decimal_goes_through_text_unchanged(value):
    assert exact(number_text(value)) == Fraction(value)


@given(st.fractions(max_denominator=10**7, min_value=-(10**6), max_value=10**6))
def test_any_fraction_goes_through_text_within_15_digits(value):
    assert abs(exact(number_text(value)) - value) <= abs(value) * Fraction(1, 10**14)


def test_sentences_name_numbers_as_people_do():
    assert [plural(0, "reading"), plural(1, "reading"), plural(2, "entry", "entries")] == [
        "0 readings", "1 reading", "2 entries",
    ]  # fmt: skip
    assert [listed([]), listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"], "or")] == [
        "", "a", "a and b", "a, b or c",
    ]  # fmt: skip
    assert [percent(value) for value in (Fraction(0), Fraction(1), Fraction(1, 3), Fraction(9999,
    10000))] == [
        "0 %", "100 %", "33.3 %", "99.99 %",
    ]  # fmt: skip
    assert chance(Decimal("0.0004")) == "p < 0.001"
    assert chance(Decimal("0.0312")) == "p = 0.031"
    assert short(Decimal("-0.00012345")) == "-0.000123"
