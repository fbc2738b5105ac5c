"""PINs: which are good enough, and that their hashes tell right from wrong, also for a person without one."""

from __future__ import annotations

import argon2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.shop import people as pins
from traveler.shop.people import HASH, NOBODYS, hash_is_old, hash_pin, pin_is_right, weak_pin


@pytest.fixture
def light(monkeypatch: pytest.MonkeyPatch):
    """Small parameters: these tests are about right and wrong, not about cost."""
    monkeypatch.setattr(pins, "MEMORY_KIB", 8)
    monkeypatch.setattr(pins, "TIME_COST", 1)
    monkeypatch.setattr(pins, "LANES", 1)
    pins._hasher.cache_clear()
    yield
    pins._hasher.cache_clear()


WEAK = {
    "0000": "repeats one digit", "777777": "repeats one digit", "1234": "counts up or down",
    "7890": "counts up or down", "4321": "counts up or down", "0987": "counts up or down",
    "1212": "repeats a few digits", "369369": "repeats a few digits", "1984": "could be a year",
    "2026": "could be a year", "2580": "is one that many people choose",
}  # fmt: skip


@pytest.mark.parametrize("pin", WEAK)
def test_a_pin_that_is_easy_to_guess_is_refused(pin: str) -> None:
    (found,) = weak_pin(pin)
    assert (found.code, found.what) == ("PIN006", f"this PIN {WEAK[pin]}")


@pytest.mark.parametrize("pin", ["4826", "90317", "704915", "112358132134"])
def test_a_pin_without_a_pattern_is_taken(pin: str) -> None:
    assert weak_pin(pin) == []


@pytest.mark.parametrize("pin", ["", "482", "4826 ", " 4826", "48a6", "٤٨٢٦", "4826\n", "-4826", "48.6"])
def test_a_pin_is_digits_and_not_too_few(pin: str) -> None:
    assert [finding.code for finding in weak_pin(pin)] == ["PIN006"]


def test_a_shop_asks_for_longer_pins_and_none_is_endless() -> None:
    assert weak_pin("4826", least=6)[0].what == "a PIN has 6 to 12 digits; found 4"
    assert weak_pin("482615937048260") != []
    assert weak_pin("482615", least=6) == []


def test_the_digits_of_the_id_are_no_pin() -> None:
    assert weak_pin("4826", person="press4826")[0].what == "this PIN is in the id"


@given(st.text(max_size=20))
def test_any_text_is_answered(text: str) -> None:
    found = weak_pin(text)
    assert found == [] or [finding.code for finding in found] == ["PIN006"]


def test_a_hash_tells_its_pin_from_every_other(light: None) -> None:
    hashed = hash_pin("4826")
    assert HASH.fullmatch(hashed)
    assert pin_is_right(hashed, "4826")
    assert not any(pin_is_right(hashed, wrong) for wrong in ("4827", "4826 ", "", "04826", "4826\n"))


def test_two_hashes_of_one_pin_differ(light: None) -> None:
    assert hash_pin("4826") != hash_pin("4826")


@pytest.mark.parametrize(
    "hashed", [None, "", "4826", "$argon2id$", "$argon2i$v=19$m=8,t=1,p=1$c2FsdHNhbHQ$aGFzaA"]
)
def test_what_is_no_hash_is_never_right(light: None, hashed: str | None) -> None:
    assert not pin_is_right(hashed, "4826")
    assert not pin_is_right(hashed, hashed or "")


def test_whoever_has_no_pin_is_checked_at_the_same_cost() -> None:
    """The stand-in has the parameters in use, so that an answer takes as long; a change must renew it."""
    pins._hasher.cache_clear()
    assert not hash_is_old(NOBODYS)
    used = argon2.extract_parameters(hash_pin("4826"))
    assert argon2.extract_parameters(NOBODYS) == used
    assert (used.type, used.time_cost, used.memory_cost, used.parallelism) == (argon2.Type.ID, 3, 65_536, 4)


def test_a_hash_of_other_parameters_is_old(light: None, monkeypatch: pytest.MonkeyPatch) -> None:
    hashed = hash_pin("4826")
    assert not hash_is_old(hashed)
    monkeypatch.setattr(pins, "TIME_COST", 2)
    pins._hasher.cache_clear()
    assert hash_is_old(hashed)
    assert pin_is_right(hashed, "4826"), "an older hash still tells right from wrong"
