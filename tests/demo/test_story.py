"""The demonstration ends well, leaves a sound shop behind, and stops where something goes otherwise."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from traveler.cli.main import run
from traveler.demo import story
from traveler.finding import CannotDo

KEPT_IN = (
    """<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; """
    """style-src 'unsafe-inline'; font-src data:">"""
)
"""By this a page fetches nothing from anywhere and runs nothing."""

SHIPPED, REFUSED = "shipped", "inspection"


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, Any], Path]:
    """The demonstration, run once as a program of its own from a folder without a shop."""
    folder = tmp_path_factory.mktemp("demo")
    house = str(Path(__file__).parents[2])
    done = subprocess.run(
        [sys.executable, "-c", "from traveler.cli.main import main; main()", "demo", "shop", "--json"],
        cwd=folder, capture_output=True, text=True, timeout=600,
        env={**os.environ, "TRAVELER_NOW": "2026-11-06T12:00:00+00:00", "PYTHONPATH": house},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, ""), done.stdout[-2000:] + done.stderr
    return json.loads(done.stdout), folder / "shop"


def test_every_scene_is_told(shown: tuple[dict[str, Any], Path]) -> None:
    titles = " | ".join(scene["title"] for scene in shown[0]["scenes"])
    for part in (
        "is set up", "typed into a CSV", "filled in on a tablet", "is out", "is adjusted as advised",
        "read again, it is in", "and is refused", "released", "crated", "placed", "shipped", "its whole life",
        "where they are", "In the weeks before", "a customer calls", "Common causes: ", "is contained",
        "on paper, the cause first", "Every record is what was written",
    ):  # fmt: skip
        assert part in titles


def test_the_refusal_shows_its_findings(shown: tuple[dict[str, Any], Path]) -> None:
    (refused,) = (scene for scene in shown[0]["scenes"] if "is refused" in scene["title"])
    assert {finding["code"] for finding in refused["findings"]} >= {"GAU004", "MIS002", "PER004"}


def test_every_file_it_speaks_of_is_there_and_every_pdf_opens(shown: tuple[dict[str, Any], Path]) -> None:
    document, folder = shown
    files = {Path(file) for scene in document["scenes"] for file in scene["files"]}
    assert [file for file in files if not (folder.parent / file).exists()] == []
    pdfs = sorted(folder.rglob("*.pdf"))
    assert len([path for path in pdfs if path.name == "certificate.pdf"]) == 3
    for path in pdfs:
        with pikepdf.open(BytesIO(path.read_bytes())) as pdf:
            assert len(pdf.pages) >= 1
    assert list(folder.rglob("*.part")) == []


def test_the_shop_it_leaves_can_be_worked_with(
    shown: tuple[dict[str, Any], Path], capsys: pytest.CaptureFixture[str]
) -> None:
    folder = str(shown[1])
    assert run(["records", "verify", "--shop", folder]) == 0
    assert run(["definition", "check", "--shop", folder]) == 0
    capsys.readouterr()
    run(["validate", "--all", "--json", "--shop", folder])
    states = sorted(unit["state"] for unit in json.loads(capsys.readouterr().out)["units"])
    told = {state: states.count(state) for state in states}
    assert told == {"in stock": 1, "stopped": 1, REFUSED: 2, SHIPPED: 21}  # the lot of end plates waits too


def test_the_dossier_names_the_cause_on_its_first_page(shown: tuple[dict[str, Any], Path]) -> None:
    (told,) = shown[1].rglob("dossier.json")
    found = json.loads(told.read_text(encoding="utf-8"))
    assert found["summary"][0]["strong"]
    assert "lot P-2112/77" in found["summary"][0]["head"]
    assert {serial["kind"] for serial in found["summary"]} >= {
        "changed",
        "conceded",
        "near",
        "struck",
        "late",
    }
    (part,) = (serial for serial in found["parts"] if serial["number"] == "P-1041")
    assert part["lot"]["materials"] == [{"number": "M-0308", "lot": "H-88214"}]


@pytest.mark.parametrize("page", ["dossier", "stats", "recall"])
@pytest.mark.parametrize("wide", [500, 1200])
def test_pages_stand_for_themselves_in_a_browser(
    shown: tuple[dict[str, Any], Path],
    browser: Callable[[str, int], dict[str, Any]],
    page: str,
    wide: int,
    tmp_path: Path,
) -> None:
    shop, made = ["--shop", str(shown[1])], tmp_path / f"{page}.html"
    if page == "stats":
        assert run(["readings", "statistics", "bobbin-winder", "runout", "--to", str(made), *shop]) == 0
    elif page == "recall":
        assert run(["gauge", "recall", "IND-03", "--error", "-0.02 mm", "--to", str(made), *shop]) == 1
    else:
        (made,) = shown[1].rglob("dossier.html")
    text = made.read_text(encoding="utf-8")
    assert text.count(KEPT_IN) == 1
    seen = browser(text.replace(KEPT_IN, ""), wide)
    assert seen["asked"] == []
    assert seen["broken"] == 0
    assert seen["width"] <= seen["window"]
    assert seen["text"] > 500


def test_the_case_is_told_what_was_done(
    shown: tuple[dict[str, Any], Path], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["case", "list", "--json", "--shop", str(shown[1])]) == 0
    cases = json.loads(capsys.readouterr().out)["cases"]
    assert [case["state"] for case in cases] == ["open"] * 6 + ["cause found"]
    letters = (shown[1] / "letters.csv").read_text(encoding="utf-8-sig").splitlines()
    assert len(letters) == 1 + 10


def test_a_folder_with_something_in_it_is_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    assert run(["demo", str(tmp_path)]) == 2
    assert "is not empty" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_a_scene_that_goes_otherwise_stops_the_demonstration(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the wheel's variant misspelt nothing of it can be issued."""
    from datetime import UTC, datetime

    monkeypatch.setattr(story, "WHEEL", ("potters-wheel", "999"))
    scenes = story.Story(tmp_path / "shop", datetime(2026, 11, 6, 12, 0, tzinfo=UTC)).scenes()
    with pytest.raises(CannotDo):
        list(scenes)
