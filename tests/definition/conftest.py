"""Definitions for tests: a whole one, parts of it to replace, and marks for the findings expected."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from traveler.definition.load import Loaded, load
from traveler.definition.model import Definition

PRODUCTS = Path(__file__).parents[2] / "product_defs"

PARTS = {
    "head": """\
        product: lathe
        title: Bench lathe
        revision: A
        revised: 2026-01-05
        approved_by: rhale
        serials: {pattern: "BL-{yy}{ww}-{n:04}"}
    """,
    "variants": """\
        variants:
          "2": {title: Two spindles, spindles: 2, mass: 20 kg}
          "3": {title: Three spindles, spindles: 3, mass: 22.5 kg}
    """,
    "positions": """\
        positions:
          spindle: {count: spindles}
          end: [near, far]
    """,
    "gauges": """\
        gauges:
          indicator: {title: Dial indicator, resolution: 0.001 mm}
          scale: {title: Platform scale, resolution: 0.01 kg}
    """,
    "operations": """\
        operations:
          - number: 10
            title: Spindles
            steps:
              - measure: Run-out
                id: runout
                at: [spindle, end]
                limits: max 0.05 mm
                gauge: indicator
            sign: assembler
    """,
    "final": """\
        final_checks:
          - again: runout
    """,
    "crating": """\
        crating:
          crate: {title: Crate A, empty_mass: 5 kg}
          steps:
            - measure: Gross mass
              id: gross-mass
              limits: expected ± 0.2 kg
              gauge: scale
          packing_list:
            - {item: Lathe, mass: variant}
    """,
    "tail": "",
}

PEOPLE = {
    "rhale": ("engineering",),
    "tkiln": ("assembler",),
    "iwren": ("inspector",),
    "pstrap": ("packer",),
    "mforge": ("machinist",),
}


@pytest.fixture
def write() -> Callable[..., str]:
    """Writes a definition: a whole one, with the parts given in place of its own."""

    def written(**parts: str) -> str:
        assert set(parts) <= set(PARTS), "unknown part"
        return "".join(textwrap.dedent(parts.get(name, text)) for name, text in PARTS.items())

    return written


@pytest.fixture
def operation(write: Callable[..., str]) -> Callable[..., str]:
    """Writes a definition with these steps in one operation, and nothing that refers to other steps."""

    def written(steps: str, **parts: str) -> str:
        body = textwrap.indent(textwrap.dedent(steps).strip("\n"), " " * 6)
        head = "operations:\n  - number: 10\n    title: Work\n    steps:\n"
        given = {"final": "", "crating": "", **parts}
        return write(operations=f"{head}{body}\n    sign: assembler\n", **given)

    return written


def _loaded(text: str, pictures: tuple[str, ...] = ()) -> Loaded:
    return load(text, "lathe.yaml", lambda name: name in pictures, PEOPLE)


@pytest.fixture
def checked() -> Callable[..., Loaded]:
    """Checks a text with the people of the tests; ``pictures`` are those that are there."""
    return _loaded


@pytest.fixture
def good() -> Callable[[str], Definition]:
    """The definition of a text that has no blocking finding."""

    def defined(text: str) -> Definition:
        found = _loaded(text, ("there.svg",))
        assert found.definition is not None, "\n".join(map(str, found.findings))
        return found.definition

    return defined


@pytest.fixture
def finds_marks() -> Callable[[str], None]:
    """Compares findings with the marks ``# !CODE`` in a text: the marked ones, no more and no less.

    Each finding must have a column and a hint.
    """

    def compare(text: str) -> None:
        found = _loaded(text, ("there.svg",))
        told = {(finding.place.line, finding.code) for finding in found.findings}
        lines = enumerate(text.splitlines(), start=1)
        marks = {(n, code) for n, line in lines for code in re.findall(r"!([A-Z]{3}[0-9]{3})", line)}
        assert told == marks, "\n".join(map(str, found.findings))
        for finding in found.findings:
            assert finding.place.column is not None
            assert finding.hint

    return compare


@pytest.fixture(scope="session")
def shipped() -> dict[str, str]:
    """Product → text of its shipped definition."""
    return {path.stem: path.read_text(encoding="utf-8") for path in sorted(PRODUCTS.glob("*.yaml"))}
