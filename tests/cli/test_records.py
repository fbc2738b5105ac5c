"""Seals, certificates and bags on the command line: answers, exit codes and usage."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest

AFTER = "2026-11-03T08:00:00+00:00"


@pytest.fixture
def serial(command: Any) -> str:
    said = command("issue", "step-stool", "--variant", "2", "--by", "rhale", "--json")
    return str(said.json["units"][0]["serial"])


def cut(shop: Path) -> None:
    """The last entry of every unit gone, the units' rows put right, the guards put back."""
    with sqlite3.connect(shop / "records.db") as connection:
        asked = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        guards = connection.execute(asked).fetchall()
        for name, _ in guards:
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("DELETE FROM ref WHERE seq = 2")
        connection.execute("DELETE FROM entry WHERE seq = 2")
        connection.execute("UPDATE unit SET entries = 1, head = (SELECT hash FROM entry WHERE unit = serial)")
        for _, guard in guards:
            connection.execute(guard)
    connection.close()


def test_a_seal_kept_elsewhere_shows_a_cut_end(
    command: Any, serial: str, shop_folder: Path, tmp_path: Path
) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    command("note", serial, "kept", "--by", "rhale")
    said = command("records", "seal", "--to", stick)
    assert (said.code, said.err) == (0, "")
    assert said.out.startswith("1 record was sealed")
    assert str(stick / "seals.jsonl") in said.out
    assert command("records", "verify").code == 0
    cut(shop_folder)
    (shop_folder / "seals.jsonl").unlink()
    assert command("records", "verify").code == 0, "nothing in the records alone shows it"
    said = command("records", "verify", "--seals", stick / "seals.jsonl", "--json")
    assert (said.code, said.codes) == (1, {"SEA005", "SEA007"})
    assert said.json["seals"] == [str(stick / "seals.jsonl")]
    assert command("records", "verify", serial, "--seals", stick / "seals.jsonl", "--json").codes == {
        "SEA005"
    }


def test_a_certificate_is_held_against_the_record(command: Any, serial: str) -> None:
    (unit,) = command("records", "verify", serial, "--json").json["units"]
    said = command("records", "verify", serial, "--head", unit["head"], "--count", 1)
    assert (said.code, said.err) == (0, "")
    assert "the certificate was printed from this record" in said.out
    said = command("records", "verify", serial, "--head", "0" * 64, "--count", 1, "--json")
    assert (said.code, said.codes) == (1, {"CHN011"})
    for wrong in (["--head", unit["head"]], ["--count", "1"], ["--head", "xyz", "--count", "1"]):
        assert command("records", "verify", serial, *wrong).code == 2
    assert command("records", "verify", "--head", unit["head"], "--count", 1).code == 2
    assert command("records", "verify", "--seals", "nowhere.jsonl").code == 2


def test_a_bag_goes_out_and_comes_back(command: Any, serial: str, shop_folder: Path, tmp_path: Path) -> None:
    said = command("records", "export", serial, "--to", tmp_path / "bag.zip", "--json")
    assert (said.code, said.json["count"]) == (0, 1)
    assert command("records", "export", serial, "--to", tmp_path / "bag.zip").code == 2, (
        "it is not written over"
    )
    said = command("records", "import", tmp_path / "bag.zip", "--by", "qmoor")
    assert (said.code, said.out) == (0, f"{serial}: nothing new imported\n")
    for name in shop_folder.glob("records.db*"):
        name.unlink()
    said = command("records", "import", tmp_path / "bag.zip", "--by", "qmoor", "--json")
    assert (said.code, said.json["entries"], said.json["serial"]) == (0, 1, serial)
    assert command("validate", serial).code == 0
    assert command("records", "verify").code == 0
    (tmp_path / "letter.zip").write_text("dear supplier")
    said = command("records", "import", tmp_path / "letter.zip", "--by", "qmoor", "--json")
    assert (said.code, said.codes) == (1, {"BAG001"})
    assert command("records", "import", tmp_path / "none.zip", "--by", "qmoor").code == 2
    assert command("records", "export", "ST2-2645-9999X").code == 2


def test_validate_all_answers_with_one_document_however_many_units(command: Any, serial: str) -> None:
    said = command("validate", "--all", "--json")
    assert said.code == 0
    assert [value["unit"] for value in said.json["units"]] == [serial]
    assert json.loads(said.out)["exit"] == 0
    lines = command("validate", "--all").out.splitlines()
    assert len(lines) == 1
    assert lines[0].startswith(serial)
    assert command("validate", "--all", serial).code == 2


def test_all_of_an_empty_shop_is_judged_and_sealed(command: Any) -> None:
    said = command("validate", "--all", "--json")
    assert (said.code, said.json["units"]) == (0, [])
    assert command("records", "seal").code == 0
    assert command("records", "verify").code == 0
