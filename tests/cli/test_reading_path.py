"""The way of a reading: from the command line to its verdict it passes few files."""

from __future__ import annotations

import sys
from pathlib import Path
from types import FrameType
from typing import Any

import traveler

PACKAGE = Path(traveler.__file__).parent
TEXT, VALUE = "0.0431 mm", "0.0431"
WAY = (
    "cli/record.py",
    "jobs/record.py",
    "jobs/append.py",
    "record/readers/understand.py",
    "trace/judging.py",
    "verdict/judge.py",
    "verdict/deciding.py",
    "verdict/rows.py",
)
"""From typing to weighing: understood as an entry, appended, read again with the unit, judged."""


class Watch:
    """Files on the call stack whenever the text is read as a result, or weighed against its limits."""

    def __init__(self) -> None:
        self.files: set[str] = set()
        self.weighed = 0

    def __call__(self, frame: FrameType, event: str, _: object) -> None:
        if event != "call":
            return
        name, given = frame.f_code.co_name, frame.f_locals.values()
        understood = name == "read_body" and any(
            getattr(argument, "text", None) == TEXT for argument in given
        )
        weighed = name == "row" and any(getattr(argument, "value", None) == VALUE for argument in given)
        if understood or weighed:
            self.weighed += weighed
            self.files |= set(_files(frame))


def _files(frame: FrameType | None) -> list[str]:
    """Files of the package on the stack, down to the command."""
    found = []
    while frame is not None:
        path = Path(frame.f_code.co_filename)
        if path.is_relative_to(PACKAGE):
            found.append(path.relative_to(PACKAGE).as_posix())
            if frame.f_code.co_name == "enter" and path.parent.name == "cli":
                break
        frame = frame.f_back
    return found


def test_a_reading_passes_at_most_eight_files_on_its_way_to_the_verdict(command: Any) -> None:
    serial = command("issue", "step-stool", "--variant", "2", "--by", "rhale", "--json").json["units"][0][
        "serial"
    ]
    watch = Watch()
    before = sys.getprofile()
    sys.setprofile(watch)
    try:
        said = command("enter", serial, "10-4/side=left", TEXT, "--gauge", "IND-03", "--by", "tkiln")
    finally:
        sys.setprofile(before)
    assert said.code in (0, 1), said.err
    assert watch.weighed
    assert watch.files == set(WAY)
    assert len(watch.files) <= 8
