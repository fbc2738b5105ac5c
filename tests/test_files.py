"""A file or folder is written whole or not at all."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler import files
from traveler.files import (
    check_ending,
    csv_cell,
    csv_text,
    folder_held,
    growing,
    new_folder,
    replacing,
    safe_name,
    write_together,
    write_whole,
)
from traveler.finding import CannotDo


def by_path(path: Path, content: bytes) -> None:
    with replacing(path) as part:
        part.write_bytes(content)


def in_pieces(path: Path, content: bytes) -> None:
    with growing(path) as file:
        for byte in content:
            file.write(bytes([byte]))


def together(path: Path, content: bytes) -> None:
    for problem in write_together([(path, content)]).values():
        raise problem


WRITERS: list[Callable[[Path, bytes], object]] = [write_whole, by_path, in_pieces, together]


@pytest.mark.parametrize("write", WRITERS)
def test_the_content_is_there_and_nothing_else(
    write: Callable[[Path, bytes], object], tmp_path: Path
) -> None:
    path = tmp_path / "a" / "b" / "sheet.pdf"
    write(path, b"%PDF")
    assert path.read_bytes() == b"%PDF"
    assert [file.name for file in path.parent.iterdir()] == ["sheet.pdf"]
    assert path.stat().st_mode & 0o777 == 0o644


@pytest.mark.parametrize("write", WRITERS)
def test_a_file_keeps_its_permissions(write: Callable[[Path, bytes], object], tmp_path: Path) -> None:
    path = write_whole(tmp_path / "people.yaml", b"old")
    path.chmod(0o600)
    write(path, b"new")
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("write", WRITERS)
@pytest.mark.parametrize("fails", ["fsync", "replace"])
def test_a_failure_leaves_the_old_file_and_no_remains(
    write: Callable[[Path, bytes], object], fails: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_whole(tmp_path / "sheet.pdf", b"old")

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as disk:
        disk.setattr(*((files.os, fails) if fails == "fsync" else (Path, fails)), full)
        with pytest.raises(OSError, match="No space left"):
            write(path, b"new")
    assert path.read_bytes() == b"old"
    assert [file.name for file in tmp_path.iterdir()] == ["sheet.pdf"]


def test_of_many_files_the_others_are_written(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file, so no folder can be made")
    bad, good = tmp_path / "taken" / "a.pdf", tmp_path / "b" / "b.pdf"
    assert set(write_together([(bad, b"1"), (good, b"2")])) == {bad}
    assert good.read_bytes() == b"2"


def test_a_folder_appears_with_all_in_it_or_not_at_all(tmp_path: Path) -> None:
    folder = tmp_path / "x" / "backup"

    def fill(*, fails: bool) -> None:
        with new_folder(folder) as part:
            (part / "in").mkdir()
            (part / "in" / "a").write_bytes(b"1")
            assert not folder.exists()
            if fails:
                raise OSError(errno.ENOSPC, "No space left on device")

    with pytest.raises(OSError, match="No space left"):
        fill(fails=True)
    assert list((tmp_path / "x").iterdir()) == []
    fill(fails=False)
    assert (folder / "in" / "a").read_bytes() == b"1"
    assert [file.name for file in (tmp_path / "x").iterdir()] == ["backup"]


WRITER = """
import sys
from pathlib import Path
from traveler.files import write_whole
path = Path(sys.argv[1])
number = 0
while True:
    write_whole(path, bytes([65 + number % 26]) * 400_000)
    number += 1
"""


def test_a_kill_at_any_moment_leaves_a_whole_file(tmp_path: Path) -> None:
    path = tmp_path / "sheet.pdf"
    for wait in (0.02, 0.05, 0.08):
        writer = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], env={**os.environ})
        while not path.exists():
            time.sleep(0.01)
        time.sleep(wait)
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        content = path.read_bytes()
        assert len(content) == 400_000
        assert len(set(content)) == 1


def test_a_share_that_keeps_no_locks_and_no_folders_in_step_is_written_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Some network shares refuse to lock a folder, and to wait until its names are on disk."""
    sync = os.fsync

    def refuse(*_: object) -> None:
        raise OSError(errno.EOPNOTSUPP, "Operation not supported")

    def only_files(handle: int) -> None:
        refuse() if os.path.isdir(f"/proc/self/fd/{handle}") else sync(handle)  # noqa: PTH112

    monkeypatch.setattr(files.fcntl, "flock", refuse)
    monkeypatch.setattr(files.os, "fsync", only_files)
    with folder_held(tmp_path):
        assert write_whole(tmp_path / "people.yaml", b"1").read_bytes() == b"1"


@pytest.mark.parametrize("name", [None, "a.html", "b/c.HTM"])
def test_a_name_that_ends_as_it_should(name: str | None) -> None:
    check_ending(None if name is None else Path(name), ".html", ".htm")


@pytest.mark.parametrize("name", ["shop.yaml", "a.pdf", "html", "", "."])
def test_a_name_that_ends_otherwise(name: str) -> None:
    with pytest.raises(CannotDo, match=r"does not end in \.html or \.htm"):
        check_ending(Path(name), ".html", ".htm")


@pytest.mark.parametrize(
    ("text", "name"),
    [("a b/c.jpg", "a_b_c.jpg"), ("../..", "_"), ("...", "file"), ("", "file"), ("x" * 200, "x" * 80)],
)
def test_a_safe_name_is_taken_by_every_file_system(text: str, name: str) -> None:
    assert safe_name(text) == name


def test_only_one_module_makes_temporary_files_and_renames_them() -> None:
    package = Path(files.__file__).parent
    makers = ("mkstemp(", "os.replace(", "os.rename(", "os.fsync(")
    found = {
        str(file.relative_to(package))
        for file in package.rglob("*.py")
        if any(maker in file.read_text("utf-8") for maker in makers)
    }
    assert found == {"files.py", "record/seal.py"}, "a seal file is only ever added to"


@given(st.text(max_size=30))
def test_no_text_is_taken_for_a_formula(text: str) -> None:
    cell = csv_cell(text)
    number = cell.removeprefix("-").replace(".", "", 1)
    assert cell[:1] not in "=+@\t\r" or cell == ""
    assert not cell.startswith("-") or (number.isascii() and number.isdigit())
    assert text in (cell, cell[1:])


@given(st.decimals(allow_nan=False, allow_infinity=False, places=6))
def test_no_number_is_changed(value: Decimal) -> None:
    text = format(value, "f")
    assert csv_cell(text) == text


def test_a_remark_that_looks_like_a_formula_is_quoted() -> None:
    assert csv_cell('=HYPERLINK("x")') == '\'=HYPERLINK("x")'
    assert csv_cell(" +1 turn") == "' +1 turn"
    assert csv_cell("-0.02 mm") == "'-0.02 mm"
    assert csv_cell("＝1+1") == "'＝1+1"
    assert [csv_cell(sign + "x")[0] for sign in "=+-@\t\r"] == ["'"] * 6


def test_a_cell_of_every_csv_is_guarded() -> None:
    assert csv_text([("=1", "-0.05", None), ("a,b", 3, "@x")]) == "'=1,-0.05,\r\n\"a,b\",3,'@x\r\n"
