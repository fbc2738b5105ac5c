"""Changing ``people.yaml`` in one place, without touching anything else in it: comments, order, lines."""

from __future__ import annotations

import fcntl
import os
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import yaml

from traveler.jobs.cannot import CannotDo
from traveler.jobs.whole_file import write_whole
from traveler.shop.folder import PEOPLE_FILE

_PLAIN = re.compile(r"[A-Za-z][\w. -]*[\w.]|[A-Za-z]|\d{4}-\d\d-\d\d")

Change = Callable[[str], str | None]
"""From the text of the file to the new text; None where it cannot be changed safely."""


def change_people(folder: Path, change: Change, by_hand: str) -> Path:
    """Writes the changed file whole, nobody else changing it meanwhile; gives its path.

    Raises:
        CannotDo: it cannot be changed without changing something else; ``by_hand`` says what to write.
        OSError: the file cannot be read or written.
    """
    path = folder / PEOPLE_FILE
    with _alone(folder):
        before = path.read_bytes().decode("utf-8-sig")
        after = change(before)
        if after is None:
            what = f"{path} is written in a way that cannot be changed safely"
            raise CannotDo(what, f"write it by hand: {by_hand}")
        write_whole(path, after.encode("utf-8"))
    return path


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Keeps other processes of this program on this computer from changing the folder's files meanwhile."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def with_value(person: str, key: str, value: str) -> Change:
    """Sets one key of a person: over the old value, or in a line of its own after the person's id."""

    def change(text: str) -> str | None:
        node = _person(text, person)
        if node is None:
            return None
        said = f"{key}: {_said(value)}"
        old = next((pair for pair in node.value if pair[0].value == key), None)
        if old is not None:
            after = text[: old[1].start_mark.index] + _said(value) + text[old[1].end_mark.index :]
        else:
            after = _after_id(text, node, said)
        return after if _says(after, text, person, lambda one: one.update({key: value})) else None

    return change


def with_values(person: str, values: Mapping[str, str]) -> Change:
    """Sets several keys of a person, one after the other."""

    def change(text: str) -> str | None:
        after: str | None = text
        for key, value in values.items():
            after = with_value(person, key, value)(after) if after is not None else None
        return after

    return change


def with_role(person: str, role: Mapping[str, str]) -> Change:
    """Adds a role to those of a person."""

    def change(text: str) -> str | None:
        node = _person(text, person)
        roles = next((pair[1] for pair in node.value if pair[0].value == "roles"), None) if node else None
        if not isinstance(roles, yaml.SequenceNode):
            return None
        after = _added(text, roles, "{" + ", ".join(f"{k}: {_said(v)}" for k, v in role.items()) + "}")
        return after if _says(after, text, person, lambda one: one["roles"].append(dict(role))) else None

    return change


def with_person(person: str, name: str, roles: Sequence[Mapping[str, str]]) -> Change:
    """Adds a person at the end of the list."""

    def change(text: str) -> str | None:
        root = yaml.compose(text, Loader=yaml.BaseLoader)
        pairs = root.value if isinstance(root, yaml.MappingNode) else []
        people = next((pair[1] for pair in pairs if pair[0].value == "people"), None)
        if not isinstance(people, yaml.SequenceNode) or _shared(text):
            return None
        held = ", ".join("{" + ", ".join(f"{k}: {_said(v)}" for k, v in one.items()) + "}" for one in roles)
        said = f"{{id: {_said(person)}, name: {_said(name)}, roles: [{held}]}}"
        after = _added(text, people, said)
        new = {"id": person, "name": name, "roles": [dict(one) for one in roles]}
        return after if _says(after, text, None, lambda all_: all_["people"].append(new)) else None

    return change


def _added(text: str, listed: yaml.SequenceNode, said: str) -> str:
    """The text with one more item at the end of a list, in the way the list is written."""
    line = "\r\n" if "\r\n" in text else "\n"
    if not listed.value:
        start, end = listed.start_mark, listed.end_mark.index
        if end - start.index != len("[]") or start.column > len("people: "):
            return f"{text[: start.index]}[{said}]{text[end:]}"
        return f"{text[: start.index].rstrip(' ')}{line}  - {said}{text[end:]}"
    last = listed.value[-1]
    if listed.flow_style:
        at = last.end_mark.index
        return f"{text[:at]}, {said}{text[at:]}"
    at = _line_end(text, _end_of(last))
    return f"{text[:at]}{line}{' ' * listed.start_mark.column}- {said}{text[at:]}"


def _end_of(node: yaml.Node) -> int:
    """Where the last value within a node ends; the mark of a block lies past blank lines and comments."""
    if isinstance(node, yaml.MappingNode) and not node.flow_style and node.value:
        return _end_of(node.value[-1][1])
    if isinstance(node, yaml.SequenceNode) and not node.flow_style and node.value:
        return _end_of(node.value[-1])
    end: int = node.end_mark.index
    return end


def _after_id(text: str, node: yaml.MappingNode, said: str) -> str:
    name = next(pair for pair in node.value if pair[0].value == "id")
    end: int = name[1].end_mark.index
    if node.flow_style:
        return f"{text[:end]}, {said}{text[end:]}"
    line = "\r\n" if "\r\n" in text else "\n"
    at = _line_end(text, end)
    return f"{text[:at]}{line}{' ' * name[0].start_mark.column}{said}{text[at:]}"


def _line_end(text: str, start: int) -> int:
    found = re.compile(r"\r?\n|\Z").search(text, start)
    return found.start() if found else len(text)


def _person(text: str, person: str) -> yaml.MappingNode | None:
    """The mapping of a person under ``people``; None where a change of it would be one elsewhere too."""
    root = yaml.compose(text, Loader=yaml.BaseLoader)
    pairs = root.value if isinstance(root, yaml.MappingNode) else []
    people = next((pair[1] for pair in pairs if pair[0].value == "people"), None)
    if not isinstance(people, yaml.SequenceNode) or _shared(text):
        return None
    for one in people.value:
        if not isinstance(one, yaml.MappingNode):
            continue
        named = next((pair[1] for pair in one.value if pair[0].value == "id"), None)
        if isinstance(named, yaml.ScalarNode) and named.value == person:
            return one
    return None


def _shared(text: str) -> bool:
    """Whether the file says something in one place that counts in another."""
    return any(isinstance(event, yaml.AliasEvent) for event in yaml.parse(text))


def _said(value: str) -> str:
    if _PLAIN.fullmatch(value):
        return value
    escaped = value.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _says(after: str, before: str, person: str | None, change: Callable[[Any], object]) -> bool:
    """Whether the new text says what the old one says, with this change of one person and of nothing else."""
    try:
        old, new = (yaml.load(text, Loader=yaml.BaseLoader) for text in (before, after))  # noqa: S506
    except yaml.YAMLError:
        return False
    if person is None:
        if not old.get("people"):
            old["people"] = []
        change(old)
    else:
        change(next(one for one in old["people"] if one.get("id") == person))
    return bool(old == new)
