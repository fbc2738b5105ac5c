"""Running commands as a person would: code, stdout and stderr apart, in the small shop, at a fixed time."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from traveler.cli.main import build, run

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
