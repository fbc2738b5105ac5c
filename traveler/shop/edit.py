"""Changing ``people.yaml`` and ``gauges.yaml`` in one place; comments, order and all other values stay.

The file is read with a library that keeps comments, quotation marks and order, changed, and written whole.
Unless the new text has every comment of the old one and states just what was asked for, nothing is written.

All functions raise :class:`CannotDo` where the file is written in a way that cannot be changed safely; the
hint is what to write ``by_hand``. They raise OSError where it cannot be read or written.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import yaml

from traveler.files import folder_held, write_whole
from traveler.finding import CannotDo
from traveler.shop.folder import GAUGES_FILE, PEOPLE_FILE

if TYPE_CHECKING:
    from ruamel.yaml import YAML

Values = Mapping[str, str]

_PLAIN = re.compile(
    r"(?!null$)[A-Za-z0-9.][\w.µ°·²³/()%‰ -]*(?<! )|\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?([+-]\d\d:\d\d)?"
)
"""Values that are written without quotation marks."""

_COMMENT = re.compile(r"#[^\r\n]*")
_NO_FOLDING = 1_000_000


def set_in_person(folder: Path, person: str, values: Values, by_hand: str = "") -> Path:
    """Sets keys of a person: over their old values, or as further keys."""
    by_hand = by_hand or _by_hand(person, values)
    return _change(folder / PEOPLE_FILE, lambda file: _set(_item(file["people"], person), values), by_hand)


def add_role(folder: Path, person: str, role: Values) -> Path:
    """Adds a role to those of a person."""
    by_hand = _by_hand(f"{person}, roles", role)
    return _change(
        folder / PEOPLE_FILE, lambda file: _add(_item(file["people"], person), "roles", role), by_hand
    )


def add_person(folder: Path, person: str, name: str, roles: Sequence[Values]) -> Path:
    """Adds a person at the end of the list."""
    new = {"id": person, "name": name, "roles": [dict(role) for role in roles]}
    by_hand = _by_hand("people", {"id": person, "name": name})
    return _change(folder / PEOPLE_FILE, lambda file: _add(file, "people", new), by_hand)


def set_in_gauge(folder: Path, gauge: str, values: Values) -> Path:
    """Sets keys of a gauge: over their old values, or as further keys."""
    by_hand = _by_hand(gauge, values)
    return _change(folder / GAUGES_FILE, lambda file: _set(_item(file["gauges"], gauge), values), by_hand)


def add_to_gauge(folder: Path, gauge: str, key: str, item: Values) -> Path:
    """Adds an item to a list of a gauge (``calibrations``, ``withdrawals``); the list is made if need be."""
    by_hand = _by_hand(f"{gauge}, {key}", item)
    return _change(folder / GAUGES_FILE, lambda file: _add(_item(file["gauges"], gauge), key, item), by_hand)


def end_withdrawal(folder: Path, gauge: str, number: int, values: Values) -> Path:
    """Sets keys of the withdrawal of this number (from 0) of a gauge.

    A gauge that has the one day ``withdrawn`` instead gets the list with that day as ``out``.
    """

    def end(file: Any) -> None:
        item = _item(file["gauges"], gauge)
        if "withdrawals" not in item:
            _days_out(item)
        _set(item["withdrawals"][number], values)

    return _change(folder / GAUGES_FILE, end, _by_hand(f"{gauge}, withdrawals", values))


def _by_hand(where: str, values: Values) -> str:
    return f"{where}: {', '.join(f'{key}: {value}' for key, value in values.items())}"


def _change(path: Path, change: Callable[[Any], None], by_hand: str) -> Path:
    with folder_held(path.parent):
        after = _changed(path.read_bytes().decode("utf-8-sig"), change)
        if after is None:
            what = f"{path} is written in a way that cannot be changed safely"
            raise CannotDo(what, f"write it by hand: {by_hand}")
        return write_whole(path, after.encode())


def _changed(before: str, change: Callable[[Any], None]) -> str | None:
    """The text with the change; None where it cannot be made, or anything else would change with it."""
    from ruamel.yaml.error import YAMLError
    from ruamel.yaml.util import load_yaml_guess_indent

    try:
        if any(isinstance(event, yaml.AliasEvent) for event in yaml.parse(before)):
            return None  # a change in one place would be one in others
        expected = _texts(before)
        change(expected)
        editor = _editor()
        file, indent, offset = load_yaml_guess_indent(before, yaml=editor)
        if indent:
            editor.indent(sequence=indent, offset=offset or 0)
        change(file)
        written = io.StringIO()
        editor.dump(file, written)
        after = written.getvalue()
        same = _texts(after) == expected and _comments(after) == _comments(before)
    except (yaml.YAMLError, YAMLError, LookupError, TypeError, AttributeError):
        return None
    return (after.replace("\n", "\r\n") if "\r\n" in before else after) if same else None


def _texts(text: str) -> Any:
    """What the file states, each value as it is written."""
    return yaml.load(text, Loader=yaml.BaseLoader)  # noqa: S506


def _comments(text: str) -> list[str]:
    """Every comment, in order."""
    outside, start = [], 0
    for token in yaml.scan(text):
        if isinstance(token, yaml.ScalarToken):
            outside.append(text[start : token.start_mark.index])
            start = token.end_mark.index
    return [found.rstrip() for found in _COMMENT.findall("".join([*outside, text[start:]]))]


def _editor() -> YAML:
    """A reader and writer for which every value is text and stays as it is written."""
    from ruamel.yaml import YAML
    from ruamel.yaml.nodes import ScalarNode
    from ruamel.yaml.resolver import VersionedResolver
    from ruamel.yaml.tag import Tag

    class TextOnly(VersionedResolver):
        def resolve(self, kind: Any, value: Any, implicit: Any) -> Any:
            return (
                Tag(suffix="tag:yaml.org,2002:str")
                if kind is ScalarNode
                else super().resolve(kind, value, implicit)
            )

    editor = YAML()
    editor.Resolver = TextOnly
    editor.preserve_quotes = True
    editor.brace_single_entry_mapping_in_flow_sequence = True
    editor.width = _NO_FOLDING
    return editor


def _item(items: Any, name: str) -> Any:
    """The item of this id in a list.

    Raises:
        LookupError: there is none.
    """
    for item in items:
        if item.get("id") == name:
            return item
    raise LookupError(name)


def _set(mapping: Any, values: Values) -> None:
    tail = _take_tail(mapping)
    mapping.update(_styled(values))
    _put_tail(mapping, tail)


def _add(mapping: Any, key: str, item: Mapping[str, Any]) -> None:
    """Adds an item to the list under a key; a list that is not there yet is made."""
    listed = mapping.get(key)
    if isinstance(listed, list):
        tail = _take_tail(listed)
        listed.append(_styled(item))
        _put_tail(listed, tail)
    elif key in mapping and not listed:
        mapping[key] = _styled([item])
    elif key not in mapping:
        tail = _take_tail(mapping)
        mapping[key] = _styled([item])
        mapping[key].fa.set_block_style()
        _put_tail(mapping, tail)
    else:
        raise TypeError(key)


def _days_out(gauge: Any) -> None:
    """The one day ``withdrawn`` of a gauge as its list of withdrawals, in the same place."""
    listed = _styled([{"out": str(gauge["withdrawn"])}])
    if hasattr(gauge, "ca"):
        gauge.ca.items["withdrawals"] = gauge.ca.items.pop("withdrawn", [None, None, None, None])
        gauge.insert(list(gauge).index("withdrawn"), "withdrawals", listed)
    else:
        gauge["withdrawals"] = listed
    del gauge["withdrawn"]


def _styled(value: Any) -> Any:
    """New values as they are written: lists and mappings on one line, quotation marks where needed."""
    from ruamel.yaml.comments import CommentedMap, CommentedSeq
    from ruamel.yaml.scalarstring import DoubleQuotedScalarString

    if isinstance(value, str):
        return value if _PLAIN.fullmatch(value) else DoubleQuotedScalarString(value)
    made: Any
    if isinstance(value, Mapping):
        made = CommentedMap((key, _styled(part)) for key, part in value.items())
    else:
        made = CommentedSeq(_styled(part) for part in value)
    made.fa.set_flow_style()
    return made


def _take_tail(node: Any) -> str:
    """Takes the comment lines off that follow a mapping or list: they hang on its last value."""
    parent, place, slot = _last(node)
    comments = parent.ca.items.get(place) if parent is not None else None
    if not comments or comments[slot] is None:
        return ""
    own, _, tail = comments[slot].value.partition("\n")
    comments[slot].value = f"{own}\n"
    if tail and not own:
        comments[slot] = None
    return str(tail)


def _put_tail(node: Any, tail: str) -> None:
    """Puts comment lines after the last value of a mapping or list."""
    from ruamel.yaml.error import CommentMark
    from ruamel.yaml.tokens import CommentToken

    parent, place, slot = _last(node)
    if tail and parent is not None:
        comments = parent.ca.items.setdefault(place, [None, None, None, None])
        comments[slot] = CommentToken(f"\n{tail}", CommentMark(0), None)


def _last(node: Any) -> tuple[Any, Any, int]:
    """What holds the last value within a block, its place there, and which of its comments comes after it."""
    while hasattr(node, "ca") and node:
        mapping = isinstance(node, Mapping)
        place = list(node)[-1] if mapping else len(node) - 1
        inner = node[place]
        if not hasattr(inner, "ca") or inner.fa.flow_style() or not inner:
            return node, place, 2 if mapping else 0
        node = inner
    return None, None, 0
