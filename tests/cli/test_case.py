"""Complaints on the command line: from the call to the dossier, and every slip of the hand told."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from traveler.cli.main import run
from traveler.jobs.issue import IssueRequest, issue
from traveler.jobs.open import open_session


@pytest.fixture
def shop(shop_folder: Path, quick_trial: None, monkeypatch: pytest.MonkeyPatch) -> str:
    """The small shop with a list of symptoms, on a fixed day."""
    file = shop_folder / "shop.yaml"
    file.write_text(file.read_text("utf-8") + "symptoms:\n  noise: Hums\n  rough: Shakes\n", "utf-8")
    monkeypatch.setenv("TRAVELER_NOW", "2026-11-02T09:00:00+00:00")
    monkeypatch.setenv("TRAVELER_SHOP", str(shop_folder))
    return str(shop_folder)


@pytest.fixture
def serial(shop: str) -> str:
    """A unit that is issued."""
    opened = open_session(Path(shop), datetime(2026, 11, 2, 9, 0, tzinfo=UTC))
    assert opened.session is not None
    with opened.session.store:
        (made,) = issue(opened.session, IssueRequest("step-stool", "2", "rhale")).serials
    return made


def said(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 0) -> dict[str, Any]:
    assert run([*arguments, "--json"]) == code
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_a_case_from_the_call_to_its_end(serial: str, capsys: pytest.CaptureFixture[str]) -> None:
    text = ["complain", serial, "--text", "Hums", "--symptom", "noise", "--by", "sdock"]
    opened = said(capsys, *text, "--check", "play/side=left", "--reading", "0.07 mm")
    name = opened["case"]["case"]
    assert [finding["code"] for finding in opened["findings"]] == ["CAS002"]
    said(
        capsys, "case", "update", serial, "--cause", "One lot", "--lies-in", "lot P-9001/77", "--by", "qmoor"
    )
    said(capsys, "case", "update", name, "--action", "Sorted out", "--due", "2026-11-01", "--by", "qmoor")
    (listed,) = said(capsys, "case", "list", "--open")["cases"]
    assert (listed["state"], listed["overdue"], listed["age_days"]) == ("action taken", True, 0)
    ended = said(
        capsys, "case", "update", name, "--effective", "None since", "--close", "Done", "--by", "qmoor"
    )
    assert ended["case"]["state"] == "closed"
    assert said(capsys, "case", "list", "--open")["cases"] == []
    assert run(["case", "show", name]) == 0
    out = capsys.readouterr().out
    assert "cause: One lot (lot P-9001/77)" in out
    assert "closed: Done" in out


@pytest.mark.parametrize(
    ("arguments", "code", "told"),
    [
        (["--symptom", "nois"], 1, "did you mean 'noise'?"),
        (["--check", "play/side=left"], 2, "give each check its reading"),
        (["--check", "play", "--reading", "0.07 mm"], 1, "play/side=left"),
        (["--photo", "no-such.jpg"], 2, "no-such.jpg"),
    ],
)
def test_slips_are_told(
    serial: str, capsys: pytest.CaptureFixture[str], arguments: list[str], code: int, told: str
) -> None:
    assert run(["complain", serial, "--text", "Hums", "--by", "sdock", *arguments]) == code
    assert told in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["case", "show", "{serial}"], "there is no complaint about"),
        (["case", "show", "{serial}/x"], "is not the number of a complaint"),
        (["case", "update", "{serial}", "--cause", "x"], "Missing option '--by'"),
        (["case", "update", "{serial}", "--lies-in", "x", "--by", "qmoor"], "--lies-in goes with --cause"),
        (["case", "update", "{serial}", "--due", "2026-12-01", "--by", "qmoor"], "--due goes with --action"),
        (["case", "list", "--symptom", "niose"], "did you mean 'noise'?"),
        (["case", "causes", "{serial}"], "there is no complaint about"),
        (["case", "contain", "{serial}"], "name one cause"),
        (["case", "contain", "{serial}", "--lot", "a", "--gauge", "b"], "name one cause"),
        (["case", "contain", "{serial}", "--week", "w", "--since", "2026-01-01"], "do not go with --week"),
        (["case", "contain", "{serial}", "--lot", "a", "--since", "soon"], "is not a day"),
        (["unit", "dossier", "{serial}", "--format", "docx"], "formats are pdf, html, json"),
        (["unit", "dossier", "ST2-9999-00001"], "traveler:"),
    ],
)
def test_what_cannot_be_done_is_told_in_one_sentence(
    serial: str, capsys: pytest.CaptureFixture[str], arguments: list[str], told: str
) -> None:
    assert run([argument.format(serial=serial) for argument in arguments]) == 2
    assert told in capsys.readouterr().err


def test_others_and_contain_speak_plainly(serial: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["complain", serial, "--text", "Hums", "--symptom", "noise", "--by", "sdock"]) == 0
    capsys.readouterr()
    assert run(["case", "causes", serial]) == 0
    out = capsys.readouterr().out
    assert "no unit is left to compare with" in out
    assert run(["case", "contain", serial, "--revision", "A", "--stop", "--by", "qmoor"]) == 0
    assert "stopped" in capsys.readouterr().out
    assert run(["case", "contain", serial, "--revision", "A", "--stop", "--by", "qmoor"]) == 0
    assert "stopped before" in capsys.readouterr().out


def test_a_dossier_is_written_where_it_is_wanted(
    serial: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["unit", "dossier", serial, "--to", str(tmp_path / "out"), "--format", "json,html"]) == 0
    assert sorted(file.name for file in (tmp_path / "out").iterdir()) == ["dossier.html", "dossier.json"]
    assert serial in capsys.readouterr().out
