"""No text that a person reads uses a retired word: one word, one meaning (docs/terms.md)."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml

HOUSE = Path(__file__).parents[1]

RETIRED = {
    # word or pattern: what to write
    r"reckon\w*": "calculate, calculation",
    r"mend(s|ed|ing)?": "correct, repair",
    r"anew": "again",
    r"belongs? into": "belongs to, goes into",
    r"takes? (a|the) role": "'may not …; allowed roles: …'",
    r"(is|are|be|was|were) held against": "checked against",
    r"counts? no more": "no longer counts",
    r"talked around": "name what is meant",
    r"(is|are) a hope": "say what to check",
    r"a silence": "say what cannot be concluded",
    r"(?<!there )is no (?!longer|such|more than|less than|earlier|later|better|worse|other)(?!\w+er\b)[a-z]+":
        "is not a …",
    r"(is|are|was|were|be|been) told(?! apart)": "shown, listed, reported",
    r"whoever": "the person who, anybody who",
    r"(?<!been )(overdue|late|open|stopped|waiting) since": "has been … since",
    r"stretch of time": "duration",
    r"nothing in the way": "no blocking findings",
    r"beyond chance": "unlikely to be chance",
    r"chance would not do": "no unusual pattern",
    r"measured again, in": "re-measured, within limits",
    r"found not so": "not confirmed",
    r"conceded": "concession",
    r"reads to": "resolution",
    r"(mass|crate), (bare|empty)": "net mass, tare",
    r"which others": "other units affected",
    r"the last word": "closing remark",
    r"anti-?clockwise": "counter-clockwise",
    r"counterclockwise": "counter-clockwise",
    r"(for|to) the eyes": "to read",
    r"lot serial": "lot number",
    # American spelling
    r"neighbour\w*": "neighbor", r"colour\w*": "color", r"(milli|centi|kilo)?metres?": "meter",
    r"grey": "gray", r"licence\w*": "license", r"behaviour\w*": "behavior", r"judgement\w*": "judgment",
    r"callipers?": "caliper", r"levelling": "leveling", r"labelled": "labeled",
    r"(normal|organ|recogn|summar|synchron|capital|real)is(e|ed|es|ing|ation)": "-ize",
}  # fmt: skip
"""English, whole words whatever their capitals, and what stands in their place."""

RETIRED_IN_SPANISH = {
    r"lee a": "resolución",
    r"nada abierto": "nada pendiente",
    r"como hallado": "valor encontrado",
    r"masa, sin embalar": "masa neta",
    r"caj[oó]n, vac[ií]o": "tara",
    r"todo dentro": "todo embalado",
    r"medido de nuevo": "vuelto a medir",
    r"(?<!pedal de )(?<!punto de )(parad|detenid)[oa]s?": "retenido",
    r"concedid[oa]": "bajo concesión",
    r"usar así": "usar tal cual",
    r"cuáles otras": "otras unidades afectadas",
    r"quejas?": "reclamación",
    r"sin fundamento": "no procede",
    r"resumen de la definición": "huella (SHA-256)",
    r"mirar": "inspección visual",
    r"sin horquillas": "no usar horquillas",
    r"hoja de seguridad": "instrucciones de seguridad",
    r"tiro de la correa": "tensión de la correa",
}


def pattern(table: dict[str, str]) -> re.Pattern[str]:
    return re.compile("|".join(rf"(?:\b{words}\b)" for words in table), re.IGNORECASE)


ENGLISH, SPANISH = pattern(RETIRED), pattern(RETIRED_IN_SPANISH)
DOCUMENTS = sorted(
    [*HOUSE.glob("*.md"), *(HOUSE / "docs").rglob("*.md"), *(HOUSE / "templates").rglob("*.md")]
)
MODULES = sorted((HOUSE / "traveler").rglob("*.py"))
CODES = HOUSE / "traveler" / "findings.yaml"
TEMPLATES = sorted((HOUSE / "templates").rglob("*.html"))
DEFINITIONS = sorted((HOUSE / "product_defs").glob("*.yaml"))


def prose(path: Path) -> Iterator[tuple[int, str]]:
    """Line and text of what a person reads in a page: no code, no names in backquotes."""
    fenced = False
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if line.lstrip().startswith("```"):
            fenced = not fenced
        elif not fenced:
            yield number, re.sub(r"`[^`]*`|\]\([^)]*\)|https?://\S+", " ", line)


def texts(path: Path) -> Iterator[tuple[int, str]]:
    """Line and text of each string of a module, its docstrings among them; no names in backquotes."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and " " in node.value:
            for at, line in enumerate(node.value.splitlines()):
                yield node.lineno + at, re.sub(r"``[^`]*``|:\w+:`[^`]*`|>>>.*", " ", line)


def messages(path: Path) -> Iterator[tuple[str, str]]:
    """English and Spanish of each message of a catalogue."""
    from babel.messages.pofile import read_po

    with path.open("rb") as file:
        for message in read_po(file):
            if message.id:
                yield str(message.id), str(message.string)


def spanish_of(node: object) -> Iterator[str]:
    if isinstance(node, dict):
        for key, inner in node.items():
            yield from ([str(inner)] if key == "es" else spanish_of(inner))
    elif isinstance(node, list):
        for inner in node:
            yield from spanish_of(inner)


def found(lines: Iterator[tuple[int, str]], words: re.Pattern[str] = ENGLISH) -> list[str]:
    return [
        f"line {number}: {match[0]!r} in {text.strip()}"
        for number, text in lines
        for match in words.finditer(text)
    ]


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: path.relative_to(HOUSE).as_posix())
def test_documents(path: Path) -> None:
    if path.name != "terms.md":
        assert found(prose(path)) == []


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(HOUSE).as_posix())
def test_messages_help_and_docstrings(path: Path) -> None:
    assert found(texts(path)) == []


def test_what_findings_mean() -> None:
    assert found(enumerate(CODES.read_text(encoding="utf-8").splitlines(), 1)) == []


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_templates(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines()
    said = [
        (at, quoted) for at, line in enumerate(lines, 1) for quoted in re.findall(r'_\("([^"]*)"\)', line)
    ]
    assert found(iter(said)) == []


def test_catalogs() -> None:
    for path in (HOUSE / "templates").rglob("*.po"):
        said = list(messages(path))
        assert found((0, english) for english, _ in said) == []
        if "/es/" in path.as_posix():
            assert found(((0, spanish) for _, spanish in said), SPANISH) == []


@pytest.mark.parametrize("path", DEFINITIONS, ids=lambda path: path.name)
def test_definitions_in_spanish(path: Path) -> None:
    said = spanish_of(yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.CBaseLoader))  # noqa: S506
    assert found(((0, text) for text in said), SPANISH) == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("It is mended anew.", ["mended", "anew"]),
        ("that is no time at all", ["is no time"]),
        ("There is no unit here; it is no longer open.", []),
        ("What cannot be stopped is told.", ["is told"]),
        ("Two factors cannot be told apart.", []),
        ("The colour of the neighbour", ["colour", "neighbour"]),
        ("RECKONED in millimetres", ["RECKONED", "millimetres"]),
    ],
)
def test_a_retired_word_is_found(text: str, words: list[str]) -> None:
    assert [match[0] for match in ENGLISH.finditer(text)] == words


def test_a_retired_word_is_found_in_each_kind_of_text(tmp_path: Path) -> None:
    page, module = tmp_path / "page.md", tmp_path / "module.py"
    page.write_text("# Page\n\nReadings are reckoned.\n```\nreckoned\n```\n`reckoned`\n", encoding="utf-8")
    module.write_text(
        '"""Says it.\n\nReckoned anew.\n"""\nreckoned = f"{1} is held against it"\n', encoding="utf-8"
    )
    assert [line.split(":")[0] for line in found(prose(page))] == ["line 3"]
    assert [line.split(" in ")[0] for line in found(texts(module))] == [
        "line 3: 'Reckoned'", "line 3: 'anew'", "line 5: 'is held against'",
    ]  # fmt: skip
    assert found(iter([(0, "Queja del cliente")]), SPANISH) == ["line 0: 'Queja' in Queja del cliente"]
