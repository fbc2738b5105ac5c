"""Many units at once from the command line: apart, in one file, interrupted, continued."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pytest

ISSUE = ("issue", "step-stool", "--variant", "2", "--by", "rhale")


def test_an_issue_of_several_writes_a_file_for_each(command: Callable[..., Any], shop_folder: Path) -> None:
    said = command(*ISSUE, "--count", "5", "--order", "4471", "--json")
    assert said.code == 0, said.err
    units = said.json["units"]
    assert [Path(unit["files"][0]).name for unit in units] == ["traveler.pdf"] * 5
    assert [unit["serial"] for unit in units] == sorted(unit["serial"] for unit in units)
    assert all(Path(unit["files"][0]).is_file() for unit in units)
    assert command("print", "--missing").out == "nothing to print\n"


def test_a_collated_issue_is_one_file_and_nothing_is_missing(
    command: Callable[..., Any], shop_folder: Path
) -> None:
    said = command(*ISSUE, "--count", "3", "--collate", "--duplex", "--json")
    assert said.code == 0, said.err
    file = Path(said.json["file"])
    assert file.parent == shop_folder / "travelers" / "collated"
    with pikepdf.open(file) as pdf:
        assert len(pdf.pages) == said.json["pages"]
        assert len(pdf.pages) % 2 == 0
    assert {value["files"][0] for value in said.json["units"]} == {str(file)}
    assert [path.name for path in (shop_folder / "travelers").iterdir()] == ["collated"]
    assert command("print", "--missing").out == "nothing to print\n"


def test_a_collated_reprint_tells_how_many_and_where(command: Callable[..., Any]) -> None:
    command(*ISSUE, "--count", "2", "--order", "4471")
    said = command("print", "--order", "4471", "--by", "tkiln", "--collate")
    assert said.code == 0
    assert "2 in printing order" in said.out
    assert "collated" in said.out
    refused = command("print", "--order", "4471", "--by", "oldhand", "--collate", "--json")
    assert refused.code == 1
    assert "file" not in refused.json
    assert [unit["files"] for unit in refused.json["units"]] == [[], []]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((*ISSUE, "--duplex"), "--collate"),
        (("print", "--missing", "--duplex"), "--collate"),
        (("print", "--order", "9999", "--by", "tkiln", "--collate"), "no unit was issued"),
        (
            ("print", "--order", "1", "--by", "tkiln", "--sheet", "certificate", "--collate"),
            "--collate does not work",
        ),
    ],
)
def test_what_makes_no_sense_together_is_refused(
    arguments: tuple[str, ...], says: str, command: Callable[..., Any], shop_folder: Path
) -> None:
    said = command(*arguments)
    assert said.code == 2
    assert says in said.err
    assert not (shop_folder / "travelers").exists()


def test_nothing_missing_is_no_file(command: Callable[..., Any], shop_folder: Path) -> None:
    said = command("print", "--missing", "--collate")
    assert (said.code, said.out) == (0, "nothing to print\n")
    assert not list((shop_folder / "travelers").rglob("*.pdf"))


def started(shop: Path, *arguments: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", "from traveler.cli.main import main; main()", *arguments, "--shop", str(shop)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip


def wait_for_files(shop: Path, count: int) -> list[Path]:
    for _ in range(1200):
        found = list((shop / "travelers").glob("*/traveler.pdf"))
        if len(found) >= count:
            return found
        time.sleep(0.05)
    pytest.fail("no sheet was printed in a minute")


@pytest.mark.long
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGKILL])
def test_an_interrupted_batch_leaves_whole_files_and_is_continued(
    how: signal.Signals, shop_folder: Path
) -> None:
    count = 400
    batch = started(shop_folder, *ISSUE, "--count", str(count))
    wait_for_files(shop_folder, 20)
    os.killpg(batch.pid, how)
    _, err = batch.communicate(timeout=60)
    assert "Traceback" not in err
    if how == signal.SIGINT:
        assert batch.returncode == 2
        assert "print --missing" in err
    time.sleep(2)
    left = list((shop_folder / "travelers").glob("*/traveler.pdf"))
    assert 20 <= len(left) < count
    for path in left:
        with pikepdf.open(path) as pdf:
            assert pdf.check_pdf_syntax() == []
    if how == signal.SIGINT:
        assert not list((shop_folder / "travelers").rglob("*.part"))
    again = started(shop_folder, "print", "--missing")
    out, err = again.communicate(timeout=300)
    assert again.returncode == 0, err
    assert len(out.splitlines()) == count - len(left)
    assert len(list((shop_folder / "travelers").glob("*/traveler.pdf"))) == count
