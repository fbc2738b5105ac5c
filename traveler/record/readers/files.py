"""Results files: CSV as spreadsheets save it, YAML, or a filled PDF."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import PurePath

from traveler.definition.source import Mapping, Node, Scalar, Sequence, is_absent, read_source
from traveler.finding import Finding, Place, blocking
from traveler.record.readers.cells import FIELDS, HEAD, Cell, ResultRow, Results, clean, decode, say, stray
from traveler.record.readers.filled_pdf import read_pdf
from traveler.record.readers.table import TableForm, read_table
from traveler.text import did_you_mean

COLUMNS = ("slot", "label", "limits", "value", "unit", "gauge", "by", "at", "as_found", "note")
"""Columns of a blank; ``label`` and ``limits`` are for the reader's eyes and not read back."""

_FORM = TableForm(
    COLUMNS,
    ("slot", "value"),
    HEAD,
    ("RES003", "RES004", "RES005", "RES006", "RES007"),
    "name the columns in the first row; 'traveler unit blank' writes a file to fill in",
)


def read_csv(content: bytes, file: str) -> Results:
    """What the file says, and everything that is wrong with its form.

    Findings: RES001, RES002 (encoding, size), RES003 not a table, RES004 column unknown, missing or given
    twice, RES005 more cells than columns, RES006 a character that is not allowed, RES007 a head line twice.
    """
    table = read_table(content, file, _FORM)
    rows = []
    for line, cells in table.rows:
        slot = cells.get("slot", Cell("", Place(file, line, 1)))
        said = {name: cell for name, cell in cells.items() if name in FIELDS and name != "slot"}
        if slot.text or said:
            rows.append(ResultRow(slot, said))
    digest = hashlib.sha256(content).hexdigest()
    return Results(file, "file", digest, table.head, tuple(rows), findings=tuple(table.findings))


LARGEST_YAML = 4_000_000
"""Bytes of a file."""

_TOP = ("format", *HEAD, "results")
_ITEM = tuple(name for name in FIELDS if name != "slot")


def read_yaml(content: bytes, file: str) -> Results:
    """What the file says, and everything that is wrong with its form.

    Findings: RES001, RES002 (encoding, size), YML001 to YML011 (the writing), RES006 a character that is no
    text, RES008 unknown key, RES009 something else than expected (a list, a mapping, a text, another format).
    """
    digest = hashlib.sha256(content).hexdigest()
    text = decode(content, file, LARGEST_YAML)
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
    rows = tuple(_yaml_rows(source.root.get("results"), findings))
    return Results(file, "file", digest, head, rows, findings=tuple(findings))


def _head(root: Mapping, findings: list[Finding]) -> dict[str, Cell]:
    head: dict[str, Cell] = {}
    for key, value in root.items():
        if key.text not in _TOP:
            findings.append(_unknown(key, _TOP))
        elif key.text == "results":
            continue
        elif not isinstance(value, Scalar):
            findings.append(_other(value, "one text"))
        elif key.text == "format" and value.text != "1":
            findings.append(_other(value, "format 1"))
        elif key.text in HEAD and (written := _cell(value, findings)) is not None:
            head[key.text] = written
    return head


def _yaml_rows(results: Node | None, findings: list[Finding]) -> Iterator[ResultRow]:
    if results is None:
        return
    if not isinstance(results, Mapping):
        findings.append(_other(results, "a mapping from slot to result"))
        return
    for slot, result in results.items():
        for item in result.items if isinstance(result, Sequence) else (result,):
            if not is_absent(item):
                yield from _yaml_row(Cell(clean(slot.text), slot.place), item, findings)


def _yaml_row(slot: Cell, item: Node, findings: list[Finding]) -> Iterator[ResultRow]:
    if isinstance(item, Scalar):
        if (written := _cell(item, findings)) is not None:
            yield ResultRow(slot, {"value": written})
        return
    if isinstance(item, Sequence):
        findings.append(_other(item, "a value, or a mapping with value, unit, gauge, by, at, as_found, note"))
        return
    said: dict[str, Cell] = {}
    for key, value in item.items():
        if key.text not in _ITEM:
            findings.append(_unknown(key, _ITEM))
        elif not isinstance(value, Scalar):
            findings.append(_other(value, "one text"))
        elif (written := _cell(value, findings)) is not None:
            said[key.text] = written
    if said:
        yield ResultRow(slot, said)


def _cell(value: Scalar, findings: list[Finding]) -> Cell | None:
    """What is written there; None where nothing is, or (with a finding) what is not text."""
    if (sign := stray(value.text)) is not None:
        what = f"the character U+{ord(sign):04X} is not allowed"
        findings.append(say("RES006", value.place, what, "delete it"))
        return None
    return Cell(clean(value.text), value.place) if clean(value.text) else None


def _unknown(key: Scalar, known: tuple[str, ...]) -> Finding:
    hint = did_you_mean(key.text, known)
    return say("RES008", key.place, f"there is no key '{key.text[:80]}' here", hint)


def _other(node: Node, expected: str) -> Finding:
    found = {Scalar: "a text", Sequence: "a list", Mapping: "a mapping"}[type(node)]
    shown = f"{found} '{node.text[:40]}'" if isinstance(node, Scalar) else found
    place: Place = node.place
    return say("RES009", place, f"found {shown}, expected {expected}")


_READERS = {".csv": read_csv, ".tsv": read_csv, ".txt": read_csv, ".yaml": read_yaml, ".yml": read_yaml}


def read_results(content: bytes, file: str) -> Results:
    """What a results file says: a PDF by its first bytes (ISO 32000-1, 7.5.2), the others by their name.

    Findings: those of the readers, and RES016 not a kind of file that is read.
    """
    if b"%PDF-" in content[:1024]:
        return read_pdf(content, file)
    reader = _READERS.get(PurePath(file).suffix.lower())
    if reader is None:
        what = "this is neither a filled traveler (PDF) nor results as .csv or .yaml"
        place = Place(file) if PurePath(file).suffix.lower() == ".pdf" else Place(file, 1, 1)
        finding = Finding(
            "RES016", what, place, hint="'traveler unit blank SERIAL --format csv' writes a file to fill in"
        )
        return Results(file, "file", hashlib.sha256(content).hexdigest(), findings=(finding,))
    return reader(content, file)
