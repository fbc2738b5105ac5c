"""PINs: where one comes from, and what a wrong one does."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Command = Callable[..., Any]
RIGHT, WRONG = "4826", "5937"

pytestmark = pytest.mark.usefixtures("light_pins")


def test_the_pin_comes_from_a_file_from_standard_input_from_the_terminal_or_from_the_environment(
    command: Command, units: list[str], pin: Path, monkeypatch: pytest.MonkeyPatch, terminal: Any
) -> None:
    command("stop", units[0], "--reason", "dent", "--by", "tkiln")
    ask = ("unit", "decide", units[0], "2", "--as", "no-fault", "--by", "qmoor", "--json")
    assert command(*ask).codes == {"PIN004"}
    assert command(*ask, "--pin-file", pin).json["entry"]["body"]["pin_checked"]
    monkeypatch.setattr(sys, "stdin", io.StringIO(RIGHT))
    assert command(*ask, "--pin-file", "-").code == 0
    monkeypatch.setenv("TRAVELER_PIN", RIGHT)
    assert command(*ask).code == 0
    monkeypatch.setenv("TRAVELER_PIN", WRONG)
    asked = terminal(RIGHT)
    assert command(*ask).code == 0, "a person at the terminal is asked, whatever the environment says"
    assert asked == ["PIN of qmoor: "]


def test_a_wrong_pin_writes_nothing_and_locks_out_whatever_the_time_is_said_to_be(
    command: Command, units: list[str], pin: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    command("stop", units[0], "--reason", "dent", "--by", "tkiln")
    ask = ("unit", "decide", units[0], "2", "--as", "no-fault", "--by", "qmoor", "--json")
    monkeypatch.setenv("TRAVELER_PIN", WRONG)
    assert [command(*ask).codes for _ in range(3)] == [{"PIN001"}, {"PIN001"}, {"PIN003"}]
    monkeypatch.setenv("TRAVELER_PIN", RIGHT)
    for now in ("2036-01-01T00:00:00+00:00", "1999-01-01T00:00:00+00:00"):
        assert command(*ask, now=now).codes == {"PIN003"}, "the clock of the records is another one"
    assert command("unit", "stops", "--json").json["stops"][0]["state"] == "open"


def test_one_pin_serves_all_units_of_a_command(
    command: Command, units: list[str], pin: Path, monkeypatch: pytest.MonkeyPatch, terminal: Any
) -> None:
    asked = terminal(RIGHT)
    said = command("release", *units, "--by", "qmoor", "--json")
    assert asked == ["PIN of qmoor: "]
    assert said.code == 1
    assert "PIN004" not in said.codes


@pytest.mark.parametrize("content", [b"", b"\n", b"\xff\xfe", b"\x00" * 5000, None])
def test_a_file_without_a_pin_is_no_traceback(
    command: Command, units: list[str], pin: Path, tmp_path: Path, content: bytes | None
) -> None:
    file = tmp_path / "odd.txt"
    if content is not None:
        file.write_bytes(content)
    said = command("release", units[0], "--by", "qmoor", "--pin-file", file, "--json")
    assert said.code in (1, 2)
    assert said.json["exit"] == said.code
