"""Putting a gauge's expanded uncertainty into ``gauges.yaml``, without touching anything else in the file."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import yaml

from traveler.finding import Finding, Place, Weight
from traveler.jobs.cannot import CannotDo
from traveler.jobs.register_file import change, gauge_node, line_end, pairs, scalar
from traveler.shop.folder import GAUGES_FILE
from traveler.shop.gauges import Gauge, GaugeRegister


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
        near = get_close_matches(gauge, register.by_id, n=1, cutoff=0.5)
        what = f"there is no gauge {gauge!r} in the register"
        raise CannotDo(what, f"did you mean {near[0]}?" if near else f"{GAUGES_FILE} lists them")
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
    path = change(folder, lambda text: with_values(text, gauge.id, values), by_hand)
    return UncertaintySet(path, tuple(_overruled(gauge, today, path)))


def _overruled(gauge: Gauge, today: date, path: Path) -> Iterator[Finding]:
    last = gauge.last_calibration(today)
    if last is not None and last.uncertainty:
        what = (
            f"the calibration of {gauge.id} on {last.on} states {last.uncertainty}, and that is what counts"
        )
        hint = "take it out of that calibration to let the study's count; the study already holds it"
        yield Finding("STU011", what, Place(str(path)), Weight.WARNING, hint=hint)


def with_values(text: str, gauge: str, values: Mapping[str, str]) -> str | None:
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
    said = scalar(value)
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
    next(one for one in listed if one.get("id") == gauge).update(values)
    return bool(old == new)
