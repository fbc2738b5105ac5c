"""Photographs and documents at the command line, and results entered by hand."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

LATER = "2026-11-02T09:00:00+00:00"


@pytest.fixture
def unit(command: Any) -> str:
    said = command("issue", "step-stool", "--variant", "2", "--by", "rhale", "--json")
    return str(said.json["units"][0]["serial"])


@pytest.fixture
def photo(shop_folder: Path) -> Path:
    out = io.BytesIO()
    notes = Image.Exif()
    notes[0x0112] = 8
    Image.new("RGB", (60, 30), "white").save(out, "JPEG", exif=notes)
    path = shop_folder / "IMG_0001.bin"
    path.write_bytes(out.getvalue())
    return path


def test_files_go_in_are_listed_and_come_out_again(
    command: Any, unit: str, photo: Path, shop_folder: Path
) -> None:
    (shop_folder / "values.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    done = command(
        "unit", "attach", unit, photo, "values.csv", "--text", "Before the repair", "--by", "tkiln", now=LATER
    )
    assert (done.code, done.err) == (0, "")
    assert done.out.count(" attached\n") == 2
    again = command("unit", "attach", unit, photo, "--by", "tkiln", "--json", now=LATER)
    assert [(file["new"], file["media_type"]) for file in again.json["files"]] == [(False, "image/jpeg")]
    listed = command("unit", "files", unit, "--json", now=LATER).json["attachments"]
    told = {
        attachment["name"]: (
            attachment["width"],
            attachment["height"],
            attachment["turned"],
            attachment["whole"],
        )
        for attachment in listed
    }
    assert told["IMG_0001.bin"] == (30, 60, 270, True)
    assert told["values.csv"] == (None, None, None, True)
    table = command("unit", "files", unit, now=LATER).out
    assert "JPEG 30 × 60" in table
    assert "Before the repair" in table
    out = command("unit", "files", unit, "--to", "out", now=LATER)
    assert out.code == 0
    written = sorted(file.name for file in (shop_folder / "out").iterdir())
    assert [name[5:] for name in written if "IMG" in name] == ["IMG_0001.bin.jpg"]
    assert (
        shop_folder / "out" / next(name for name in written if "IMG" in name)
    ).read_bytes() == photo.read_bytes()


def test_a_lost_file_is_told_by_list_and_verify(
    command: Any, unit: str, photo: Path, shop_folder: Path
) -> None:
    digest = command("unit", "attach", unit, photo, "--by", "tkiln", "--json", now=LATER).json["files"][0][
        "digest"
    ]
    (shop_folder / "attachments" / digest[:2] / digest).unlink()
    listed = command("unit", "files", unit, now=LATER)
    assert (listed.code, "missing" in listed.out, "ATT004" in listed.err) == (1, True, True)
    assert command("records", "verify", "--json", now=LATER).codes == {"ATT004"}
    backup = command("records", "backup", "copy", "--json", now=LATER)
    assert (backup.code, backup.codes) == (1, {"ATT004"})
    assert (shop_folder / "copy" / "records.db").exists()


WRONG = [
    (("unit", "attach", "{unit}", "nowhere.jpg", "--by", "tkiln"), 2, "there is no file nowhere.jpg"),
    (("unit", "attach", "{unit}", "shop.yaml", "--slot", "C-2", "--by", "pstrap"), 1, "ATT008"),
    (("unit", "attach", "{unit}", "records.db", "--by", "tkiln"), 1, "ATT002"),
    (("unit", "attach", "{unit}", "shop.yaml", "--slot", "C-22", "--by", "tkiln"), 1, "did you mean 'C-2'?"),
    (("enter", "{unit}", "10-1", "7", "--by", "tkiln"), 1, "RES030"),
    (("enter", "{unit}", "10-11", "yes", "--by", "tkiln"), 1, "RES042"),
    (("enter", "{unit}", "10-4/side=left", "0.02", "--by", "tkiln"), 1, "RES031"),
    (("enter", "{unit}", "10-4/side=left", "2 N", "--by", "tkiln"), 1, "RES032"),
    (("enter", "{unit}", "10-1", "yes", "--gauge", "IND-03", "--by", "tkiln"), 1, "RES046"),
    (("enter", "{unit}", "10-1", "yes", "--by", "nobody"), 2, "PER001"),
    (("enter", "{unit}", "10/sign", "awick", "--by", "tkiln"), 1, "RES047"),
    (("enter", "{unit}", "10-1", "yes", "--by", "tkiln", "--at", "monday"), 2, "is not a date with a time"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "code", "said"), WRONG)
def test_what_is_wrong_is_told_and_nothing_is_added(
    command: Any, unit: str, words: tuple[str, ...], code: int, said: str
) -> None:
    answer = command(*(word.format(unit=unit) for word in words), now=LATER)
    assert (answer.code, said in answer.err) == (code, True), answer.err
    assert command("trace", unit, "--json", now=LATER).json["count"] == 1


def test_one_result_is_entered_and_judged(command: Any, unit: str) -> None:
    words = ("enter", unit, "10-4/side=left", "--gauge", "IND-03", "--by", "tkiln")
    good = command(*words, "-0.021 mm", "--as-found", "--text", "stiff", "--json", now=LATER)
    assert [entry["body"]["kind"] for entry in good.json["entries"]] == ["read", "noted"]
    first = good.json["entries"][0]
    assert (first["source"], first["body"]["as_found"], first["body"]["value"]) == ("paper", True, "-0.021")
    out = command(*words, "0.125 mm", now="2026-11-02T09:05:00+00:00")
    assert (out.code, "REA001" in out.err) == (1, True)
    assert "turn ½ clockwise" in out.out
    column = command(*words, "20", "--unit", "µm", "--json", now="2026-11-02T09:06:00+00:00")
    assert column.json["unit"]["slots"]["10-4/side=left"]["state"] == "in"
