"""The expected gross mass, exactly."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.definition.expand import expected_gross_mass
from traveler.definition.mass import total, with_expected
from traveler.definition.model import Definition
from traveler.definition.setting import VariantSetting
from traveler.measure.limits import parse_limits
from traveler.measure.number import Unreadable
from traveler.measure.quantity import parse_quantity


@pytest.mark.parametrize(
    ("masses", "expected"),
    [
        ([(1, "46 kg"), (4, "210 g"), (1, "18.5 kg")], "65.34 kg"),
        ([(1, "0.1 kg"), (1, "0.2 kg")], "0.3 kg"),
        ([(1, "20 kg")], "20.0 kg"),
        ([(1, "10 lb"), (2, "3 1/2 lb")], "17.0 lb"),
        ([(1, "1 kg"), (1, "1 lb")], "1.45359237 kg"),  # 1 lb = 0.45359237 kg exactly (NIST SP 811, B.8)
        ([(1, "1 lb"), (1, "1 kg")], "1.45359237 kg"),  # the sum in lb would never end
        ([(Fraction(1, 2), "3 kg")], "1.5 kg"),
    ],
)
def test_masses_add_up_exactly(masses: list[tuple[int, str]], expected: str) -> None:
    assert total((Fraction(count), mass) for count, mass in masses) == expected


@given(st.lists(st.tuples(st.integers(1, 50), st.integers(1, 10**6)), min_size=1, max_size=20))
def test_the_sum_does_not_depend_on_the_order(lines: list[tuple[int, int]]) -> None:
    masses = [(Fraction(count), f"{grams} g") for count, grams in lines]
    assert total(masses) == total(reversed(masses))
    assert parse_quantity(total(masses)).value == sum(count * grams for count, grams in lines)


def test_what_is_no_mass_is_refused() -> None:
    with pytest.raises(Unreadable):
        total([(Fraction(1), "20 kg"), (Fraction(1), "3 mm")])


@pytest.mark.parametrize(
    ("limits", "expected", "text"),
    [
        ("expected ± 0.4 kg", "65.34 kg", "65.34 ± 0.4 kg"),
        ("expected +0.5/-0.2 kg", "65.34 kg", "65.34 +0.5/-0.2 kg"),
        ("expected ± 1 lb", "65.34 kg", "65.34 kg ± 1 lb"),
        ("expected ± 2 %", "65.0 kg", "65.0 kg ± 2 %"),
        ("max 5 kg", "65.34 kg", "max 5 kg"),
        ("expected ± 0.4 kg", None, "expected ± 0.4 kg"),
    ],
)
def test_expected_is_replaced_in_limits(limits: str, expected: str | None, text: str) -> None:
    assert with_expected(limits, expected) == text


def test_limits_with_another_unit_keep_their_meaning() -> None:
    read = parse_limits(with_expected("expected ± 1 lb", "65.34 kg"))
    assert read.upper == Fraction("65.34") + Fraction("0.45359237")


def test_a_mass_that_is_not_given_leaves_the_sum_unknown(
    write: Callable[..., str], good: Callable[[str], Definition]
) -> None:
    crating = """\
        crating:
          crate: {title: A, empty_mass: 5 kg}
          packing_list: [{item: Lathe, mass: variant}, {item: Key}]
    """
    assert expected_gross_mass(VariantSetting(good(write(crating=crating)), "2")) is None
    assert (
        expected_gross_mass(VariantSetting(good(write(crating="crating: {crate: {title: A}}\n")), "2"))
        is None
    )
    assert expected_gross_mass(VariantSetting(good(write(crating="")), "2")) is None
    assert expected_gross_mass(VariantSetting(good(write()), "2")) == "25.0 kg"
