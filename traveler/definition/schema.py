"""The JSON Schema of a definition, for editors that complete and check while typing."""

from __future__ import annotations

from typing import Any

from traveler.definition.model import Definition

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_ANY_SCALAR = ["string", "number", "boolean"]


def definition_schema() -> dict[str, Any]:
    """JSON Schema 2020-12 of one definition file.

    An editor reads ``10`` as a number where our loader keeps the text; so wherever the model has a text, the
    schema allows any scalar. A key without a value is left out rather than null, which keeps an editor's
    complaint at the very key that is wrong. The rest is told by ``traveler check``.
    """
    schema: dict[str, Any] = _for_editors(Definition.model_json_schema(by_alias=True, mode="validation"))
    return {
        "$schema": DIALECT,
        "title": "Product definition",
        **{k: v for k, v in schema.items() if k != "title"},
    }


def _for_editors(part: Any) -> Any:
    if isinstance(part, list):
        return [_for_editors(one) for one in part]
    if not isinstance(part, dict):
        return part
    choices = [one for one in part.get("anyOf", ()) if one != {"type": "null"}]
    if len(choices) == 1:
        part = {**{k: v for k, v in part.items() if k not in ("anyOf", "default")}, **choices[0]}
    loose = {name: _for_editors(value) for name, value in part.items()}
    if loose.get("type") == "string" and "enum" not in loose and "const" not in loose:
        loose["type"] = _ANY_SCALAR
    if "patternProperties" in loose:
        loose.setdefault("additionalProperties", False)  # a text by language is nothing else
    if loose.get("const") == "1":
        loose = {**{k: v for k, v in loose.items() if k not in ("const", "type")}, "enum": ["1", 1]}
    return loose
