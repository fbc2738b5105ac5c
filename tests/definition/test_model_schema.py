"""The JSON Schema that editors use, against our own samples and against what the loader refuses."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
import yaml

from traveler.definition.load import load
from traveler.definition.model import DIALECT, Definition, definition_schema


def as_an_editor_reads(text: str) -> Any:
    """YAML with numbers, dates and true/false typed, as JSON."""
    return json.loads(json.dumps(yaml.safe_load(text), default=str))


@pytest.fixture(scope="module")
def validator() -> Any:
    import jsonschema_rs

    return jsonschema_rs.validator_for(definition_schema())


def test_the_schema_is_a_schema_of_its_dialect() -> None:
    import jsonschema_rs

    schema = definition_schema()
    assert schema["$schema"] == DIALECT
    jsonschema_rs.meta.validate(schema)
    assert json.loads(json.dumps(schema)) == schema


def test_the_schema_accepts_our_samples(
    shipped: dict[str, str], validator: Any, write: Callable[..., str]
) -> None:
    for text in (*shipped.values(), write()):
        assert [error.message for error in validator.iter_errors(as_an_editor_reads(text))] == []


def test_the_schema_knows_every_key_of_the_head() -> None:
    assert set(definition_schema()["properties"]) == set(Definition.model_fields)


@pytest.mark.parametrize(
    ("old", "new", "path"),
    [
        ("title: Bench lathe", "titel: Bench lathe", []),
        ("sign: assembler", "sgin: assembler", ["operations", 0]),
        ("measure: Run-out", "mesure: Run-out", ["operations", 0, "steps", 0]),
        ("gauge: indicator", "guage: indicator", ["operations", 0, "steps", 0]),
        ("number: 10", "number: ten", ["operations", 0, "number"]),
        ("empty_mass: 5 kg", "emty_mass: 5 kg", ["crating", "crate"]),
        ("revised: 2026-01-05", "revised: last week", ["revised"]),
    ],
)
def test_the_schema_refuses_what_the_loader_refuses(
    write: Callable[..., str], validator: Any, old: str, new: str, path: list[str | int]
) -> None:
    text = write().replace(old, new)
    assert load(text, "f", bool).definition is None
    errors = list(validator.iter_errors(as_an_editor_reads(text)))
    assert any(list(error.instance_path) == path for error in errors), [
        list(error.instance_path) for error in errors
    ]


def test_numbers_may_be_typed_where_the_model_has_a_text(validator: Any, write: Callable[..., str]) -> None:
    text = (
        write().replace("revision: A", "revision: 3").replace("product: lathe", "product: lathe\nformat: 1")
    )
    assert validator.is_valid(as_an_editor_reads(text))
