"""Running commands as a person would: code, stdout and stderr apart, in the small shop, at a fixed time."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from traveler.cli import people, request
from traveler.cli.main import build, run
from traveler.jobs.issue import IssueRequest, issue
from traveler.jobs.open import open_session
from traveler.shop import people as pins

NOW = "2026-11-02T08:00:00+00:00"


@dataclass(frozen=True)
class Said:
    """What a command answered."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> dict[str, Any]:
        document: dict[str, Any] = json.loads(self.out)
        return document

    @property
    def codes(self) -> set[str]:
        """The codes of the findings of a ``--json`` answer."""
        return {finding["code"] for finding in self.json["findings"]}


Command = Callable[..., Said]


@cache
def _root() -> Any:
    from typer.main import get_command

    return get_command(build())


def _wrong_in(line: str) -> str:
    """What is wrong with a command line as a text has it: an unknown command or option; empty: nothing."""
    found = _root()
    words = [word.strip("'\",;:.()") for word in line.split()][1:]
    while hasattr(found, "commands") and words and words[0] in found.commands:
        found = found.commands[words.pop(0)]
    if hasattr(found, "commands"):
        alone = found is not _root() and not words
        return f"no command: {line}" if alone or (words and words[0][:1].islower()) else ""
    options = {option for each in found.params for option in (*each.opts, *each.secondary_opts)}
    wrong = [word for word in words if word.startswith("--") and word not in options | {"--help"}]
    return f"no option {wrong[0]}: {line}" if wrong else ""


@pytest.fixture(scope="session")
def wrong_in() -> Callable[[str], str]:
    """What is wrong with a command line such as ``traveler case show SERIAL``; empty: nothing."""
    return _wrong_in


@pytest.fixture
def command(
    shop_folder: Path, quick_trial: None, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Command:
    """Runs a command in the small shop; ``now`` moves the clock."""
    monkeypatch.chdir(shop_folder)
    monkeypatch.delenv("TRAVELER_SHOP", raising=False)
    monkeypatch.delenv("TRAVELER_DATABASE", raising=False)

    def go(*arguments: str | Path, now: str = NOW) -> Said:
        monkeypatch.setenv("TRAVELER_NOW", now)
        capsys.readouterr()
        code = run([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        assert "defect" not in out + err
        return Said(code, out, err)

    return go


@pytest.fixture
def light_pins(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Small parameters of argon2id; nobody sits at the terminal, and nothing is in the environment."""
    for name, value in (("MEMORY_KIB", 8), ("TIME_COST", 1), ("LANES", 1)):
        monkeypatch.setattr(pins, name, value)
    pins._hasher.cache_clear()
    monkeypatch.setattr(pins, "NOBODYS", pins.hash_pin("nobody has this"))
    monkeypatch.delenv("TRAVELER_PIN", raising=False)
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    yield
    pins._hasher.cache_clear()


@pytest.fixture
def units(command: Command) -> list[str]:
    """Three issued units, whose travelers nobody needs here."""
    opened = open_session(Path.cwd(), datetime(2026, 11, 2, 8, 0, tzinfo=UTC))
    assert opened.session is not None
    with opened.session.store:
        return list(issue(opened.session, IssueRequest("step-stool", "2", "rhale", count=3)).serials)


@pytest.fixture
def pin(command: Command, tmp_path: Path) -> Path:
    """Quality has a PIN; the file holds it."""
    file = tmp_path / "pin.txt"
    file.write_text("4826\n")
    assert command("people", "pin", "qmoor", "--new-pin-file", file).code == 0
    return file


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Callable[..., list[str]]:
    """Somebody sits at the terminal and answers; gives what they were asked."""

    def sits(*answers: str) -> list[str]:
        asked: list[str] = []
        left = list(answers)

        class Screen(io.StringIO):
            def isatty(self) -> bool:
                return True

        def typed(prompt: str) -> str:
            asked.append(prompt)
            return left.pop(0)

        monkeypatch.setattr(sys, "stdin", Screen())
        monkeypatch.setattr(request, "typed", typed)
        monkeypatch.setattr(people, "typed", typed)
        return asked

    return sits
