"""``stop``, ``unit stops`` and ``unit decide``: what is asked, what is answered."""

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


def test_a_unit_is_stopped_listed_decided_and_told(command: Command, units: list[str]) -> None:
    stopped = command("stop", units[0], "--reason", "Side plate dented", "--by", "tkiln")
    assert (stopped.code, stopped.out) == (0, f"{units[0]} #2: stopped\n")
    listed = command("unit", "stops", "--json")
    assert [(stop["serial"], stop["stop"], stop["what"]) for stop in listed.json["stops"]] == [
        (units[0], 2, "Side plate dented")
    ]
    decided = command(
        "unit", "decide", units[0], "2", "--as", "rework", "--measure-again", "play", "--by", "qmoor"
    )
    assert decided.code == 0
    assert "rework decided on #2; do it, then measure again: play" in decided.out
    assert command("unit", "stops").out == "nothing is stopped\n"
    assert "rework" in command("unit", "stops", "--all").out
    told = command("trace", units[0]).out
    assert "stopped: Side plate dented" in told
    assert "to be re-measured: play" in " ".join(told.split())


def test_a_stopped_unit_is_not_released(command: Command, units: list[str]) -> None:
    command("stop", units[0], "--reason", "dent", "--by", "tkiln")
    refused = command("release", units[0], "--by", "qmoor", "--json")
    assert refused.code == 1
    assert {"GAT001", "NON001"} <= refused.codes


def test_a_list_from_a_file_or_standard_input_stops_each_unit_or_says_why_not(
    command: Command, units: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wrong = units[1][:-1] + ("A" if units[1][-1] != "A" else "B")
    file = tmp_path / "affected.csv"
    file.write_text(f"where,serial\nBay 3,{units[0]}\nBay 4,{wrong}\n")
    said = command("stop", "--file", file, "--reason", "Lot P-9001/77 is soft", "--by", "qmoor", "--json")
    assert said.code == 1
    assert [(row["serial"], row["new"]) for row in said.json["stopped"]] == [(units[0], True), (wrong, False)]
    assert [finding["at"] for finding in said.json["findings"]] == [f"{file}:3"]

    class Piped(io.StringIO):
        buffer = io.BytesIO(f"{units[0]}\n{units[2]}\n".encode())

    monkeypatch.setattr(sys, "stdin", Piped())
    again = command("stop", "--file", "-", "--reason", "Lot P-9001/77 is soft", "--by", "qmoor", "--json")
    assert again.code == 0
    assert [(row["stop"], row["new"]) for row in again.json["stopped"]] == [(2, False), (2, True)]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--reason", "x", "--by", "tkiln"], "which units"),
        (
            ["ST2-2645-0001F", "--file", "x.csv", "--slot", "10-1", "--reason", "x", "--by", "tkiln"],
            "goes with one serial",
        ),
        (["--file", "nosuch.csv", "--reason", "x", "--by", "tkiln"], "no file nosuch.csv"),
        (["--file", "shop.yaml", "--reason", "  ", "--by", "tkiln"], "what is wrong"),
        (["ST2-2645-0001F", "--reason", "x", "--by", "tkiln"], "never issued here"),
        (["ST2-2645-0001E", "--reason", "x", "--by", "tkiln"], "ST2-2645-0001E"),
    ],
)
def test_what_cannot_be_asked(command: Command, arguments: list[str], says: str) -> None:
    said = command("stop", *arguments)
    assert said.code == 2
    assert says in said.err
