"""Running commands as a person would: code, stdout and stderr apart, in the small shop, at a fixed time."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from traveler.cli.main import run

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
