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
