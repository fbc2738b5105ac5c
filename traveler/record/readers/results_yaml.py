"""Results from a YAML file.

::

    format: 1
    serial: BW4-2637-0001-K
    revision: D
    by: tkiln
    results:
      10-1: yes
      10-4/spindle=1,end=near: {value: 0.041 mm, gauge: IND-03, at: 2026-09-14 10:20}
      10-4/spindle=1,end=far:
        - {value: 0.062 mm, gauge: IND-03, as_found: true}
        - {value: 0.038 mm, gauge: IND-03}
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from difflib import get_close_matches

from traveler.definition.source import Mapping, Node, Scalar, Sequence, is_absent, read_source
from traveler.finding import Finding, Place, blocking
from traveler.record.readers.encoding import decode
from traveler.record.readers.written import FIELDS, HEAD, Results, Row, Written, clean, say, stray

LARGEST = 4_000_000
"""Bytes of a file."""

_TOP = ("format", *HEAD, "results")
_ITEM = tuple(name for name in FIELDS if name != "slot")


def read_yaml(content: bytes, file: str) -> Results:
    """What the file says, and everything that is wrong with its form.

    Findings: RES001, RES002 (encoding, size), YML001 to YML011 (the writing), RES006 a character that is no
    text, RES008 unknown key, RES009 something else than expected (a list, a mapping, a text, another format).
    """
    digest = hashlib.sha256(content).hexdigest()
    text = decode(content, file, LARGEST)
    if isinstance(text, Finding):
        return Results(file, "file", digest, findings=(text,))
    source = read_source(text, file)
    findings = list(source.findings)
    if source.root is None or blocking(findings):
        return Results(file, "file", digest, findings=tuple(findings))
    if not isinstance(source.root, Mapping):
        findings.append(_other(source.root, "a mapping with serial and results"))
        return Results(file, "file", digest, findings=tuple(findings))
    head = _head(source.root, findings)
    rows = tuple(_rows(source.root.get("results"), findings))
    return Results(file, "file", digest, head, rows, findings=tuple(findings))


def _head(root: Mapping, findings: list[Finding]) -> dict[str, Written]:
    head: dict[str, Written] = {}
    for key, value in root.items():
        if key.text not in _TOP:
            findings.append(_unknown(key, _TOP))
        elif key.text == "results":
            continue
        elif not isinstance(value, Scalar):
            findings.append(_other(value, "one text"))
        elif key.text == "format" and value.text != "1":
            findings.append(_other(value, "format 1"))
        elif key.text in HEAD and (written := _written(value, findings)) is not None:
            head[key.text] = written
    return head


def _rows(results: Node | None, findings: list[Finding]) -> Iterator[Row]:
    if results is None:
        return
    if not isinstance(results, Mapping):
        findings.append(_other(results, "a mapping from slot to result"))
        return
    for slot, result in results.items():
        for item in result.items if isinstance(result, Sequence) else (result,):
            if not is_absent(item):
                yield from _row(Written(clean(slot.text), slot.place), item, findings)


def _row(slot: Written, item: Node, findings: list[Finding]) -> Iterator[Row]:
    if isinstance(item, Scalar):
        if (written := _written(item, findings)) is not None:
            yield Row(slot, {"value": written})
        return
    if isinstance(item, Sequence):
        findings.append(_other(item, "a value, or a mapping with value, unit, gauge, by, at, as_found, note"))
        return
    said: dict[str, Written] = {}
    for key, value in item.items():
        if key.text not in _ITEM:
            findings.append(_unknown(key, _ITEM))
        elif not isinstance(value, Scalar):
            findings.append(_other(value, "one text"))
        elif (written := _written(value, findings)) is not None:
            said[key.text] = written
    if said:
        yield Row(slot, said)


def _written(value: Scalar, findings: list[Finding]) -> Written | None:
    """What is written there; None where nothing is, or (with a finding) what is no text."""
    if (sign := stray(value.text)) is not None:
        what = f"the character U+{ord(sign):04X} is no text"
        findings.append(say("RES006", value.place, what, "delete it"))
        return None
    return Written(clean(value.text), value.place) if clean(value.text) else None


def _unknown(key: Scalar, known: tuple[str, ...]) -> Finding:
    close = get_close_matches(key.text[:80], known, n=1)
    hint = f"did you mean {close[0]}?" if close else f"keys are: {', '.join(known)}"
    return say("RES008", key.place, f"there is no key '{key.text[:80]}' here", hint)


def _other(node: Node, expected: str) -> Finding:
    found = {Scalar: "a text", Sequence: "a list", Mapping: "a mapping"}[type(node)]
    shown = f"{found} '{node.text[:40]}'" if isinstance(node, Scalar) else found
    place: Place = node.place
    return say("RES009", place, f"found {shown}, expected {expected}")
