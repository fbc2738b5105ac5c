"""How every command answers: text, tables or one JSON document, findings, and the exit code.

Results go to stdout, findings and failures to stderr. With ``--json`` one JSON document in UTF-8 goes to
stdout, whatever happens and whatever the terminal's encoding is.
"""

from __future__ import annotations

import codecs
import json
import shutil
import sys
import tempfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from traveler.finding import CannotDo, Finding, blocking, order, with_hint

if TYPE_CHECKING:
    from rich.console import Console

FINE, FINDINGS, FAILED = 0, 1, 2
"""The exit codes: fine; findings; could not do what was asked."""

NAMED_WRONG = frozenset({"PER001", "GAU002", "PEO005"})
"""Findings about a person, gauge or role on the command line that the shop does not have."""

_Item = TypeVar("_Item")


class Found(Exception):
    """Nothing was done because of these findings. Exit code 1."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__(*map(str, self.findings))


@dataclass(frozen=True, slots=True)
class Answer:
    """What a command answers: ``result`` for ``--json``, ``lines`` for people, and findings.

    ``lines`` are made only where they are shown. ``urgent``: exit code 1 although no finding blocks.
    ``undone`` is said after findings that block where nothing was done; exit code 2 where all of these are
    :data:`NAMED_WRONG`.
    """

    result: Mapping[str, object]
    lines: Iterable[str] = ()
    findings: Iterable[Finding] = ()
    urgent: bool = False
    undone: str = ""

    def show(self, *, json_wanted: bool) -> int:
        """Prints the answer and returns the exit code."""
        listed = order(dict.fromkeys(self.findings))
        code, wrong = _code(listed, urgent=self.urgent), {finding.code for finding in blocking(listed)}
        if self.undone and wrong and wrong <= NAMED_WRONG:
            code = FAILED
        if json_wanted:
            first = next(iter(blocking(listed)), None) if code == FAILED else None
            why = {"error": first.what, "hint": first.hint} if first is not None else {}
            print_json({**self.result, **why, **_tail(listed, code)})
            return code
        for line in self.lines:
            print(line)
        show_findings(listed)
        if self.undone and wrong:
            print(self.undone, file=sys.stderr)
        return code


def unless(done: object, undone: str = "Nothing was recorded.") -> str:
    """What an answer says of nothing done: ``undone``, or nothing where something was ``done``."""
    return "" if done else undone


@dataclass(frozen=True, slots=True)
class LongAnswer:
    """An answer of many pieces, which is never held in memory as a whole.

    A piece is lines of text or, with ``--json``, a JSON document that becomes an item of the list ``name``.
    Nothing is printed before the last piece is there.
    """

    name: str
    pieces: Iterable[tuple[str, Sequence[Finding]]]

    def show(self, *, json_wanted: bool) -> int:
        """Prints the answer and returns the exit code."""
        findings: list[Finding] = []
        with tempfile.TemporaryFile("w+", encoding="utf-8", errors="surrogateescape") as held:
            joint = ""
            for text, found in self.pieces:
                if text:
                    held.write(f"{joint}{text}\n")
                    joint = "," if json_wanted else ""
                findings += found
            held.seek(0)
            listed = order(dict.fromkeys(findings))
            code = _code(listed)
            if json_wanted:
                _speak_utf8()
                print(f'{{"{self.name}": [')
            shutil.copyfileobj(held, sys.stdout)
        if json_wanted:
            print("]," + _as_json(_tail(listed, code)).removeprefix("{"))
        else:
            show_findings(listed)
        return code


def _code(findings: Iterable[Finding], *, urgent: bool = False) -> int:
    return FINDINGS if urgent or blocking(findings) else FINE


def _tail(findings: Iterable[Finding], code: int) -> dict[str, object]:
    return {"findings": [finding.as_dict() for finding in findings], "exit": code}


def _as_json(document: Mapping[str, object]) -> str:
    return json.dumps(document, ensure_ascii=False, indent=2, default=str)


def _speak_utf8() -> None:
    """Output in UTF-8 from here on; a file name that is not text becomes an escape, which JSON allows."""
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(encoding="utf-8", errors="backslashreplace")


def print_json(document: Mapping[str, object]) -> None:
    """Prints one JSON document: indented, in UTF-8, other than ASCII characters as they are."""
    _speak_utf8()
    print(_as_json(document))


PLAIN = {
    "─": "-", "–": "-", "—": "-", "−": "-", "·": "-", "●": "x", "×": "x", "±": "+/-", "…": "...",
    "→": "->", "÷": "/", "µ": "u", "μ": "u", "²": "^2", "³": "^3", "≤": "<=", "≥": ">=", "≈": "~",
    "°": "deg ", "σ": "sigma", "Ω": "ohm", "’": "'", "“": '"', "”": '"', "\N{NO-BREAK SPACE}": " ",
}  # fmt: skip
"""A sign → how it is written on a terminal that does not have it."""


def written_plainly(problem: UnicodeError) -> tuple[str | bytes, int]:
    """Handles what an output cannot encode: signs as in :data:`PLAIN`, all else as an escape."""
    if isinstance(problem, UnicodeEncodeError):
        sign = problem.object[problem.start]
        if sign in PLAIN:
            return PLAIN[sign], problem.start + 1
        problem.end = problem.start + 1
    return codecs.backslashreplace_errors(problem)


def show_findings(findings: Iterable[Finding]) -> None:
    """Lists findings on stderr, with the weight of those that do not block."""
    for finding in findings:
        weight = "" if finding.weight == "blocking" else f" ({finding.weight})"
        print(f"{finding}{weight}", file=sys.stderr)


def failure(problem: str, hint: str = "", *, json_wanted: bool = False) -> int:
    """Prints why nothing could be done and returns exit code 2."""
    if json_wanted:
        print_json({"error": problem, "hint": hint, **_tail((), FAILED)})
    else:
        print(f"traveler: {with_hint(problem, hint)}", file=sys.stderr)
    return FAILED


def defect(problem: BaseException, *, json_wanted: bool = False) -> int:
    """Writes the report of an unexpected error into a file, names the file, and returns exit code 2."""
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


WIDEST, NARROWEST = 120, 40
"""Columns of output where there is no terminal; columns under which nothing gets narrower."""

LEAST = 16
"""Columns a text is not folded below."""


def width() -> int:
    """Columns of the terminal; 120 where there is none."""
    return max(shutil.get_terminal_size((WIDEST, 24)).columns, NARROWEST)


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table. ``text``: may be folded; all others keep each cell whole.

    ``drop``: left out where the terminal is too narrow, the greatest first; 0 stays.
    """

    name: str
    text: bool = False
    drop: int = 0


def table(columns: Sequence[str | Column], rows: Iterable[Sequence[str]], *, title: str = "") -> str:
    """A table as text, as wide as the terminal; no id is ever broken.

    Where it is too narrow, texts are folded, empty columns left out, then others (named below the table),
    and at last each row becomes a record of ``name value`` lines.
    """
    heads = [column if isinstance(column, Column) else Column(column) for column in columns]
    cells = [[" ".join(cell.split()) for cell in row] for row in rows]
    above = [title] if title else []
    filled = [any(row[at] for row in cells) for at in range(len(heads))]
    shown = list(range(len(heads)))
    while (widths := _widths(heads, cells, shown)) is None:
        empty = [at for at in shown if not filled[at]]
        droppable = empty[:1] or [at for at in shown if heads[at].drop]
        if not droppable:
            return "\n".join([*above, *_records(heads, cells)])
        shown.remove(max(droppable, key=lambda at: heads[at].drop))
    lines = [*above, *_row([heads[at].name for at in shown], widths)]
    lines.append("  ".join("─" * columns for columns in widths))
    for row in cells:
        lines += _row([row[at] for at in shown], widths)
    left_out = [head.name for at, head in enumerate(heads) if at not in shown and filled[at]]
    return "\n".join([*lines, *([f"(left out: {', '.join(left_out)})"] if left_out else [])])


def _widths(heads: Sequence[Column], rows: Sequence[Sequence[str]], shown: Sequence[int]) -> list[int] | None:
    """The widths of the columns shown, texts narrowed as far as needed; None where that is not enough."""
    widths = [max([_cells(heads[at].name), *(_cells(row[at]) for row in rows)]) for at in shown]
    for _ in range(sum(widths) + 2 * (len(widths) - 1) - width()):
        texts = [place for place, at in enumerate(shown) if heads[at].text and widths[place] > LEAST]
        if not texts:
            return None
        widths[max(texts, key=lambda place: widths[place])] -= 1
    return widths


def _row(cells: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    """A row as one line, or several where a text is folded."""
    folded = [_folded(cell, columns) for cell, columns in zip(cells, widths, strict=True)]
    for at in range(max(map(len, folded))):
        parts = (lines[at] if at < len(lines) else "" for lines in folded)
        padded = (part + " " * (columns - _cells(part)) for part, columns in zip(parts, widths, strict=True))
        yield "  ".join(padded).rstrip()


def _folded(text: str, columns: int) -> list[str]:
    """The text in lines of so many columns, broken between words; a word that is longer stays whole."""
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if lines[-1] and _cells(longer) > columns:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _records(heads: Sequence[Column], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Each row as lines of a name and a value; empty cells are left out."""
    longest = max(_cells(head.name) for head in heads)
    for number, row in enumerate(rows):
        if number:
            yield ""
        for head, cell in zip(heads, row, strict=True):
            if cell:
                yield f"{head.name}{' ' * (longest - _cells(head.name))}  {cell}"


def _cells(text: str) -> int:
    """Columns that a text takes on a terminal."""
    from rich.cells import cell_len

    return len(text) if text.isascii() else cell_len(text)


def console() -> Console:
    """A rich console on stdout, as wide as the terminal."""
    from rich.console import Console

    return Console(width=width(), highlight=False, markup=False, emoji=False)


FEW = 3
"""Fewer items than this need no progress bar."""


def watched(items: Iterable[_Item], total: int, what: str) -> Iterator[_Item]:
    """The items one by one, with a progress bar on stderr if it is a terminal and there are many."""
    if total < FEW or not sys.stderr.isatty():
        yield from items
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(),
        TextColumn("{task.fields[rate]}"), TimeRemainingColumn(),
    )  # fmt: skip
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=total, rate="")
        for item in items:
            yield item
            speed = bar.tasks[0].speed
            bar.update(task, advance=1, rate=f"{speed:.1f}/s" if speed else "")


def content(path: Path, most: int, undone: str) -> bytes:
    """The bytes of a file that was named; ``undone`` is what did not happen where it cannot be read.

    Raises:
        CannotDo: there is no such file, or it is larger than ``most`` bytes.
    """
    if not path.is_file():
        what = f"there is no file {path}"
        raise CannotDo(what, undone)
    if path.stat().st_size > most:
        what = f"{path} has {path.stat().st_size:,} bytes; at most {most:,} are read"
        raise CannotDo(what, undone)
    return path.read_bytes()
