"""Changing ``gauges.yaml`` in one place: everything else in the file stays as it is, comments too.

The file is edited as text, at the places that its own parse tells; then the old text and the new one are read
again, and unless they differ in just what was asked for, nothing is written.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import yaml

from traveler.jobs.cannot import CannotDo
from traveler.jobs.whole_file import write_whole
from traveler.shop.folder import GAUGES_FILE

Values = Mapping[str, str]
Edit = tuple[int, int, str]
"""Where to cut (start, end) and what to put there."""

_PLAIN = re.compile(r"[\w.][\w.µ°·²³/()%‰ -]*")
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?([+-]\d\d:\d\d)?")


def change(folder: Path, edit: Callable[[str], str | None], by_hand: str) -> Path:
    """Writes what ``edit`` makes of the register; of two such changes at once the second waits.

    Raises:
        CannotDo: it cannot be done without changing something else (``edit`` gave None); nothing is written,
            and ``by_hand`` says what to write.
        OSError: the file cannot be read or written.
    """
    path = folder / GAUGES_FILE
    with held(folder):
        after = edit(path.read_bytes().decode("utf-8-sig"))
        if after is None:
            what = f"{path} is written in a way that cannot be edited safely"
            raise CannotDo(what, f"write it by hand at {by_hand}")
        write_whole(path, after.encode("utf-8"))
    return path


@contextmanager
def held(folder: Path) -> Iterator[None]:
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

    def longer(one: dict[str, Any]) -> None:
        one[key] = [*(one.get(key) or []), dict(item)]

    node = gauge_node(text, gauge)
    edit = _appended(text, node, key, flow(item)) if node is not None else None
    return checked(text, edit, gauge, longer)


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

    def ended(one: dict[str, Any]) -> None:
        one["withdrawals"][number].update(item)

    there = isinstance(listed, yaml.SequenceNode) and number < len(listed.value)
    found = listed.value[number] if there else None
    edit = _keys_added(text, found, item) if isinstance(found, yaml.MappingNode) else None
    return checked(text, edit, gauge, ended)


def _from_the_day(text: str, node: yaml.MappingNode, gauge: str, item: Values) -> str | None:
    found = next((pair for pair in node.value if pair[0].value == "withdrawn"), None)
    if found is None:
        return None
    key, day = found
    whole = {"out": str(day.value), **item}

    def listed(one: dict[str, Any]) -> None:
        del one["withdrawn"]
        one["withdrawals"] = [whole]

    edit = (key.start_mark.index, day.end_mark.index, f"withdrawals: [{flow(whole)}]")
    return checked(text, edit, gauge, listed)


def checked(
    text: str, edit: Edit | None, gauge: str, expected: Callable[[dict[str, Any]], None]
) -> str | None:
    """The text with the edit made, if it then says just what ``expected`` makes of the gauge; else None."""
    if edit is None or any(isinstance(event, yaml.AliasEvent) for event in yaml.parse(text)):
        return None  # with aliases, a change in one place would be one in others
    start, end, piece = edit
    after = text[:start] + piece + text[end:]
    try:
        old, new = (yaml.load(one, Loader=yaml.BaseLoader) for one in (text, after))  # noqa: S506
    except yaml.YAMLError:
        return None
    expected(next(one for one in old["gauges"] if one.get("id") == gauge))
    return after if old == new else None


def gauge_node(text: str, gauge: str) -> yaml.MappingNode | None:
    """The mapping of a gauge in the list under ``gauges``."""
    listed = dict(pairs(yaml.compose(text, Loader=yaml.BaseLoader))).get("gauges")
    for one in listed.value if isinstance(listed, yaml.SequenceNode) else ():
        name = dict(pairs(one)).get("id")
        if isinstance(name, yaml.ScalarNode) and name.value == gauge:
            return one if isinstance(one, yaml.MappingNode) else None
    return None


def pairs(node: yaml.Node | None) -> Iterator[tuple[str, yaml.Node]]:
    """The keys of a mapping with their values; nothing for another node."""
    if isinstance(node, yaml.MappingNode):
        yield from ((str(key.value), value) for key, value in node.value)


def scalar(value: str) -> str:
    """The value as it is written: plain where that means the same, else in quotation marks."""
    plain = _PLAIN.fullmatch(value) or _MOMENT.fullmatch(value)
    return value if plain else json.dumps(value, ensure_ascii=False)


def flow(item: Values) -> str:
    """``{on: 2026-01-12, certificate: C-2201}``."""
    return "{" + ", ".join(f"{key}: {scalar(value)}" for key, value in item.items()) + "}"


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
        return at, at, "".join(f", {key}: {scalar(value)}" for key, value in item.items())
    at = _line_of(text, _end(text, mapping))
    start = f"{line_end(text)}{' ' * mapping.value[0][0].start_mark.column}"
    return at, at, "".join(f"{start}{key}: {scalar(value)}" for key, value in item.items())


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
