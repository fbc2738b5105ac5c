"""``docs/definition.md`` shows definitions that are true, and leaves out no key."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from pydantic import BaseModel

from traveler.definition import fields, steps
from traveler.definition import model as definition_model
from traveler.definition.expand import expand
from traveler.definition.load import load
from traveler.definition.source import read_source
from traveler.measure.geometry.functions import FUNCTIONS

PAGE = (Path(__file__).parents[2] / "docs" / "definition.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```yaml\n(.*?)```", PAGE, re.DOTALL)


def test_the_whole_example_is_a_definition_without_findings() -> None:
    people = {"rhale": ("engineering",), "a": ("assembler", "packer", "inspector")}
    found = load(EXAMPLES[0], "definition.md", bool, people)
    assert [str(finding) for finding in found.findings] == []
    assert found.definition is not None
    for variant in found.definition.variants:
        assert expand(found.definition, variant, "").check("taper") is not None


@pytest.mark.parametrize("example", EXAMPLES[1:])
def test_the_other_examples_hold_in_a_definition(example: str) -> None:
    """Each is put where it belongs: a rule under a check, an operation into a lot."""
    if example.startswith("number"):
        body = "  - " + example.replace("\n", "\n    ").rstrip()
        fit = "      - {fit: Plate, number: M-1, trace: lot}\n"
        operations = body.replace("    steps:\n", "    steps:\n" + fit) + "\n"
        text = f"track: lot\noperations:\n{operations}"
    else:
        kind = "work_out: X" if example.startswith("how") else "measure: X"
        read = "      - {measure: H, id: height, at: {row: 3, column: 4}, limits: 0 ± 1 mm}\n"
        own = "        at: {foot: [A, B, C, D]}\n" if "level" in example else ""
        rule = "        " + example.rstrip().replace("\n", "\n        ")
        step = f"      - {kind}\n        limits: max 1 mm\n{own}{rule}\n"
        text = f"operations:\n  - number: 10\n    title: T\n    sign: a\n    steps:\n{read}{step}"
    head = (
        'product: x\ntitle: X\nrevision: A\nrevised: 2026-01-05\napproved_by: r\nserials: {pattern: "X{n}"}\n'
    )
    found = load(head + "variants: {a: {title: A}}\n" + text, "f", bool)
    assert [str(finding) for finding in found.findings] == []


def test_every_example_can_be_read() -> None:
    assert len(EXAMPLES) >= 5
    for example in EXAMPLES:
        assert read_source(example, "f").findings == ()


def _keys() -> set[str]:
    models = [
        item
        for module in (definition_model, steps, fields)
        for item in vars(module).values()
        if isinstance(item, type) and issubclass(item, BaseModel)
    ]
    return {name for model in models for name in model.model_fields} - {"function", "check", "options"}


def test_every_key_is_documented() -> None:
    words = set(re.findall(r"[a-z_]+", PAGE))
    assert _keys() - words == set()
    assert set(FUNCTIONS) - words == set()
