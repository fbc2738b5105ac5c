"""How every command answers: findings, tables or JSON, and the exit code.

Exit codes: 0 fine, 1 findings, 2 could not do what was asked. Results go to stdout, findings and
failures to stderr; with ``--json`` one JSON document goes to stdout, whatever happens.
"""

from __future__ import annotations

import json
import shutil
import sys
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from traveler.finding import CannotDo, Finding, blocking, order

if TYPE_CHECKING:
    from rich.console import Console

__all__ = [
    "FAILED", "FINDINGS", "FINE", "CannotDo", "Found",
    "answer", "answer_long", "as_json", "console", "defect", "failure", "table",
]  # fmt: skip

FINE, FINDINGS, FAILED = 0, 1, 2


class Found(Exception):
    """Nothing was done because of these findings. Exit code 1."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__(*map(str, self.findings))


def as_json(document: Mapping[str, object]) -> str:
    """The document as indented JSON text, non-ASCII characters as they are."""
    return json.dumps(document, ensure_ascii=False, indent=2, default=str)


def answer(
    result: Mapping[str, object],
    findings: Iterable[Finding] = (),
    *,
    text: str = "",
    json_wanted: bool = False,
) -> int:
    """Print a result with its findings and return the exit code (0, or 1 if a finding blocks)."""
    listed = order(findings)
    code = FINDINGS if blocking(listed) else FINE
    if json_wanted:
        print(as_json({**result, "findings": [finding.as_dict() for finding in listed], "exit": code}))
        return code
    if text:
        print(text)
    _tell(listed)
    return code


def _tell(findings: Iterable[Finding]) -> None:
    for finding in findings:
        print(
            f"{finding}" if finding.weight == "blocking" else f"{finding} ({finding.weight})", file=sys.stderr
        )


def answer_long(pieces: Iterable[tuple[str, Sequence[Finding]]], name: str, *, json_wanted: bool) -> int:
    """As :func:`answer` for a result of many pieces, which is never held in memory as a whole.

    A piece is lines of text or, with ``json_wanted``, a JSON document that becomes an item of the list
    ``name``. Nothing is printed before the last piece is there.
    """
    findings: list[Finding] = []
    with tempfile.TemporaryFile("w+", encoding="utf-8", errors="surrogateescape") as held:
        for number, (text, found) in enumerate(pieces):
            if text:
                held.write(f"{',' if json_wanted and number else ''}{text}\n")
            findings += found
        held.seek(0)
        listed = order(findings)
        code = FINDINGS if blocking(listed) else FINE
        if json_wanted:
            print(f'{{"{name}": [')
            shutil.copyfileobj(held, sys.stdout)
            rest = as_json({"findings": [finding.as_dict() for finding in listed], "exit": code})
            print("]," + rest.removeprefix("{"))
            return code
        shutil.copyfileobj(held, sys.stdout)
    _tell(listed)
    return code


def failure(problem: str, hint: str = "", *, json_wanted: bool = False) -> int:
    """Print why nothing could be done and return exit code 2."""
    if json_wanted:
        print(as_json({"error": problem, "hint": hint, "findings": [], "exit": FAILED}))
    else:
        print(f"traveler: {problem}" + (f"; {hint}" if hint else ""), file=sys.stderr)
    return FAILED


def defect(problem: BaseException, *, json_wanted: bool = False) -> int:
    """Keep the report of an error nobody expected in a file, say where, and return exit code 2."""
    import traceback

    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="traveler-defect-", suffix=".txt", delete=False, encoding="utf-8", errors="replace"
        ) as report:
            report.write("".join(traceback.format_exception(problem)))
        where = f"the report is in {report.name}"
    except OSError:
        where = "no report could be written"
    what = f"a defect of traveler itself: {type(problem).__name__}: {problem}"
    return failure(what, where, json_wanted=json_wanted)


def console() -> Console:
    """A rich console on stdout: as wide as the terminal, 120 columns where there is none."""
    from rich.console import Console

    return Console(
        width=max(shutil.get_terminal_size((120, 24)).columns, 60), highlight=False, markup=False, emoji=False
    )


def table(columns: Sequence[str], rows: Iterable[Sequence[str]], *, title: str = "") -> str:
    """A table as text. Cells are plain text: square brackets and colons in them mean nothing."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    drawn = Table(title=Text(title) if title else None, title_justify="left", box=box.SIMPLE_HEAD)
    for column in columns:
        drawn.add_column(Text(column), overflow="fold")
    for row in rows:
        drawn.add_row(*(Text(cell) for cell in row))
    screen = console()
    with screen.capture() as drawing:
        screen.print(drawn)
    return "\n".join(line.rstrip() for line in drawing.get().strip("\n").split("\n"))
