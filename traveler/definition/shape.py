"""The shape of a definition: which keys there are, which are missing, what kind of value they take.

The model judges; this module says what it found in the words and places of the file.
"""

from __future__ import annotations

from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel, Tag, ValidationError
from pydantic_core import ErrorDetails

from traveler.definition.fields import one_spelling
from traveler.definition.model import Definition
from traveler.definition.source import Mapping, Node, Sequence, plain_content
from traveler.definition.steps import KEYS, WORDS, How
from traveler.finding import Finding, Place
from traveler.text import did_you_mean, nearest


def known_keys(path: tuple[str | int, ...]) -> list[str]:
    """The keys of the model at a path as the model reports it; empty where any key may stand."""
    shape: Any = Definition
    for part in path:
        shape = _inside(_bare(shape, str(part)), part)
    model = _bare(shape, "")
    if model is How:
        return list(KEYS)
    return list(model.model_fields) if _is_model(model) else []


def _is_model(shape: Any) -> bool:
    return isinstance(shape, type) and issubclass(shape, BaseModel)


def _bare(shape: Any, tag: str) -> Any:
    """A type without its annotations and without ``None``; of a union the member of this tag."""
    while True:
        if get_origin(shape) is Annotated:
            shape = get_args(shape)[0]
            continue
        members = (
            [member for member in get_args(shape) if member is not type(None)] if _is_union(shape) else []
        )
        if len(members) != 1:
            members = [member for member in members if _has_tag(member, tag)]
        if not members:
            return shape
        shape = members[0]


def _has_tag(member: Any, tag: str) -> bool:
    return any(isinstance(note, Tag) and note.tag == tag for note in get_args(member))


def _is_union(shape: Any) -> bool:
    return (not _is_model(shape) and type(None) in get_args(shape)) or "Union" in type(shape).__name__


def _inside(shape: Any, part: str | int) -> Any:
    """The type of what stands under a key or at an index; the type itself where the part is a tag."""
    if _is_model(shape):
        fields = shape.model_fields
        return fields[part].annotation if part in fields else shape
    inner = get_args(shape)
    if get_origin(shape) is tuple and isinstance(part, int):
        return inner[0] if len(inner) == 2 and inner[1] is ... else inner[min(part, len(inner) - 1)]
    if get_origin(shape) is dict and part != "[key]":
        return inner[1]
    return shape


_KINDS = {
    "string_type": "a text is expected",
    "dict_type": "a mapping (key: value) is expected",
    "model_type": "a mapping (key: value) is expected",
    "model_attributes_type": "a mapping (key: value) is expected",
    "tuple_type": "a list is expected",
    "list_type": "a list is expected",
    "string_too_short": "the text is empty",
    "string_too_long": "the text is too long, at most {max_length} characters are expected",
    "too_short": "at least {min_length} expected, found {actual_length}",
    "too_long": "at most {max_length} expected, found {actual_length}",
    "greater_than_equal": "a number of at least {ge} is expected",
}
_PATTERNS = {
    r"^[a-z]{2}$": "a language of two small letters is expected, like en or es",
    r"^[a-z][a-z0-9_-]{0,39}$": "a name is expected: small letters, digits, - and _, a letter first",
    r"^[A-Za-z0-9_-]{1,20}$": "letters, digits, - and _ are expected, at most 20",
    r"^[1-9][0-9]{0,3}$": "an operation number is expected, like 10",
    r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$": "a date is expected, like 2026-09-14",
}


def read_shape(root: Node) -> tuple[Definition | None, list[Finding]]:
    """The model of a tree, or None with the findings.

    Findings: DEF001 unknown key, DEF002 missing key, DEF003 a value of another kind, DEF004 a step without
    its first word or with two of them, DEF005 a word that is not among those allowed.
    """
    try:
        return Definition.model_validate(one_spelling(plain_content(root))), []
    except ValidationError as refused:
        errors = refused.errors(include_url=False)
    misspelt = _misspelt(errors)
    return None, [finding_of(error, root) for error in errors if not _follows(error, misspelt)]


def _misspelt(errors: list[ErrorDetails]) -> set[tuple[str | int, ...]]:
    """The paths of keys that are there, but misspelt."""
    paths = set()
    for error in errors:
        if error["type"] == "extra_forbidden":
            *above, name = error["loc"]
            meant = nearest(str(name), known_keys(tuple(above)))
            paths |= {(*above, meant)} if meant is not None else set()
    return paths


def _follows(error: ErrorDetails, misspelt: set[tuple[str | int, ...]]) -> bool:
    """Whether another finding reports it: a misspelt key is not missing; refused entries shorten a list."""
    if error["type"] == "missing":
        return error["loc"] in misspelt
    given = error.get("input")
    return (
        error["type"] == "too_short" and isinstance(given, list) and len(given) >= error["ctx"]["min_length"]
    )


def finding_of(error: ErrorDetails, root: Node) -> Finding:
    """One error of the model as a finding with its place in the file."""
    path = error["loc"]
    kind = error["type"]
    node, key = locate(root, path)
    at = node.place
    name = str(path[-1]) if path else "the file"
    if kind == "extra_forbidden":
        known = known_keys(path[:-1])
        return Finding("DEF001", f"unknown key '{name}'", key or at, hint=did_you_mean(name, known))
    if kind == "missing":
        return Finding("DEF002", f"'{name}' is missing", at, hint=f"add '{name}: …' here")
    if kind == "step":
        words = [name.text for name, _ in node.items()] if isinstance(node, Mapping) else []
        return Finding("DEF004", "this step does not say what it is", at, hint=_step_hint(words))
    if kind == "literal_error":
        return _not_allowed(error, key or at if path[-1] == "[key]" else at)
    return Finding("DEF003", _sentence(error, path), at, hint=_found(error.get("input")))


def _step_hint(words: list[str]) -> str:
    for word in words:
        if meant := nearest(word, WORDS):
            return f"did you mean '{meant}' instead of '{word}'?"
    return f"start it with one of {', '.join(WORDS)}"


def _not_allowed(error: ErrorDetails, place: Place) -> Finding:
    found = str(error.get("input"))
    expected = str(error.get("ctx", {}).get("expected", ""))
    allowed = [word.strip(" '") for word in expected.replace(" or ", ", ").split(",")]
    what = f"'{found}' is not known here, expected {expected.replace(chr(39), '')}"
    return Finding("DEF005", what, place, hint=did_you_mean(found, allowed))


def _sentence(error: ErrorDetails, path: tuple[str | int, ...]) -> str:
    words = [str(part) for part in path if isinstance(part, str) and " " not in part and part != "[key]"]
    name = words[-1] if words else "the file"
    context: dict[str, Any] = error.get("ctx", {})
    if error["type"] == "string_pattern_mismatch":
        what = _PATTERNS.get(str(context.get("pattern")), "letters, digits, . and - are expected, at most 12")
    else:
        what = _KINDS[error["type"]].format(**context) if error["type"] in _KINDS else error["msg"]
    return f"'{name}': {what}"


def _found(value: object) -> str:
    if isinstance(value, dict):
        return "a mapping was found"
    if isinstance(value, list):
        return "a list was found"
    return "nothing was found" if value is None else f"found '{value}'"


def locate(root: Node, path: tuple[str | int, ...]) -> tuple[Node, Place | None]:
    """The deepest node on a path, and the place of its key; parts that are not keys are passed over.

    The model puts names of its own into paths (``a measure step``, ``[key]``); they hold a space
    or a bracket, so that they are never taken for a key.
    """
    node, key = root, None
    for part in path:
        if isinstance(part, int):
            if isinstance(node, Sequence) and part < len(node.items):
                node, key = node.items[part], None
        elif isinstance(node, Mapping) and (value := node.get(part)) is not None:
            name = node.key(part)
            node, key = value, name.place if name else None
    return node, key
