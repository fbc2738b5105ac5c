"""Serials: their pattern, and a check character that lets nothing through."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_2

from traveler.definition.serial import (
    EXAMPLE,
    check_character,
    check_character_ok,
    make_serial,
    mistakable,
    pattern_problems,
    serial_problem,
    tidy_serial,
)

REFERENCE = Path(__file__).parents[1] / "reference" / "serial_check.yaml"
ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-"
PATTERN = "BW{variant}-{yy}{ww}-{n:04}"
DAY = date(2026, 9, 21)
ONLY = ("mod37_2",)


def fits(serial: str) -> bool:
    return check_character_ok(serial, ONLY)


def cases(operation: str) -> list[Any]:
    content = yaml.load(REFERENCE.read_text(encoding="utf-8"), Loader=yaml.CBaseLoader)  # noqa: S506
    return [pytest.param(case, id=case["id"]) for case in content["cases"] if case["op"] == operation]


@pytest.mark.parametrize("case", cases("check_character"))
def test_check_characters_agree_with_the_reference(case: dict[str, Any]) -> None:
    system = "mod37_36" if case["input"]["system"] == "MOD 37,36" else "mod37_2"
    payload = case["input"]["payload"]
    assert check_character(payload, system) == case["expect"]["check"]
    assert payload + check_character(payload, system) == case["expect"]["full"]


@pytest.mark.parametrize("case", cases("error_detection"))
def test_error_detection_agrees_with_the_reference(case: dict[str, Any]) -> None:
    full = case["input"]["full"]
    assert fits(full)
    unseen = {
        "undetected_single_substitutions_in_payload": sum(map(fits, wrong_characters(full))),
        "undetected_adjacent_transpositions_in_payload": sum(map(fits, swaps(full))),
    }
    assert {name: str(count) for name, count in unseen.items()} == case["expect"]


@pytest.mark.parametrize("payload", ["", "-", "bw", "BW 1", "BW*1", "Ä", "١"])
def test_a_payload_outside_the_alphabet_is_refused(payload: str) -> None:
    with pytest.raises(ValueError, match="something else"):
        check_character(payload)


def next_serials(
    pattern: str, variant: str, today: date, after_n: int, count: int, product: str = ""
) -> list[tuple[int, str]]:
    """The next running numbers with a serial that can be given, as issuing takes them."""
    numbered = ((n, make_serial(pattern, variant, n, today, product)) for n in itertools.count(after_n + 1))
    return list(itertools.islice((pair for pair in numbered if check_character_ok(pair[1], ONLY)), count))


def wrong_characters(serial: str) -> Iterator[str]:
    for at, right in enumerate(serial):
        for wrong in ALPHABET:
            if wrong != right:
                yield serial[:at] + wrong + serial[at + 1 :]


def swaps(serial: str) -> Iterator[str]:
    for at in range(len(serial) - 1):
        if serial[at] != serial[at + 1]:
            yield serial[:at] + serial[at + 1] + serial[at] + serial[at + 2 :]


@pytest.mark.parametrize("pattern", [PATTERN, "EP-{yy}{ww}-{n:03}", "{product}{n}", "X-{yyyy}-{mm}-{n:05}"])
def test_no_wrong_character_and_no_swap_goes_unseen(pattern: str) -> None:
    serials = [text for _, text in next_serials(pattern, "4", DAY, 0, 40, "LATHE")]
    for serial in serials:
        assert serial_problem(serial) is None
        assert not any(map(fits, wrong_characters(serial)))
        assert not any(map(fits, swaps(serial)))


@pytest.mark.long
def test_no_wrong_character_and_no_swap_goes_unseen_in_many_serials() -> None:
    tried = 0
    for variant in "48":
        for week in range(1, 53, 3):
            day = date.fromisocalendar(2026, week, 1)
            for _, serial in next_serials(PATTERN, variant, day, week * 40, 20):
                for wrong in (*wrong_characters(serial), *swaps(serial)):
                    tried += 1
                    assert serial_problem(wrong, ONLY) is not None
    print(f"{tried} wrong serials tried, none taken")
    assert tried > 300_000


def test_the_other_system_misses_swaps_that_no_skipping_avoids() -> None:
    """Why MOD 37-2 is advised: MOD 37,36 has no character for a hyphen, so swaps with one are never seen."""
    serial = make_serial(PATTERN, "4", 1, DAY, system="mod37_36")
    assert check_character_ok(serial, ("mod37_36",))
    assert mistakable(serial, "mod37_36")[:2] == ["BW-42639-00016", "BW42-639-00016"]
    assert mistakable(make_serial(PATTERN, "4", 1, DAY)) == []


@pytest.mark.parametrize("n", range(1, 40))
def test_the_other_system_finds_every_wrong_letter_or_digit(n: int) -> None:
    serial = make_serial(PATTERN, "8", n, DAY, system="mod37_36")
    wrong = [character for character in wrong_characters(serial) if character.count("-") == serial.count("-")]
    assert not any(check_character_ok(character, ("mod37_36",)) for character in wrong)


def test_anybody_can_verify_a_serial_with_the_standard_alone() -> None:
    """A hyphen is the 37th character, which ISO/IEC 7064 writes ``*``."""
    for _, serial in next_serials(PATTERN, "4", DAY, 0, 20):
        assert mod_37_2.is_valid(serial.replace("-", "*"))


def test_look_alike_check_characters_are_skipped() -> None:
    given_numbers = dict(next_serials(PATTERN, "4", DAY, 0, 200))
    skipped = set(range(1, max(given_numbers) + 1)) - set(given_numbers)
    assert {make_serial(PATTERN, "4", n, DAY)[-1] for n in skipped} == {"I", "O", "*"}
    assert {serial[-1] for serial in given_numbers.values()}.isdisjoint("IO*")
    assert len(skipped) / max(given_numbers) < 0.12


def test_a_serial_with_a_look_alike_check_character_was_never_given() -> None:
    serial = next(text for n in range(1, 400) if (text := make_serial(PATTERN, "4", n, DAY))[-1] == "O")
    assert serial_problem(serial) is not None


@pytest.mark.parametrize(
    ("pattern", "day", "expected"),
    [
        ("BW{variant}-{yy}{ww}-{n:04}", date(2026, 9, 21), "BW4-2639-0007"),
        ("{yy}{ww}-{n}", date(2027, 1, 1), "2653-7"),  # 1 January 2027 lies in week 53 of 2026 (ISO 8601)
        ("{yyyy}{ww}-{n}", date(2024, 12, 30), "202501-7"),
        ("{yy}{mm}-{n}", date(2027, 1, 1), "2701-7"),
        ("{product}-{n:02}", date(2026, 9, 21), "BENCH-LATHE-07"),
    ],
)
def test_the_fields_of_a_pattern(pattern: str, day: date, expected: str) -> None:
    assert make_serial(pattern, "4", 7, day, "bench-lathe")[:-1] == expected
    assert pattern_problems(pattern) == []


def test_more_units_than_digits_get_longer_serials() -> None:
    assert make_serial("X-{n:02}", "4", 123, DAY)[:-1] == "X-123"


@pytest.mark.parametrize("written", ["bw4-2639-00011", "  BW4-2639-00011\n", "Bw4-2639-00011"])
def test_case_and_blanks_at_the_ends_do_not_count(written: str) -> None:
    assert serial_problem(written) is None
    assert tidy_serial(written) == "BW4-2639-00011"


@pytest.mark.parametrize(
    "written",
    [
        "",
        " ",
        "-",
        "1",
        "BW4--2639-00011",
        "-BW4-2639-00011",
        "BW4-2639-00011-",
        "BW4 2639 00011",
        "BW4_2639",
        "ß",
        "ı1",
        "1" * 25,
    ],
)
def test_what_is_no_serial_is_told(written: str) -> None:
    finding = serial_problem(written)
    assert finding is not None
    assert finding.code == "SER002"
    assert finding.hint


def test_a_wrong_check_character_is_told_with_the_serial() -> None:
    finding = serial_problem("bw4-2639-00012")
    assert finding is not None
    assert (finding.code, finding.place.unit) == ("SER001", "BW4-2639-00012")
    assert "BW4-2639-00012" in finding.what


@pytest.mark.parametrize(
    ("written", "reason"),
    [
        ("BW4-2639-00012", "a character is wrong, or two changed places"),
        ("BW4263900011", "its hyphens are missing, or a character is wrong"),
        ("BW4-263", "it is too short, or a character is wrong"),
        ("BW4 2639 00011", "it contains a space"),
        ("BW4_2639", "it contains '_'"),
        ("B", "it is too short, 2 to 24 characters are expected"),
        ("1" * 25, "it is too long, 2 to 24 characters are expected"),
        ("BW4--2639-00011", "a hyphen is at an end or beside another"),
    ],
)
def test_a_refused_serial_says_what_is_wrong_with_it_and_shows_one(written: str, reason: str) -> None:
    finding = serial_problem(written)
    assert finding is not None
    assert reason in finding.what
    assert finding.hint.endswith(f"like {EXAMPLE}")
    assert check_character_ok(EXAMPLE)


@given(st.text(max_size=30))
def test_any_text_is_answered(text: str) -> None:
    finding = serial_problem(text)
    assert finding is None or finding.code in ("SER001", "SER002")
