"""Every command that takes a serial finds it whole or by its end, and refuses a wrong one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from inspect import signature
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from traveler.cli.main import build, run
from traveler.cli.request import COMMANDS
from traveler.definition.serial import check_character_ok, make_serial
from traveler.finding import CannotDo
from traveler.record.plans import find_serial

FURTHER: dict[str, list[str]] = {
    "print": ["--by", "tkiln"],
    "note": ["a note", "--by", "tkiln"],
    "unit strike": ["2", "--reason", "wrong", "--by", "tkiln"],
    "adjust": ["play"],
    "release": ["--by", "qmoor"],
    "crate": ["--by", "pstrap"],
    "place": ["--to", "Bay 3", "--by", "pstrap"],
    "ship": ["--to", "Aldermoor Weavers", "--by", "sdock"],
    "stop": ["--reason", "dented", "--by", "tkiln"],
    "unit decide": ["2", "--as", "rework", "--by", "qmoor"],
    "complain": ["--text", "hums", "--by", "qmoor"],
    "unit attach": [__file__, "--by", "pstrap"],
    "enter": ["10-1", "yes", "--by", "tkiln"],
}
"""What else a command needs to be well used."""

LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"

build()
TAKERS = {
    name: "serials" in signature(listed.called).parameters
    for name, listed in COMMANDS.items()
    if {"serial", "serials"} & set(signature(listed.called).parameters)
}
"""Every command that takes a serial, and whether it takes several."""

SERIAL = make_serial("ST{variant}-{yy}{ww}-{n:04}", "2", 1, date(2026, 11, 2))
"""A serial as the small shop gives it."""


def wrong_ones(serial: str) -> list[str]:
    """Every serial with one letter or digit changed, and with two neighbors swapped."""
    found = []
    for at, right in enumerate(serial):
        if right != "-":
            found += [serial[:at] + letter + serial[at + 1 :] for letter in LETTERS if letter != right]
    for at in range(len(serial) - 1):
        if serial[at] != serial[at + 1]:
            found.append(serial[:at] + serial[at + 1] + serial[at] + serial[at + 2 :])
    return found


def words(name: str, serial: str) -> list[str]:
    return [*name.split(), serial, *FURTHER.get(name, [])]


def test_the_commands_that_take_serials_are_known() -> None:
    assert set(TAKERS) >= {
        "print", "unit blank", "note", "unit strike", "adjust", "validate", "records verify", "release",
        "crate", "place", "ship", "trace", "status",
    }  # fmt: skip


def test_every_wrong_character_and_every_swap_of_neighbours_is_seen() -> None:
    wrong = wrong_ones(SERIAL)
    assert len(wrong) > 400
    assert [serial for serial in wrong if check_character_ok(serial, ("mod37_2",))] == []


@pytest.mark.parametrize("name", TAKERS)
def test_a_wrong_serial_is_refused_and_nothing_is_written(
    name: str, shop_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for wrong in wrong_ones(SERIAL)[::170]:
        code = run([*words(name, wrong), "--shop", str(shop_folder)])
        out, err = capsys.readouterr()
        assert (code, out) == (2, ""), wrong
        assert wrong in err


@pytest.mark.parametrize("name", TAKERS)
def test_a_serial_that_was_never_given_is_refused(
    name: str, shop_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for serial in (SERIAL, f" {SERIAL.lower()} "):
        code = run([*words(name, serial), "--shop", str(shop_folder)])
        out, err = capsys.readouterr()
        assert (code, out) == (2, ""), (name, serial, err)
        assert f"there is no unit {serial.strip().upper()}" in err


@pytest.mark.parametrize("name", [name for name, several in TAKERS.items() if several])
def test_one_wrong_serial_among_several_stops_the_whole_command(
    name: str, shop_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = SERIAL[:-1] + ("0" if SERIAL[-1] != "0" else "1")
    code = run([*name.split(), SERIAL, wrong, *FURTHER.get(name, []), "--shop", str(shop_folder)])
    assert code == 2
    assert SERIAL in capsys.readouterr().err


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.sampled_from(sorted(TAKERS)), serial=st.text(max_size=30))
def test_no_text_in_place_of_a_serial_is_a_defect(
    name: str, serial: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code = run([*name.split(), *FURTHER.get(name, []), "--shop", str(tmp_path), "--", serial])
    err = capsys.readouterr().err
    assert code == 2
    assert "defect" not in err


@pytest.fixture
def units(command: Any) -> list[str]:
    """Twelve issued units; the ends of some of their serials are alike."""
    said = command("issue", "step-stool", "--variant", "2", "--count", "12", "--by", "rhale", "--json")
    return [unit["serial"] for unit in said.json["units"]]


def test_a_unit_is_found_by_its_end_and_without_hyphens(command: Any, units: list[str]) -> None:
    for serial in units:
        plain = serial.replace("-", "")
        for text in (
            serial,
            serial.lower(),
            plain,
            plain.lower(),
            serial[-5:],
            f" {serial[4:]} ",
            serial[-7:],
        ):
            said = command("status", text, "--json")
            assert (said.code, said.json["serial"]) == (0, serial), text


@dataclass(frozen=True)
class Serials:
    """As much of the records as finding a serial asks."""

    known: tuple[str, ...]

    def unit(self, serial: str) -> str | None:
        return serial if serial in self.known else None

    def serials_ending(self, end: str) -> tuple[str, ...]:
        return tuple(serial for serial in self.known if serial.replace("-", "").endswith(end))


def test_an_end_that_several_share_lists_them() -> None:
    records: Any = Serials(("AB-0017X", "CD-0017X", "7X", "AB-01"))
    with pytest.raises(CannotDo, match="'0017x' is the end of 2 serials: AB-0017X, CD-0017X") as problem:
        find_serial(records, "0017x")
    assert problem.value.hint == "give more of its characters"
    assert find_serial(records, "B-0017X") == "AB-0017X"
    assert find_serial(records, "ab01") == "AB-01"
    with pytest.raises(CannotDo):
        find_serial(records, "01")


def test_a_note_goes_to_the_unit_that_is_named_by_its_end(command: Any, units: list[str]) -> None:
    said = command("note", units[3][-5:], "Long cable.", "--by", "tkiln")
    assert said.out == f"{units[3]} #2: noted\n"
    assert command("note", "0000Z", "Long cable.", "--by", "tkiln").code == 2
    assert command("validate", units[0][-5:], units[1]).out.count("step-stool") == 2


def test_what_is_no_serial_is_told_in_words_and_the_nearest_are_named(command: Any, units: list[str]) -> None:
    told = {
        "0099": "no serial ends in '0099'; 'traveler status --all' lists the units",
        "hello": "no serial ends in 'HELLO'; 'traveler status --all' lists the units",
        "": "which unit? The serial is empty; 'traveler status --all' lists the units",
        "0002": f"no serial ends in '0002'; did you mean '{units[1]}'?",
        units[1][:-1]: f"'{units[1][:-1]}' is too short: the check character is missing; did you mean "
        f"'{units[1]}'?",
    }
    for text, sentence in told.items():
        said = command("status", text)
        assert (said.code, said.err) == (2, f"traveler: {sentence}\n"), text
    wrong = units[1][:-1] + ("0" if units[1][-1] != "0" else "1")
    assert f"did you mean '{units[1]}'" in command("status", wrong).err
    never = f"{units[1][:-5]}0088"
    assert "too short: the check character is missing" in command("status", never).err


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("trace", "--lot", "P-9001-77"), "did you mean 'P-9001/77'?"),
        (("trace", "--gauge", "IND-3"), "did you mean 'IND-03'?"),
        (("trace", "--person", "tklin"), "did you mean 'tkiln'?"),
        (("trace", "--order", "4417"), "did you mean '4471'?"),
        (("trace", "--customer", "Nobody"), "there is none"),
        (("case", "contain", "{unit}", "--lot", "P-9001-77"), "did you mean 'P-9001/77'?"),
        (("print", "--by", "rhale", "--order", "4417"), "did you mean '4471'?"),
    ],
)
def test_an_unknown_name_does_not_read_as_if_no_unit_were_affected(
    command: Any, words: tuple[str, ...], hint: str
) -> None:
    given = ("step-stool", "--variant", "2", "--order", "4471", "--by", "rhale")
    unit = str(command("issue", *given, "--json").json["units"][0]["serial"])
    assert command("enter", unit, "10-2", "P-9001/77", "--by", "tkiln").code == 0
    assert command("complain", unit, "--text", "It wobbles", "--by", "sdock").code == 0
    said = command(*(word.format(unit=unit) for word in words))
    assert (said.code, said.out) == (2, "")
    assert said.err.endswith(f"; {hint}\n")


def test_a_gauge_that_was_not_used_yet_is_no_unknown_gauge(command: Any, units: list[str]) -> None:
    said = command("trace", "--gauge", "IND-03")
    assert (said.code, said.out) == (0, "no unit has the gauge IND-03\n")


def test_a_unit_cannot_have_been_wanted_before_today(command: Any) -> None:
    words = ("issue", "step-stool", "--variant", "2", "--by", "rhale", "--due")
    said = command(*words, "2020-01-01")
    assert (said.code, "the due day 2020-01-01 is in the past" in said.err) == (2, True)
    assert command(*words, "2026-11-02").code == 0
