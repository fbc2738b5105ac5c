"""A file is written whole or not at all."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from traveler import files as whole_file
from traveler.files import write_whole


def test_the_content_is_there_and_nothing_else(tmp_path: Path) -> None:
    path = write_whole(tmp_path / "a" / "b" / "sheet.pdf", b"%PDF")
    assert path.read_bytes() == b"%PDF"
    assert [item.name for item in path.parent.iterdir()] == ["sheet.pdf"]
    assert path.stat().st_mode & 0o777 == 0o644


@pytest.mark.parametrize("fails", ["fsync", "fchmod", "fdopen"])
def test_a_failure_leaves_the_old_file_and_no_remains(
    fails: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_whole(tmp_path / "sheet.pdf", b"old")

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as disk:
        disk.setattr(whole_file.os, fails, full)
        with pytest.raises(OSError, match="No space left"):
            write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.pdf"]


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
