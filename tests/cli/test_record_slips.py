"""What a slip of the keys would write is refused, or asked about where a person sits at the terminal."""

from __future__ import annotations

import io
import sys
from typing import Any

import pytest

LATER = "2026-11-02T09:00:00+00:00"
LEFT = "10-4/side=left"


@pytest.fixture
def unit(command: Any) -> str:
    said = command("issue", "step-stool", "--variant", "2", "--by", "rhale", "--json")
    return str(said.json["units"][0]["serial"])


SLIPS = [
    (("enter", "{unit}", LEFT, "0.02 mm", "--gauge", "IND-3", "--by", "tkiln"), 2, "GAU002"),
    (("enter", "{unit}", LEFT, "2000 mm", "--gauge", "IND-03", "--by", "tkiln"), 1, "REA006"),
    (("enter", "{unit}", "10-1", "yes", "--by", "tklin"), 2, "PER001"),
    (("enter", "{unit}", "10-1", "yes", "--by", "tkiln", "--at", "2026-11-03T09:40"), 2, "in the future"),
    (("enter", "{unit}", "10-1", "yes", "--by", "tkiln", "--at", "2026-11-01T09:40"), 1, "SEQ004"),
    (("note", "{unit}", "x", "--by", "tkiln", "--at", "2027-11-02T09:40"), 2, "in the future"),
    (("stop", "{unit}", "--reason", "x", "--by", "tkiln", "--at", "2027-11-02T09:40"), 2, "in the future"),
    (("stop", "{unit}", "--reason", "x", "--by", "tklin"), 2, "PER001"),
    (("complain", "{unit}", "--text", "x", "--by", "sdock", "--at", "2027-11-02T09:40"), 2, "in the future"),
    (("release", "{unit}", "--by", "qmoor", "--at", "2027-11-02T09:40"), 2, "in the future"),
    (
        ("adjust", "{unit}", LEFT, "--done", "screw", "--by", "tkiln", "--at", "2027-11-02T09:40"),
        2,
        "in the future",
    ),
]


@pytest.mark.parametrize(("words", "code", "told"), SLIPS)
def test_a_slip_of_the_keys_is_refused_and_nothing_is_written(
    command: Any, unit: str, words: tuple[str, ...], code: int, told: str
) -> None:
    said = command(*(word.format(unit=unit) for word in words), now=LATER)
    assert (said.code, told in said.err) == (code, True), said.err
    assert "#" not in said.err, "no number of an entry that is not there"
    assert "Nothing was " in said.err or code == 2
    assert command("trace", unit, "--json", now=LATER).json["count"] == 1


def test_what_was_not_written_cannot_be_struck(command: Any, unit: str) -> None:
    early = command("note", unit, "x", "--by", "tkiln", "--at", "2026-11-01T09:40", now=LATER)
    assert "SEQ004" in early.err
    assert early.err.endswith("; give the real time with --at\nNothing was recorded.\n")
    nowhere = command("stop", unit, "--slot", "99", "--reason", "x", "--by", "tkiln", now=LATER)
    assert (nowhere.code, "#" in nowhere.err) == (1, False)
    assert nowhere.err.endswith("Nothing was stopped.\n")


def test_an_unknown_gauge_is_an_error_and_a_finding(command: Any, unit: str) -> None:
    said = command("enter", unit, LEFT, "0.02 mm", "--gauge", "X", "--by", "tkiln", "--json", now=LATER)
    assert (said.code, said.json["exit"], said.codes) == (2, 2, {"GAU002"})
    assert said.json["error"] == "gauge X is not in the register"


def test_no_gauge_is_named_that_may_not_be_used(command: Any, unit: str) -> None:
    from pathlib import Path

    words = ("enter", unit, LEFT, "0.02 mm", "--gauge", "IND-3", "--by", "tkiln")
    assert "did you mean 'IND-03'?" in command(*words, now=LATER).err
    register = Path("gauges.yaml")
    register.write_text(register.read_text().replace("interval_days: 365", "interval_days: 1"))
    refused = command(*words, now=LATER)
    assert (refused.code, "IND-03" in refused.err) == (2, False)


def test_an_implausible_value_is_recorded_if_the_person_is_sure(command: Any, unit: str) -> None:
    words = ("enter", unit, LEFT, "2000 mm", "--gauge", "IND-03", "--by", "tkiln")
    refused = command(*words, now=LATER)
    assert (refused.code, "add --sure" in refused.err) == (1, True)
    said = command(*words, "--sure", "--json", now=LATER)
    assert (said.code, len(said.json["entries"])) == (1, 1)
    assert said.codes >= {"REA001", "REA006"}


@pytest.mark.parametrize(("answer", "entries"), [("y\n", 2), ("n\n", 1), ("\n", 1)])
def test_a_person_at_the_terminal_is_asked(
    command: Any, unit: str, monkeypatch: pytest.MonkeyPatch, answer: str, entries: int
) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(sys, "stdin", Terminal(answer))
    words = ("enter", unit, LEFT, "2000 mm", "--gauge", "IND-03", "--by", "tkiln")
    said = command(*words, now=LATER)
    assert said.code == 1
    assert "Record it all the same? [y/N]" in said.err
    assert command("trace", unit, "--json", now=LATER).json["count"] == entries
