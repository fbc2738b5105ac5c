"""``docs/findings.md`` holds every finding of the whole program, and no other."""

from __future__ import annotations

import ast
import re
from pathlib import Path

from traveler.finding import finding_codes

HOUSE = Path(__file__).parents[2]
PAGE = (HOUSE / "docs" / "findings.md").read_text(encoding="utf-8")
CODE = re.compile(r"[A-Z]{3}\d{3}")
WEIGHTS = {"blocking", "warning", "note"}


def in_the_source() -> dict[str, str]:
    """Every literal in the package that is a code → the file it stands in."""
    found: dict[str, str] = {}
    for file in sorted((HOUSE / "traveler").rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and CODE.fullmatch(node.value):
                found.setdefault(node.value, str(file.relative_to(HOUSE)))
    return found


def rows() -> list[list[str]]:
    """The rows of the page's tables: code, weight, what is wrong, why, what to do, an example."""
    lines = (line for line in PAGE.splitlines() if CODE.match(line.removeprefix("| ")))
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines]


def test_every_code_in_the_source_is_documented():
    documented = {row[0] for row in rows()}
    missing = {code: file for code, file in in_the_source().items() if code not in documented}
    assert missing == {}, "add these to docs/findings.md"


def test_every_documented_code_is_in_the_source():
    assert {row[0] for row in rows()} - set(in_the_source()) == set(), "take these out of docs/findings.md"


def test_every_code_is_documented_once_in_full():
    codes = [row[0] for row in rows()]
    assert len(codes) == len(set(codes))
    for row in rows():
        assert len(row) == 6, row
        assert all(row), row
        assert row[1].removesuffix(", firm") in WEIGHTS, row


def test_codes_stand_under_their_family_which_the_overview_names():
    family = ""
    for line in PAGE.splitlines():
        if heading := re.fullmatch(r"## ([A-Z]{3})", line):
            family = heading[1]
            assert f"[{family}](#{family.lower()})" in PAGE
        elif CODE.match(line.removeprefix("| ")):
            assert line.startswith(f"| {family}"), line


def test_the_page_shows_what_the_data_says():
    told = {
        code: [f"{kind.weight}{', firm' if kind.firm else ''}", kind.title, kind.why, kind.do, kind.example]
        for code, kind in finding_codes().items()
    }
    assert {row[0]: row[1:] for row in rows()} == told, "docs/findings.md and traveler/findings.yaml differ"


def test_what_the_page_links_to_is_there():
    for target in re.findall(r"\]\(([^)#]+)\)", PAGE):
        assert (HOUSE / "docs" / target).exists(), target
