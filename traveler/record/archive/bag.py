"""A bag (RFC 8493) with the record of a unit: opened with care, and the note in it."""

from __future__ import annotations

import hashlib
import json
import logging
import os
import re
import stat
import tempfile
import unicodedata
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from traveler.definition.model import canonical_content, from_canonical
from traveler.definition.serial import serial_problem
from traveler.finding import CannotDo, Finding, Place
from traveler.record.attachments import EVERY, Attachment, examined
from traveler.record.audit import named_files
from traveler.record.chain import read_entry_lines
from traveler.record.entry import Issued
from traveler.record.stored import StoredRow, to_entry

MOST_FILES = 5_000
MOST_BYTES = 2_000_000_000
"""Of a whole bag, unpacked; 60 attachments of the largest size fit."""
MOST_RATIO = 200
"""A file in a ZIP that unpacks to more than so many times its size is a bomb; our own are under 20."""
SMALL = 1_000_000
"""Below so many bytes a ratio says nothing."""

_CHUNK = 1 << 16
_NAME = re.compile(r"[^\x00-\x1f\x7f\\:*?\"<>|]{1,240}")
_DECLARED = re.compile(
    rb"BagIt-Version: (0\.97|1\.0)\r?\nTag-File-Character-Encoding: UTF-8\r?\n?", re.IGNORECASE
)
_HINT = "ask for the bag again; nothing was taken over"


class _Refused(Exception):
    def __init__(self, code: str, what: str, file: str) -> None:
        super().__init__(what)
        self.finding = Finding(code, what, Place(file), hint=_HINT)


@contextmanager
def opened_bag(path: Path) -> Iterator[Path | list[Finding]]:
    """The folder of a valid bag, from a folder or a ZIP file; or every finding against it.

    Findings: BAG001 no bag, BAG002 a name or link that leads elsewhere, BAG003 too large, BAG004 a file
    missing, added or changed, BAG005 another version or encoding.

    Raises:
        CannotDo: there is nothing of this name, or it cannot be read.
    """
    if not path.exists():
        what = f"there is no bag at {path}"
        raise CannotDo(what, "name a folder, or a file that ends in .zip")
    with tempfile.TemporaryDirectory(prefix="traveler-bag-") as temporary:
        try:
            folder = path if path.is_dir() else _unpacked(path, Path(temporary))
            _looked_through(folder)
            findings = _validated(folder)
        except _Refused as refused:
            yield [refused.finding]
            return
        yield findings or folder


def _unpacked(file: Path, folder: Path) -> Path:
    """The one folder in a ZIP file, unpacked with every name and size checked first."""
    try:
        with zipfile.ZipFile(file) as archive:
            members = [member for member in archive.infolist() if not member.is_dir()]
            _check_members(members, str(file))
            left = MOST_BYTES
            for member in members:
                left -= _unpack(archive, member, folder / member.filename, left)
            tops = {Path(member.filename).parts[0] for member in members}
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        NotImplementedError,
        RuntimeError,
        ValueError,
    ) as problem:
        what = f"the ZIP file cannot be read: {problem}"
        raise _Refused("BAG001", what, str(file)) from problem
    if len(tops) != 1:
        what = f"one folder is expected in it, {len(tops)} are there"
        raise _Refused("BAG001", what, str(file))
    return folder / tops.pop()


def _check_members(members: list[zipfile.ZipInfo], file: str) -> None:
    if len(members) > MOST_FILES or sum(member.file_size for member in members) > MOST_BYTES:
        what = f"it would unpack to more than {MOST_FILES:,} files or {MOST_BYTES:,} bytes"
        raise _Refused("BAG003", what, file)
    seen: set[str] = set()
    for member in members:
        mode = member.external_attr >> 16
        if mode and not stat.S_ISREG(mode) and stat.S_IFMT(mode):
            raise _Refused("BAG002", f"{member.filename!r} is not a plain file but a link or a device", file)
        if member.flag_bits & 1:
            raise _Refused("BAG001", f"{member.filename!r} is locked with a password", file)
        if member.file_size > max(SMALL, MOST_RATIO * member.compress_size):
            what = f"{member.filename!r} unpacks to {member.file_size:,} bytes from {member.compress_size:,}"
            raise _Refused("BAG003", what, file)
        _check_name(member.orig_filename, file)
        folded = unicodedata.normalize("NFC", member.filename).casefold()
        if folded in seen:
            raise _Refused("BAG002", f"{member.filename!r} is in it twice", file)
        seen.add(folded)


def _check_name(name: str, file: str) -> None:
    parts = name.split("/")
    sound = len(name) < 1_000 and all(_NAME.fullmatch(part) and part not in (".", "..") for part in parts)
    if not sound or any(part != part.strip() or part.endswith(".") for part in parts):
        raise _Refused("BAG002", f"the name {name[:120]!r} is not allowed in a bag", file)


def _unpack(archive: zipfile.ZipFile, member: zipfile.ZipInfo, target: Path, left: int) -> int:
    """Writes one member, never more than it said it has; gives its size."""
    target.parent.mkdir(parents=True, exist_ok=True)
    size = 0
    with archive.open(member) as packed, target.open("xb") as written:
        while some := packed.read(_CHUNK):
            size += len(some)
            if size > min(member.file_size, left):
                raise _Refused(
                    "BAG003", f"{member.filename!r} unpacks to more than it states", str(archive.filename)
                )
            written.write(some)
    return size


def _looked_through(folder: Path) -> None:
    """Only plain files and folders, not too many, not too large."""
    files = size = 0
    for where, folders, names in os.walk(folder):
        for name in (*folders, *names):
            path = Path(where) / name
            shown = str(path.relative_to(folder))
            held = path.lstat()
            if not (stat.S_ISREG(held.st_mode) or stat.S_ISDIR(held.st_mode)):
                raise _Refused("BAG002", f"{shown!r} is not a plain file but a link or a device", str(folder))
            _check_name(shown, str(folder))
            if stat.S_ISREG(held.st_mode):
                files, size = files + 1, size + held.st_size
        if files > MOST_FILES or size > MOST_BYTES:
            what = f"it holds more than {MOST_FILES:,} files or {MOST_BYTES:,} bytes"
            raise _Refused("BAG003", what, str(folder))


def _validated(folder: Path) -> list[Finding]:
    """What is wrong with the bag as a bag."""
    import bagit

    try:
        declared = (folder / "bagit.txt").read_bytes()
    except OSError:
        raise _Refused("BAG001", "this is not a bag: bagit.txt is missing", str(folder)) from None
    if not _DECLARED.fullmatch(declared):
        what = "bagit.txt does not say version 0.97 or 1.0 and the encoding UTF-8"
        raise _Refused("BAG005", what, str(folder / "bagit.txt"))
    if (folder / "fetch.txt").exists():
        raise _Refused("BAG004", "files must be fetched from elsewhere", str(folder / "fetch.txt"))
    if not (folder / "manifest-sha256.txt").is_file():
        raise _Refused("BAG004", "there is no manifest with SHA-256", str(folder))
    with quiet():
        try:
            bagit.Bag(str(folder)).validate()
        except bagit.BagValidationError as problem:
            return [_said(detail, folder) for detail in problem.details or [problem]]
        except (bagit.BagError, OSError, ValueError, LookupError) as problem:
            return [_said(problem, folder)]
    return []


def _said(problem: object, folder: Path) -> Finding:
    what = " ".join(str(problem).split()).replace(f"{folder}/", "")
    return Finding("BAG004", f"the bag is not complete: {what}", Place(str(folder)), hint=_HINT)


@contextmanager
def quiet() -> Iterator[None]:
    """The bag library tells of every step in the log; what matters we say ourselves."""
    log = logging.getLogger("bagit")
    before = log.disabled
    log.disabled = True
    try:
        yield
    finally:
        log.disabled = before


@dataclass(frozen=True, slots=True)
class BagRecord:
    """The record of a unit in a bag; each part agrees with the others."""

    rows: tuple[StoredRow, ...]
    issued: Issued
    definition: str
    attachments: tuple[tuple[Attachment, bytes], ...]


def read_bag(folder: Path, path: Path) -> tuple[BagRecord | None, list[Finding]]:
    """The record in the folder of a valid bag that came from ``path``; None, and what is wrong with it.

    Findings: BAG006 a part of the record that is missing or cannot be read, BAG007 entries that do not follow
    one another, BAG008 the definition, the unit or an attachment is not the one the entries name; SER001,
    SER002 a serial that cannot be one.
    """
    data = folder / "data"
    findings: list[Finding] = []
    parts = {name: _file(data, name, findings) for name in ("entries.jsonl", "unit.json", "definition.json")}
    if findings:
        return None, findings
    rows, findings = read_entry_lines(parts["entries.jsonl"], f"{path}/data/entries.jsonl")
    if not rows:
        return None, findings
    issued = to_entry(rows[0]).body
    if not isinstance(issued, Issued):
        return None, [_wrong("BAG006", "the record does not begin with the issue of a unit", path)]
    findings = [*_unit(rows, parts["unit.json"], path), *_definition(issued, parts["definition.json"], path)]
    if (serial := serial_problem(rows[0].unit)) is not None:
        findings.append(serial)
    attachments = _attachments(data, rows, path, findings)
    if findings:
        return None, findings
    return BagRecord(rows, issued, parts["definition.json"].decode(), attachments), []


def _file(data: Path, name: str, findings: list[Finding]) -> bytes:
    try:
        return (data / name).read_bytes()
    except OSError:
        findings.append(_wrong("BAG006", f"there is no data/{name} in it", data.parent))
        return b""


def _json(content: bytes) -> Any:
    """The JSON value; None where it is none."""
    try:
        return json.loads(content)
    except (ValueError, RecursionError):
        return None


def _unit(rows: tuple[StoredRow, ...], content: bytes, path: Path) -> list[Finding]:
    said = _json(content)
    due = {"serial": rows[0].unit, "count": len(rows), "head": rows[-1].hash}
    if not isinstance(said, dict) or any(said.get(key) != value for key, value in due.items()):
        end = rows[-1].hash[:12]
        what = f"unit.json does not say that {rows[0].unit} has {len(rows)} entries that end in {end}…"
        return [_wrong("BAG008", what, path)]
    return []


def _definition(issued: Issued, content: bytes, path: Path) -> list[Finding]:
    if hashlib.sha256(content).hexdigest() != issued.digest:
        return [
            _wrong("BAG008", f"definition.json is not the definition {issued.digest[:12]} of the issue", path)
        ]
    try:
        definition = from_canonical(content)
        known = (definition.product, definition.revision) == (issued.product, issued.revision)
        if known and issued.variant in definition.variants and canonical_content(definition) == content:
            return []
    except (ValueError, RecursionError):
        pass
    return [_wrong("BAG006", "definition.json does not define what was issued", path)]


def _attachments(
    data: Path, rows: tuple[StoredRow, ...], path: Path, findings: list[Finding]
) -> tuple[tuple[Attachment, bytes], ...]:
    """Every attachment that an entry names, with its bytes; all that are listed, and no other."""
    listed = _json(_file(data, "attachments.json", findings))
    found = []
    for item in listed if isinstance(listed, list) else [None]:
        file = item.get("file") if isinstance(item, dict) else None
        digest, name = (item.get("digest"), item.get("name")) if isinstance(item, dict) else (None, None)
        if not isinstance(file, str) or not isinstance(digest, str) or not isinstance(name, str):
            findings.append(_wrong("BAG006", "attachments.json is not a list of attachments", path))
            continue
        inside = (data / file).resolve()
        if not inside.is_relative_to(data.resolve()) or not inside.is_file():
            findings.append(_wrong("BAG006", f"the attachment {file[:100]} is not in it", path))
            continue
        content = inside.read_bytes()
        known = examined(content, name, EVERY)
        if isinstance(known, Finding):
            findings.append(known)
        elif known.digest != digest or not any(digest in row.body for row in rows):
            findings.append(
                _wrong("BAG008", f"the attachment {file[:100]} is not one that an entry names", path)
            )
        else:
            found.append((known, content))
    missing = set(named_files(map(to_entry, rows))) - {attachment.digest for attachment, _ in found}
    if not findings:
        what = "an entry names the attachment {}, which is not in it"
        findings += [_wrong("BAG006", what.format(named_file[:12]), path) for named_file in sorted(missing)]
    return tuple(found)


def _wrong(code: str, what: str, path: Path) -> Finding:
    return Finding(code, what, Place(str(path)), hint=_HINT)


def bag_note(**facts: object) -> str:
    """The note in a bag: what is in it, and how anybody checks it without this program."""
    text = files(__package__).joinpath("bag_note.txt").read_text(encoding="utf-8")
    facts["line"] = "=" * len(f"The record of {facts['serial']}")
    for name, value in facts.items():
        text = text.replace(f"{{{name}}}", str(value))
    return text
