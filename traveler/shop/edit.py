"""Changing people.yaml and gauges.yaml in one place; comments and order stay."""

from __future__ import annotations

import fcntl
import json
import os
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import yaml

from traveler.files import write_whole
from traveler.finding import CannotDo, Finding, Place, Weight
from traveler.shop.folder import GAUGES_FILE, PEOPLE_FILE
from traveler.shop.gauges import Gauge, GaugeRegister
from traveler.text import did_you_mean

_PLAIN_NAME = re.compile(r"[A-Za-z][\w. -]*[\w.]|[A-Za-z]|\d{4}-\d\d-\d\d")

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
        return after if _says(after, text, person, lambda person: person.update({key: value})) else None

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
        return (
            after if _says(after, text, person, lambda person: person["roles"].append(dict(role))) else None
        )

    return change


def with_person(person: str, name: str, roles: Sequence[Mapping[str, str]]) -> Change:
    """Adds a person at the end of the list."""

    def change(text: str) -> str | None:
        root = yaml.compose(text, Loader=yaml.BaseLoader)
        pairs = root.value if isinstance(root, yaml.MappingNode) else []
        people = next((pair[1] for pair in pairs if pair[0].value == "people"), None)
        if not isinstance(people, yaml.SequenceNode) or _shared(text):
            return None
        held = ", ".join("{" + ", ".join(f"{k}: {_said(v)}" for k, v in role.items()) + "}" for role in roles)
        said = f"{{id: {_said(person)}, name: {_said(name)}, roles: [{held}]}}"
        after = _added(text, people, said)
        new = {"id": person, "name": name, "roles": [dict(role) for role in roles]}
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
    for node in people.value:
        if not isinstance(node, yaml.MappingNode):
            continue
        named = next((pair[1] for pair in node.value if pair[0].value == "id"), None)
        if isinstance(named, yaml.ScalarNode) and named.value == person:
            return node
    return None


def _shared(text: str) -> bool:
    """Whether the file says something in one place that counts in another."""
    return any(isinstance(event, yaml.AliasEvent) for event in yaml.parse(text))


def _said(value: str) -> str:
    if _PLAIN_NAME.fullmatch(value):
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
        change(next(item for item in old["people"] if item.get("id") == person))
    return bool(old == new)


Values = Mapping[str, str]
Edit = tuple[int, int, str]
"""Where to cut (start, end) and what to put there."""

_PLAIN = re.compile(r"[\w.][\w.µ°·²³/()%‰ -]*")
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?([+-]\d\d:\d\d)?")


def change_gauges(folder: Path, edit: Callable[[str], str | None], by_hand: str) -> Path:
    """Writes what ``edit`` makes of the register; of two such changes at once the second waits.

    Raises:
        CannotDo: it cannot be done without changing something else (``edit`` gave None); nothing is written,
            and ``by_hand`` says what to write.
        OSError: the file cannot be read or written.
    """
    path = folder / GAUGES_FILE
    with folder_held(folder):
        after = edit(path.read_bytes().decode("utf-8-sig"))
        if after is None:
            what = f"{path} is written in a way that cannot be edited safely"
            raise CannotDo(what, f"write it by hand at {by_hand}")
        write_whole(path, after.encode("utf-8"))
    return path


@contextmanager
def folder_held(folder: Path) -> Iterator[None]:
    """Keeps other changes of the shop's files waiting; where folders cannot be locked, it does nothing."""
    import fcntl
    import os

    handle = os.open(folder, os.O_RDONLY)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX)
        except OSError:  # some network shares
            yield
            return
        yield
    finally:
        os.close(handle)


def with_item(text: str, gauge: str, key: str, item: Values) -> str | None:
    """The file with one more item in a list of a gauge (``calibrations``, ``withdrawals``)."""

    def longer(gauge: dict[str, Any]) -> None:
        gauge[key] = [*(gauge.get(key) or []), dict(item)]

    node = gauge_node(text, gauge)
    edit = _appended(text, node, key, flow(item)) if node is not None else None
    return checked_edit(text, edit, gauge, longer)


def with_end(text: str, gauge: str, number: int, item: Values) -> str | None:
    """The file with keys added to the withdrawal of this number (from 0) of a gauge.

    A gauge that has the one day ``withdrawn`` instead gets the list with that day as ``out``.
    """
    node = gauge_node(text, gauge)
    listed = dict(pairs(node)).get("withdrawals")
    if node is None:
        return None
    if listed is None:
        return _from_the_day(text, node, gauge, item)

    def ended(gauge: dict[str, Any]) -> None:
        gauge["withdrawals"][number].update(item)

    there = isinstance(listed, yaml.SequenceNode) and number < len(listed.value)
    found = listed.value[number] if there else None
    edit = _keys_added(text, found, item) if isinstance(found, yaml.MappingNode) else None
    return checked_edit(text, edit, gauge, ended)


def _from_the_day(text: str, node: yaml.MappingNode, gauge: str, item: Values) -> str | None:
    found = next((pair for pair in node.value if pair[0].value == "withdrawn"), None)
    if found is None:
        return None
    key, day = found
    whole = {"out": str(day.value), **item}

    def listed(gauge: dict[str, Any]) -> None:
        del gauge["withdrawn"]
        gauge["withdrawals"] = [whole]

    edit = (key.start_mark.index, day.end_mark.index, f"withdrawals: [{flow(whole)}]")
    return checked_edit(text, edit, gauge, listed)


def checked_edit(
    text: str, edit: Edit | None, gauge: str, expected: Callable[[dict[str, Any]], None]
) -> str | None:
    """The text with the edit made, if it then says just what ``expected`` makes of the gauge; else None."""
    if edit is None or any(isinstance(event, yaml.AliasEvent) for event in yaml.parse(text)):
        return None  # with aliases, a change in one place would be one in others
    start, end, piece = edit
    after = text[:start] + piece + text[end:]
    try:
        old, new = (yaml.load(version, Loader=yaml.BaseLoader) for version in (text, after))  # noqa: S506
    except yaml.YAMLError:
        return None
    expected(next(item for item in old["gauges"] if item.get("id") == gauge))
    return after if old == new else None


def gauge_node(text: str, gauge: str) -> yaml.MappingNode | None:
    """The mapping of a gauge in the list under ``gauges``."""
    listed = dict(pairs(yaml.compose(text, Loader=yaml.BaseLoader))).get("gauges")
    for node in listed.value if isinstance(listed, yaml.SequenceNode) else ():
        name = dict(pairs(node)).get("id")
        if isinstance(name, yaml.ScalarNode) and name.value == gauge:
            return node if isinstance(node, yaml.MappingNode) else None
    return None


def pairs(node: yaml.Node | None) -> Iterator[tuple[str, yaml.Node]]:
    """The keys of a mapping with their values; nothing for another node."""
    if isinstance(node, yaml.MappingNode):
        yield from ((str(key.value), value) for key, value in node.value)


def yaml_scalar(value: str) -> str:
    """The value as it is written: plain where that means the same, else in quotation marks."""
    plain = _PLAIN.fullmatch(value) or _MOMENT.fullmatch(value)
    return value if plain else json.dumps(value, ensure_ascii=False)


def flow(item: Values) -> str:
    """``{on: 2026-01-12, certificate: C-2201}``."""
    return "{" + ", ".join(f"{key}: {yaml_scalar(value)}" for key, value in item.items()) + "}"


def line_end(text: str) -> str:
    """How the file ends its lines."""
    return "\r\n" if "\r\n" in text else "\n"


def _appended(text: str, gauge: yaml.MappingNode, key: str, said: str) -> Edit | None:
    name, listed = next((pair for pair in gauge.value if pair[0].value == key), (None, None))
    if name is None:
        return _new_list(text, gauge, key, said)
    if isinstance(listed, yaml.ScalarNode) and not listed.value:
        at = text.index(":", name.end_mark.index) + 1
        return at, at, f" [{said}]"
    if not isinstance(listed, yaml.SequenceNode):
        return None
    if not listed.value:
        at = listed.start_mark.index + 1
        return at, at, said
    if listed.flow_style:
        at = listed.value[-1].end_mark.index
        return at, at, f", {said}"
    at = _line_of(text, _end(text, listed))
    return at, at, f"{line_end(text)}{' ' * listed.start_mark.column}- {said}"


def _new_list(text: str, gauge: yaml.MappingNode, key: str, said: str) -> Edit:
    if gauge.flow_style:
        at = gauge.value[-1][1].end_mark.index
        return at, at, f", {key}: [{said}]"
    at = _line_of(text, _end(text, gauge))
    start = f"{line_end(text)}{' ' * gauge.value[0][0].start_mark.column}"
    return at, at, f"{start}{key}:{start}  - {said}"


def _keys_added(text: str, mapping: yaml.MappingNode, item: Values) -> Edit:
    if mapping.flow_style:
        at = mapping.value[-1][1].end_mark.index
        return at, at, "".join(f", {key}: {yaml_scalar(value)}" for key, value in item.items())
    at = _line_of(text, _end(text, mapping))
    start = f"{line_end(text)}{' ' * mapping.value[0][0].start_mark.column}"
    return at, at, "".join(f"{start}{key}: {yaml_scalar(value)}" for key, value in item.items())


def _end(text: str, node: yaml.Node) -> int:
    """Where the last thing written in a node ends; the end of a block, as parsed, lies past its comments."""
    if isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        return _end(text, last[1] if isinstance(last, tuple) else last)
    return len(text[: node.end_mark.index].rstrip())


def _line_of(text: str, at: int) -> int:
    """The end of the line this place is in, in front of its line break."""
    stop = re.compile(r"\r?\n|\Z").search(text, at)
    return stop.start() if stop else len(text)


@dataclass(frozen=True, slots=True)
class UncertaintySet:
    """The file that was written, and what to know about it."""

    file: Path
    findings: tuple[Finding, ...]


def registered(register: GaugeRegister, gauge: str) -> Gauge:
    """The gauge of this id.

    Raises:
        CannotDo: there is none.
    """
    found = register.get(gauge) or register.get(gauge.strip().upper())
    if found is None:
        what = f"there is no gauge {gauge!r} in the register"
        raise CannotDo(what, did_you_mean(gauge, register.by_id, f"{GAUGES_FILE} lists them"))
    return found


def set_uncertainty(folder: Path, gauge: Gauge, uncertainty: str, k: str, today: date) -> UncertaintySet:
    """Write ``uncertainty`` and ``k`` of a gauge; comments and everything else in the file stay as they are.

    Findings: STU011 (warning) the calibration in force states an uncertainty of its own, which goes before.

    Raises:
        CannotDo: the file cannot be edited without changing something else; nothing is written then.
        OSError: the file cannot be read or written.
    """
    values = {"uncertainty": uncertainty, "k": k}
    by_hand = f"{gauge.id}: uncertainty: {uncertainty}, k: {k}"
    path = change_gauges(folder, lambda text: with_gauge_values(text, gauge.id, values), by_hand)
    return UncertaintySet(path, tuple(_overruled(gauge, today, path)))


def _overruled(gauge: Gauge, today: date, path: Path) -> Iterator[Finding]:
    last = gauge.last_calibration(today)
    if last is not None and last.uncertainty:
        what = (
            f"the calibration of {gauge.id} on {last.on} states {last.uncertainty}, and that is what counts"
        )
        hint = "take it out of that calibration to let the study's count; the study already holds it"
        yield Finding("STU011", what, Place(str(path)), Weight.WARNING, hint=hint)


def with_gauge_values(text: str, gauge: str, values: Mapping[str, str]) -> str | None:
    """The file with these keys of one gauge set; None if anything else would change by it."""
    node = gauge_node(text, gauge)
    if node is None:
        return None
    if any(isinstance(event, yaml.AliasEvent) for event in yaml.parse(text)):
        return None  # a change in one place would be one in others
    edits = [_edit(text, node, key, value) for key, value in reversed(list(values.items()))]
    after = text
    for start, end, piece in sorted(edits, key=lambda edit: edit[0], reverse=True):
        after = after[:start] + piece + after[end:]
    return after if _differs_only(text, after, gauge, values) else None


def _edit(text: str, node: yaml.MappingNode, key: str, value: str) -> tuple[int, int, str]:
    """Where to cut (start, end) and what to put there: over the old value, or after the line of the id."""
    said = yaml_scalar(value)
    found = dict(pairs(node)).get(key)
    if found is not None:
        return found.start_mark.index, found.end_mark.index, said
    name = next(pair for pair in node.value if pair[0].value == "id")
    end: int = name[1].end_mark.index
    if node.flow_style:
        return end, end, f", {key}: {said}"
    line = line_end(text)
    stop = re.compile(r"\r?\n|\Z").search(text, end)
    at = stop.start() if stop else len(text)
    return at, at, f"{line}{' ' * name[0].start_mark.column}{key}: {said}"


def _differs_only(before: str, after: str, gauge: str, values: Mapping[str, str]) -> bool:
    """Whether the second text says what the first says, but for these values of the gauge."""
    try:
        old, new = (yaml.load(text, Loader=yaml.BaseLoader) for text in (before, after))  # noqa: S506
    except yaml.YAMLError:
        return False
    listed: list[dict[str, Any]] = old["gauges"]
    next(item for item in listed if item.get("id") == gauge).update(values)
    return bool(old == new)
