"""The group ``definition``: exit codes, both streams, JSON, and every refusal in words."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from traveler.cli.main import run
from traveler.demo.stage import set_up_world
from traveler.jobs.set_up import set_up
from traveler.shop.settings import Settings

PRODUCTS = Path(__file__).parents[2] / "product_defs"

SIX = """\
product: planted
title: Planted faults
revision: A
revised: 2026-01-05
approved_by: rhale
serials: {pattern: "PF-{n:04}"}
variants:
  std: {title: Standard}
gauges:
  indicator: {title: Dial indicator}
operations:
  - number: 10
    title: Frame
    title: Frame again
    minuts: 20
    steps:
      - measure: Run-out
        limits: max 0.05
        gauge: indicatr
      - measure: Height
        limits: 12 to 10 mm
        gauge: indicator
      - do: Look at it.
        picture: nowhere.svg
    sign: assembler
"""


@pytest.fixture(autouse=True)
def away(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own, without a shop above it and without one in the environment."""
    monkeypatch.delenv("TRAVELER_SHOP", raising=False)
    monkeypatch.chdir(tmp_path)
    return tmp_path


Said = Callable[..., tuple[int, str, str]]


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Said:
    def answered(*words: str | Path) -> tuple[int, str, str]:
        code = run([str(word) for word in words])
        out, err = capsys.readouterr()
        return code, out, err

    return answered


@pytest.fixture
def winder(away: Path) -> Path:
    shutil.copytree(PRODUCTS, away / "defs")
    return away / "defs" / "bobbin-winder.yaml"


def test_six_planted_faults_are_named_with_their_places(away: Path, said: Said) -> None:
    (away / "planted.yaml").write_text(SIX, encoding="utf-8")
    code, out, err = said("definition", "check", "planted.yaml")
    assert code == 1
    assert out == ""
    assert [line.split(" ", 2)[:2] for line in err.splitlines()] == [
        ["planted.yaml:14:5", "YML002"],
        ["planted.yaml:15:5", "DEF001"],
        ["planted.yaml:18:17", "LIM001"],
        ["planted.yaml:19:16", "DEF101"],
        ["planted.yaml:21:17", "LIM002"],
        ["planted.yaml:24:18", "DEF105"],
    ]


def test_findings_as_json_have_place_code_and_hint(away: Path, said: Said) -> None:
    (away / "planted.yaml").write_text(SIX, encoding="utf-8")
    code, out, err = said("definition", "check", "planted.yaml", "--json")
    document: dict[str, Any] = json.loads(out)
    assert (code, err, document["exit"], document["files"]) == (1, "", 1, [])
    first = document["findings"][0]
    assert first["place"] == {"file": "planted.yaml", "line": 14, "column": 5}
    assert (first["code"], first["weight"], first["hint"]) == ("YML002", "blocking", "keep one of the two")


def test_a_good_file_is_said_with_its_slots(winder: Path, said: Said) -> None:
    code, out, err = said("definition", "check", winder)
    assert (code, err) == (0, "")
    assert out.startswith(f"{winder}: bobbin-winder revision D, variants 4 (70 slots), 8 (95 slots), digest ")


def test_a_good_file_as_json(winder: Path, said: Said) -> None:
    code, out, _ = said("definition", "check", winder, "--json")
    (file,) = json.loads(out)["files"]
    assert code == 0
    assert (file["product"], file["revision"], len(file["digest"])) == ("bobbin-winder", "D", 64)
    assert file["variants"] == {"4": {"slots": 70}, "8": {"slots": 95}}


def test_several_files_are_all_checked(winder: Path, away: Path, said: Said) -> None:
    (away / "planted.yaml").write_text(SIX, encoding="utf-8")
    code, out, err = said("definition", "check", winder, "planted.yaml", winder.with_name("end-plate.yaml"))
    assert code == 1
    assert len(out.splitlines()) == 2
    assert len(err.splitlines()) == 6


def test_a_missing_picture_is_looked_for_beside_the_file(winder: Path, said: Said) -> None:
    (winder.parent / "pictures" / "bobbin-winder-feet.svg").unlink()
    code, _, err = said("definition", "check", winder)
    assert code == 1
    assert "DEF105 picture 'bobbin-winder-feet.svg' is not there" in err


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "YML006"),
        (b"\xff\xfe", "DEF000"),
        (b"a: \x00", "YML009"),
        (b"[" * 9999, "YML008"),
        (b"a: b: c", "YML001"),
    ],
)
def test_a_file_that_cannot_be_read_is_a_finding(away: Path, said: Said, content: bytes, code: str) -> None:
    (away / "odd.yaml").write_bytes(content)
    exit_code, _, err = said("definition", "check", "odd.yaml")
    assert exit_code == 1
    assert err.startswith("odd.yaml")
    assert code in err


@pytest.mark.parametrize("name", ["nowhere.yaml", ".", "no\nwhere"])
def test_a_file_that_is_not_there_cannot_be_checked(said: Said, name: str) -> None:
    code, out, err = said("definition", "check", name)
    assert (code, out) == (2, "")
    assert "there is no file" in err


def test_without_files_a_shop_is_needed(said: Said) -> None:
    code, _, err = said("definition", "check")
    assert code == 2
    assert "there is no shop" in err


@pytest.fixture
def shop(away: Path, winder: Path) -> Path:
    """A shop with the winder, whose people do not know its approver."""
    folder = away / "shop"
    set_up(folder, Settings(name="Test Works"))
    defs = folder / "product_defs"
    shutil.rmtree(defs, ignore_errors=True)
    shutil.copytree(winder.parent, defs)
    return folder


def test_in_a_shop_all_its_definitions_and_their_people_are_checked(
    shop: Path, said: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(shop)
    code, _, err = said("definition", "check")
    assert code == 1
    found = [line for line in err.splitlines() if "DEF107" in line]
    assert [line.split(":")[0] for line in found] == [
        "product_defs/bobbin-winder.yaml",
        "product_defs/end-plate.yaml",
        "product_defs/potters-wheel.yaml",
    ]
    assert "'rhale' is not in people.yaml" in found[0]


def test_the_shop_of_the_demonstration_has_no_findings(
    away: Path, said: Said, monkeypatch: pytest.MonkeyPatch
) -> None:
    set_up_world(away / "world", date(2026, 9, 21))
    monkeypatch.chdir(away / "world")
    code, out, err = said("definition", "check")
    assert (code, err) == (0, "")
    assert len(out.splitlines()) == 3


def test_a_file_of_the_shop_must_be_named_after_its_product(away: Path, said: Said) -> None:
    shop = away / "world"
    set_up_world(shop, date(2026, 9, 21))
    file = shop / "product_defs" / "bobbin-winder.yaml"
    other = file.rename(file.with_name("winder.yaml"))
    code, _, err = said("definition", "check", other, "--shop", shop)
    assert code == 1
    assert "DEF000 the file is named 'winder', but its product is 'bobbin-winder'" in err


def test_a_shop_that_is_not_there_is_said(winder: Path, said: Said) -> None:
    code, _, err = said("definition", "check", winder, "--shop", "nowhere")
    assert code == 2
    assert "there is no shop in nowhere" in err


def test_the_schema_is_printed_as_json(said: Said) -> None:
    code, out, err = said("definition", "schema")
    schema = json.loads(out)
    assert (code, err) == (0, "")
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert "operations" in schema["properties"]
    wrapped = json.loads(said("definition", "schema", "--json")[1])
    assert (wrapped["schema"], wrapped["exit"]) == (schema, 0)


def test_a_difference_is_told_in_sentences(winder: Path, said: Said) -> None:
    later = winder.with_name("later.yaml")
    text = winder.read_text(encoding="utf-8").replace("max 0.05 mm", "max 0.04 mm")
    later.write_text(text.replace("revision: D", "revision: E"), encoding="utf-8")
    code, out, err = said("definition", "compare", winder, later)
    assert (code, err) == (0, "")
    assert out.splitlines() == ["revision: D → E", "30.2 Spindle run-out (TIR): max 0.05 mm → max 0.04 mm"]
    document = json.loads(said("definition", "compare", winder, later, "--json")[1])
    assert document["changes"] == out.splitlines()
    assert (document["old"]["revision"], document["new"]["revision"]) == ("D", "E")
    assert document["old"]["digest"] != document["new"]["digest"]


def test_files_that_say_the_same_differ_in_nothing(winder: Path, said: Said) -> None:
    same = winder.with_name("same.yaml")
    same.write_text("# a comment\n" + winder.read_text(encoding="utf-8"), encoding="utf-8")
    assert said("definition", "compare", winder, same) == (0, "no change in content\n", "")


def test_a_difference_needs_two_good_files(winder: Path, away: Path, said: Said) -> None:
    (away / "planted.yaml").write_text(SIX, encoding="utf-8")
    code, out, err = said("definition", "compare", winder, "planted.yaml")
    assert (code, out) == (1, "")
    assert "YML002" in err
    assert said("definition", "compare", winder, "nowhere.yaml")[0] == 2
    assert said("definition", "compare", winder)[0] == 2


@pytest.mark.parametrize("command", ["check", "schema", "compare", "limits"])
def test_each_command_has_help_with_an_example(said: Said, command: str) -> None:
    code, out, _ = said("definition", command, "--help")
    assert code == 0
    assert f"Example: traveler definition {command}" in out
