"""Every command that a text names is there with its options: in docs, messages and files."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from traveler.cli.main import build
from traveler.cli.request import COMMANDS

HOUSE = Path(__file__).parents[2]
DOCS = [*sorted((HOUSE / "docs").glob("*.md")), HOUSE / "README.md", HOUSE / "DEVELOPERS.md"]
DATA = [
    HOUSE / "traveler" / "findings.yaml", *sorted((HOUSE / "templates").rglob("*.html")),
    *sorted((HOUSE / "product_defs").rglob("*.yaml")),
]  # fmt: skip

QUOTED = re.compile(r"[`'\"](?:\S*/)?(traveler [a-z][^`'\"\n]*)")
"""A command in quotes or as code."""

LINE = re.compile(r"^\s*(?:\$ |> |Example: )?(?:\S*/)?(traveler [a-z].*)$")
"""A command on a line of its own, as in a block of shell commands."""

build()
FIRST = {name.split()[0] for name in COMMANDS}
NAMED = re.compile(rf"\btraveler (?:{'|'.join(sorted(FIRST))})\b[^`'\";\n]*")
"""A command in the middle of a sentence."""


def in_docs(text: str) -> Iterator[str]:
    """The commands of a page: in quotes, and on lines of shell blocks."""
    fenced = False
    for line in text.splitlines():
        if line.lstrip().startswith("```"):
            fenced = not fenced
        elif (fenced or line.startswith("    ")) and (found := LINE.match(line)):
            yield found[1].split(" #")[0]
        else:
            yield from (found[1] for found in QUOTED.finditer(line))


def in_source(file: Path) -> Iterator[str]:
    """The commands in the texts of a module; a value that is filled in stands as X."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        text = ""
        if isinstance(node, ast.JoinedStr):
            text = "".join(part.value if isinstance(part, ast.Constant) else "X" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        yield from (found[0] for found in NAMED.finditer(" ".join(text.split())))
        yield from (found[1] for found in QUOTED.finditer(text))


@pytest.mark.parametrize("page", DOCS, ids=lambda page: page.name)
def test_the_docs_name_commands_that_are_there(page: Path, wrong_in: Callable[[str], str]) -> None:
    found = list(in_docs(page.read_text(encoding="utf-8")))
    assert [wrong for line in found if (wrong := wrong_in(line))] == []


def test_the_docs_name_many_commands() -> None:
    assert len(list(in_docs((HOUSE / "docs" / "commands.md").read_text(encoding="utf-8")))) > 80


@pytest.mark.parametrize(
    "room", sorted({path.name for path in (HOUSE / "traveler").iterdir() if path.is_dir()})
)
def test_messages_name_commands_that_are_there(room: str, wrong_in: Callable[[str], str]) -> None:
    files = (HOUSE / "traveler" / room).rglob("*.py")
    found = [(file.name, line) for file in files for line in in_source(file)]
    assert [(name, wrong) for name, line in found if (wrong := wrong_in(line))] == []
    if room in ("cli", "record", "trace", "verdict"):
        assert found


OPTION = re.compile(r"(?<![\w-])--[a-z][a-z-]*")
"""An option in a sentence."""


@pytest.mark.parametrize("room", ["jobs", "record", "trace", "verdict"])
def test_messages_name_options_that_are_there(room: str, wrong_in: Callable[[str], str]) -> None:
    texts = [
        node.value
        for file in (HOUSE / "traveler" / room).rglob("*.py")
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    ]
    found = {option for text in texts for option in OPTION.findall(text)}
    assert found
    assert {option for option in found if not any_command_takes(option, wrong_in)} == set()


def any_command_takes(option: str, wrong_in: Callable[[str], str]) -> bool:
    return any(not wrong_in(f"traveler {name} {option}") for name in COMMANDS)


def test_an_option_that_no_command_takes_is_found(wrong_in: Callable[[str], str]) -> None:
    assert any_command_takes("--reason", wrong_in)
    assert not any_command_takes("--what", wrong_in)


def test_data_and_templates_name_commands_that_are_there(wrong_in: Callable[[str], str]) -> None:
    found = [(file.name, line) for file in DATA for line in in_docs(file.read_text(encoding="utf-8"))]
    assert found
    assert [(name, wrong) for name, line in found if (wrong := wrong_in(line))] == []


@pytest.mark.parametrize(
    "line",
    [
        "traveler nosuch",
        "traveler case",
        "traveler gauge study f.csv --set",
        "traveler place X --where 'Bay 3'",
    ],
)
def test_a_command_that_is_not_there_is_found(line: str, wrong_in: Callable[[str], str]) -> None:
    assert wrong_in(line)
