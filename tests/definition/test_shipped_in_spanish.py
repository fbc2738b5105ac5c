"""The definitions that are shipped say everything that is printed in English and in Spanish."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from pydantic import BaseModel

from traveler.definition.fields import Position
from traveler.definition.load import load
from traveler.definition.model import Definition
from traveler.definition.setting import PLACEHOLDER
from traveler.definition.steps import WORDS

BOTH = {"en", "es"}
PRODUCTS = ("bobbin-winder", "potters-wheel", "end-plate")
PRINTED = {
    "title", "change", "area", "item", "note", "say", "raises", "increases", "adjust",
    "DANGER", "WARNING", "CAUTION", "NOTICE", *WORDS,
} - {"again"}  # fmt: skip
"""The keys whose value is a text for people; a repeated check is named by its id."""
OURS = {"clockwise"}
"""A direction that the sheets' own catalogue says in each language."""
WORD = re.compile(r"[^\W\d_]{3,}")
"""``120 V 60 Hz`` is the same in all languages; what has a word of three letters is not."""


def texts(node: Any, key: str = "", path: str = "") -> Iterator[tuple[str, str | dict[str, str]]]:
    """Where → text, for everything below that a sheet prints."""
    if isinstance(node, Position):
        return
    if isinstance(node, BaseModel):
        for name in type(node).model_fields:
            yield from texts(getattr(node, name), name, f"{path}.{name}")
    elif key in PRINTED and (isinstance(node, str) or (isinstance(node, dict) and {*node} & BOTH)):
        yield path, node
    elif isinstance(node, dict):
        for name, item in node.items():
            yield from texts(item, "title" if key == "names" else name, f"{path}.{name}")
    elif isinstance(node, tuple):
        for at, item in enumerate(node):
            yield from texts(item, key, f"{path}[{at}]")


def lacking(definition: Definition) -> list[str]:
    """The texts that are not given in both languages, or not with the same variables in both."""
    found = []
    for path, text in texts(definition):
        if isinstance(text, str):
            if text not in OURS and WORD.search(PLACEHOLDER.sub("", text)):
                found.append(f"{path}: {text!r} is in one language")
        elif {*text} != BOTH:
            found.append(f"{path}: {text!r} is not in both languages")
        elif sorted(PLACEHOLDER.findall(text["en"])) != sorted(PLACEHOLDER.findall(text["es"])):
            found.append(f"{path}: {text!r} has other variables in each")
    return found


def unnamed(definition: Definition) -> set[str]:
    """Positions, their values and variables that are words and have no name for the sheets."""
    called = {name for variant in definition.variants.values() for name in variant.variables}
    for operation in definition.operations:
        for step in operation.steps:
            at = step.at if isinstance(step.at, tuple) else (step.at,)
            called |= {word for named_position in at for word in positions(named_position)}
    for name, declared in definition.positions.items():
        called |= {name, *positions(declared)}
    words = {word for word in called if WORD.search(word)}
    return words - {*definition.names}


def positions(written: Any) -> Iterator[str]:
    """The names and values in what is written for a position; counts are numbers or variables."""
    if isinstance(written, BaseModel):
        written = written.model_dump(exclude={"count"})
    if isinstance(written, str):
        yield written
    elif isinstance(written, dict):
        for item in written.values():
            yield from positions(item)
    elif isinstance(written, list | tuple):
        for item in written:
            yield from positions(item)


@pytest.fixture(params=PRODUCTS)
def written(request: pytest.FixtureRequest, shipped: dict[str, str]) -> str:
    """One definition that is shipped."""
    return shipped[request.param]


def read(text: str) -> Definition:
    loaded = load(text, "shipped.yaml", lambda _: True)
    assert loaded.definition is not None, loaded.findings
    return loaded.definition


def test_every_printed_text_is_there_in_english_and_in_spanish(written: str) -> None:
    definition = read(written)
    assert len(list(texts(definition))) > 40
    assert lacking(definition) == []


def test_what_positions_and_variables_are_called_is_there_too(written: str) -> None:
    assert unnamed(read(written)) == set()


FLOW = re.compile(r"\{en: ([^{}\"]+), es: [^{}\"]+\}")
BLOCK = re.compile(r":\n +en: (\w[^\n]+)\n +es: \w[^\n]+\n")


def test_each_text_that_loses_its_spanish_is_found(written: str) -> None:
    tried = 0
    for pattern, form in ((FLOW, "{}"), (BLOCK, ": {}\n")):
        for found in pattern.finditer(written):
            poorer = written[: found.start()] + form.format(found[1]) + written[found.end() :]
            assert len(lacking(read(poorer))) == 1, found[0]
            tried += 1
    assert tried > 30


def test_a_position_without_a_name_is_found(written: str) -> None:
    definition = read(written)
    for name in definition.names:
        fewer = {item: text for item, text in definition.names.items() if item != name}
        assert unnamed(definition.model_copy(update={"names": fewer})) == {name}
