"""Whatever is typed, and whatever lies in the folder: one of the three exit codes and no traceback."""

from __future__ import annotations

import json
import sqlite3
from inspect import signature
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from traveler.cli.main import build, run
from traveler.cli.request import COMMANDS

QUIET = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])

WORDS = [
    "step-stool",
    "2",
    "--variant",
    "--by",
    "tkiln",
    "rhale",
    "--count",
    "--json",
    "--at",
    "--order",
    "-1",
    "--",
    "2026-11-02",
    "2026-11-02T08:00",
    "25 H7",
    "max 0.05 mm",
    "--limits",
    "--reading",
    "0.05 mm",
    ".",
    "..",
    "/",
    "",
    "shop.yaml",
    "people.yaml",
    "records.db",
    "nosuch",
    "--lot",
    "--person",
    "--all",
    "--missing",
    "--reason",
    "--to",
    "--sheet",
    "certificate",
    "--done",
    "ST2-2645-0001F",
    "%s",
    "\\",
    "\t",
    "é",
    "🧵",
    "[red]",
    "\x00",
]


build()
ALL = [name.split() for name in COMMANDS if name != "demo"]
"""Every command but the demonstration, which takes its time."""

IN_A_SHOP = [
    name.split() for name, listed in COMMANDS.items() if "shop" in signature(listed.called).parameters
]


@pytest.fixture
def here(shop_folder: Path, monkeypatch: pytest.MonkeyPatch, quick_trial: None) -> Path:
    """The small shop, and the test standing in it."""
    monkeypatch.chdir(shop_folder)
    monkeypatch.setenv("TRAVELER_NOW", "2026-11-02T08:00:00+00:00")
    return shop_folder


def answered(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> int:
    code = run(arguments)
    out, err = capsys.readouterr()
    assert code in (0, 1, 2), arguments
    assert "Traceback" not in out + err, arguments
    assert "a defect of traveler" not in out + err, (arguments, out + err)
    if "--json" in arguments and "--help" not in arguments and out:
        assert json.loads(out)["exit"] == code, arguments
    return code


@QUIET
@given(
    name=st.sampled_from(ALL),
    rest=st.lists(st.one_of(st.sampled_from(WORDS), st.text(max_size=12)), max_size=7),
)
def test_random_arguments(
    name: list[str], rest: list[str], here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answered([*name, *rest], capsys)


@QUIET
@given(ending=st.sampled_from([".csv", ".yaml", ".yml", ".pdf", ".txt", ""]), content=st.binary(max_size=300))
def test_any_bytes_as_results(
    ending: str, content: bytes, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = here / f"results{ending}"
    file.write_bytes(content)
    assert answered(["record", str(file), "--json"], capsys) == 1


@QUIET
@given(name=st.sampled_from(["shop.yaml", "people.yaml", "gauges.yaml"]), content=st.binary(max_size=120))
def test_any_bytes_as_a_file_of_the_shop(
    name: str, content: bytes, tmp_path: Path, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (here / name).read_bytes()
    try:
        (here / name).write_bytes(content)
        answered(["issue", "step-stool", "--variant", "2", "--by", "rhale", "--json"], capsys)
    finally:
        (here / name).write_bytes(before)


@QUIET
@given(content=st.binary(max_size=200))
def test_any_bytes_as_a_definition(content: bytes, here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (here / "product_defs" / "stool.yaml").write_bytes(content)
    assert answered(["issue", "stool", "--variant", "2", "--by", "rhale", "--json"], capsys) == 1
    assert answered(["definition", "check", "product_defs/stool.yaml", "--json"], capsys) == 1


def test_a_broken_file_of_the_shop_is_told_with_its_line(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "people.yaml").write_text("people:\n  - id: rhale\n    name: R. Hale\n    rolls: []\n")
    assert run(["issue", "step-stool", "--variant", "2", "--by", "rhale"]) == 1
    err = capsys.readouterr().err
    assert f"{here / 'people.yaml'}:4:12 SHP002 there is no key 'rolls' here; did you mean 'roles'?" in err


@pytest.mark.parametrize("name", IN_A_SHOP, ids=" ".join)
def test_a_shop_that_is_not_there(
    name: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answered([*name, "--shop", str(tmp_path / "nowhere"), "--json"], capsys)


@pytest.mark.parametrize(
    "arguments",
    [
        ["record", "{}"],
        ["definition", "check", "{}"],
        ["definition", "compare", "{}", "{}"],
        ["gauge", "study", "{}"],
        ["records", "restore", "{}"],
    ],
    ids=lambda word: word[0],
)
@pytest.mark.parametrize("kind", ["a folder", "not there", "no permission", "empty"])
def test_something_else_where_a_file_is_expected(
    arguments: list[str], kind: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = here / "thing.csv"
    if kind == "a folder":
        file.mkdir()
    elif kind in ("empty", "no permission"):
        file.write_bytes(b"")
        file.chmod(0 if kind == "no permission" else 0o644)
    assert answered([part.format(file) for part in arguments], capsys) in (1, 2)


@pytest.mark.parametrize(
    "arguments",
    [
        ["shop", "create", "/proc/shop", "--name", "X"],
        ["demo", "/proc/shop"],
        ["records", "backup", "/proc/copy"],
    ],
    ids=lambda word: word[0],
)
def test_a_folder_that_cannot_be_written_to(
    arguments: list[str], here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nobody may write there, root neither."""
    assert answered(arguments, capsys) == 2


def test_sheets_that_cannot_be_written_leave_the_units_issued_and_are_told(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "travelers").write_text("a file where the folder should be")
    assert run(["issue", "step-stool", "--variant", "2", "--by", "rhale", "--json"]) == 1
    said = json.loads(capsys.readouterr().out)
    assert [finding["code"] for finding in said["findings"]] == ["PRT001"]
    assert len(said["units"]) == 1
    (here / "travelers").unlink()
    assert answered(["print", "--missing"], capsys) == 0
    assert (here / "travelers" / said["units"][0]["serial"] / "traveler.pdf").exists()


@pytest.mark.parametrize("kind", ["a folder", "no database", "another database"])
def test_records_that_are_none_are_said_in_one_sentence(
    kind: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = here / "records.db"
    if kind == "a folder":
        file.mkdir()
    elif kind == "no database":
        file.write_bytes(b"no database at all " * 100)
    else:
        with sqlite3.connect(file) as other:
            other.execute("CREATE TABLE entry (x)")
        other.close()
    assert run(["validate", "--all"]) == 2
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert "defect" not in err


@pytest.mark.parametrize("told", ["yesterday", "2026-11-02", "2026-11-02T08:00", ""])
def test_a_moment_that_is_none(
    told: str, here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TRAVELER_NOW", told)
    assert answered(["validate", "--all"], capsys) == (2 if told else 0)
