"""Every command that takes a serial refuses one that cannot be right, before it looks anything up."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer.main
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from traveler.cli.main import build, run
from traveler.definition.serial import check_character_ok, make_serial

FURTHER: dict[str, list[str]] = {
    "print": ["--by", "tkiln"],
    "note": ["a note", "--by", "tkiln"],
    "strike": ["2", "--reason", "wrong", "--by", "tkiln"],
    "adjust": ["play"],
    "release": ["--by", "qmoor"],
    "crate": ["--by", "pstrap"],
    "place": ["--where", "Bay 3", "--by", "pstrap"],
    "ship": ["--to", "Aldermoor Weavers", "--by", "sdock"],
    "stop": ["--what", "dented", "--by", "tkiln"],
    "decide": ["2", "--as", "rework", "--by", "qmoor"],
    "complain": ["--text", "hums", "--by", "qmoor"],
    "attach": [__file__, "--by", "pstrap"],
    "enter": ["10-1", "yes", "--by", "tkiln"],
}
"""What else a command needs to be well used."""

LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def takers() -> Iterator[tuple[str, bool]]:
    """Every command with an argument SERIAL, and whether it takes several."""

    def walk(one: Any, name: tuple[str, ...]) -> Iterator[tuple[str, bool]]:
        if hasattr(one, "commands"):
            for part, inside in one.commands.items():
                yield from walk(inside, (*name, part))
            return
        for parameter in one.params:
            if parameter.metavar == "SERIAL":
                yield " ".join(name), parameter.nargs != 1

    yield from walk(typer.main.get_command(build()), ())


TAKERS = dict(takers())


@pytest.fixture(scope="module")
def given_serial() -> str:
    """A serial as the small shop gives it."""
    from datetime import date

    return make_serial("ST{variant}-{yy}{ww}-{n:04}", "2", 1, date(2026, 11, 2))


def wrong_ones(serial: str) -> Iterator[str]:
    """Every serial with one letter or digit changed, and with two neighbours swapped."""
    for at, right in enumerate(serial):
        if right != "-":
            yield from (serial[:at] + letter + serial[at + 1 :] for letter in LETTERS if letter != right)
    for at in range(len(serial) - 1):
        if serial[at] != serial[at + 1]:
            yield serial[:at] + serial[at + 1] + serial[at] + serial[at + 2 :]


def test_the_commands_that_take_serials_are_known() -> None:
    assert set(TAKERS) >= {
        "print", "blank", "note", "strike", "adjust", "validate", "verify", "release", "crate", "place",
        "ship", "trace",
    }  # fmt: skip


def test_every_wrong_character_and_every_swap_of_neighbours_is_seen(given_serial: str) -> None:
    wrong = list(wrong_ones(given_serial))
    assert len(wrong) > 400
    assert [text for text in wrong if check_character_ok(text, ("mod37_2",))] == []


@pytest.mark.parametrize("name", TAKERS)
def test_a_wrong_serial_is_refused_before_anything_is_looked_up(
    name: str, given_serial: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In a folder without a shop: what is refused there was refused without looking anything up."""
    for wrong in list(wrong_ones(given_serial))[::19]:
        code = run([name, wrong, *FURTHER.get(name, []), *shop_option(name, tmp_path)])
        out, err = capsys.readouterr()
        assert (code, out) == (2, ""), wrong
        assert "check character does not fit" in err or "is not a serial" in err
        assert wrong in err


@pytest.mark.parametrize("name", TAKERS)
def test_a_serial_that_was_never_given_is_told_so(
    name: str, given_serial: str, shop_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for serial in (given_serial, f" {given_serial.lower()} "):
        code = run([name, serial, *FURTHER.get(name, []), "--shop", str(shop_folder)])
        out, err = capsys.readouterr()
        assert (code, out) == (2, ""), (name, serial, err)
        assert f"there is no unit {serial.strip().upper()}" in err


@pytest.mark.parametrize("name", [text for text, several in TAKERS.items() if several])
def test_one_wrong_serial_among_several_stops_the_whole_command(
    name: str, given_serial: str, shop_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = given_serial[:-1] + ("0" if given_serial[-1] != "0" else "1")
    code = run([name, given_serial, wrong, *FURTHER.get(name, []), "--shop", str(shop_folder)])
    assert code == 2
    assert wrong in capsys.readouterr().err


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.sampled_from(sorted(TAKERS)), serial=st.text(max_size=30))
def test_no_text_in_place_of_a_serial_is_a_defect(
    name: str, serial: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code = run([name, *FURTHER.get(name, []), *shop_option(name, tmp_path), "--", serial])
    err = capsys.readouterr().err
    assert code == 2
    assert "defect" not in err


def shop_option(name: str, folder: Path) -> list[str]:
    return ["--shop", str(folder)]
