"""A bag (RFC 8493) with the record of a unit: opened with care, and the note in it."""

from __future__ import annotations

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
from pathlib import Path

from traveler.finding import CannotDo, Finding, Place

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
        what = f"this is no ZIP file that can be read: {problem}"
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
            raise _Refused("BAG002", f"{member.filename!r} is no plain file (a link or a device)", file)
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
        raise _Refused("BAG002", f"the name {name[:120]!r} leads out of the bag or is none", file)


def _unpack(archive: zipfile.ZipFile, member: zipfile.ZipInfo, target: Path, left: int) -> int:
    """Writes one member, never more than it said it has; gives its size."""
    target.parent.mkdir(parents=True, exist_ok=True)
    size = 0
    with archive.open(member) as packed, target.open("xb") as written:
        while some := packed.read(_CHUNK):
            size += len(some)
            if size > min(member.file_size, left):
                raise _Refused(
                    "BAG003", f"{member.filename!r} holds more than it says", str(archive.filename)
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
                raise _Refused("BAG002", f"{shown!r} is no plain file (a link or a device)", str(folder))
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
        raise _Refused("BAG001", "this is no bag: there is no bagit.txt in it", str(folder)) from None
    if not _DECLARED.fullmatch(declared):
        what = "bagit.txt does not say version 0.97 or 1.0 and the encoding UTF-8"
        raise _Refused("BAG005", what, str(folder / "bagit.txt"))
    if (folder / "fetch.txt").exists():
        raise _Refused("BAG004", "files of it are to be fetched from elsewhere", str(folder / "fetch.txt"))
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
    return Finding("BAG004", f"the bag is not whole: {what}", Place(str(folder)), hint=_HINT)


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


NOTE = """\
The record of {serial}
{line}

{title} ({product} {variant}, revision {revision}), made by {shop}.
Exported on {day}; the record has {count} entries then. This folder is a bag as RFC 8493 describes it.

What is in it (folder data/)
  entries.jsonl     what was recorded, one entry on each line, in order: JSON text as RFC 8785 writes it
  unit.json         serial, product, state, and where the chain of entries ends: "count" and "head"
  definition.json   the definition that the unit was built and judged by
  people.json       the persons named in the record and the roles they held
  gauges.json       the gauges named in the record, with their calibrations
  attachments/      photographs and documents, each named by its SHA-256; attachments.json lists them
  sheets/           the printed sheets, as PDF
  seals.jsonl       what the maker's seal file says about this unit
  verdict.json      how the record was judged on the day of the export

How to check it without any program of ours
-------------------------------------------
1. That no file was changed, in the folder that has bagit.txt in it:

    sha256sum --check --quiet manifest-sha256.txt

2. That no entry was changed, removed, added or moved. Each line names the SHA-256 of the line before it as
   "previous" (the first one 64 zeros), so the hash of the last line stands for them all. Run with sh:

{shell}
   It prints how many entries there are and the hash of the last one. They are "count" and "head" in
   data/unit.json. The certificate shows the count and head at the release: the same loop, ended after as
   many lines, prints that head. What the customer holds on paper cannot be changed here.

3. The same, and that the definition and the attachments are those the entries name, with Python 3:

{python}
What this cannot show: that the record is true. It shows that it is the one that was written, as far as
count and head were noted elsewhere: on the certificate, in a seal file, in your own files.
"""

SHELL = """\
previous=$(printf '%064d' 0); count=0
while IFS= read -r entry; do
  case $entry in
    *"\\"previous\\":\\"$previous\\""*) count=$((count + 1)) ;;
    *) echo "line $((count + 1)) does not follow the line before it"; exit 1 ;;
  esac
  previous=$(printf '%s' "$entry" | sha256sum | cut -d ' ' -f 1)
done < data/entries.jsonl
echo "$count $previous"
"""

PYTHON = """\
import hashlib, json, pathlib
data = pathlib.Path("data")
sha256 = lambda content: hashlib.sha256(content).hexdigest()
previous = "0" * 64
lines = (data / "entries.jsonl").read_bytes().splitlines()
for number, line in enumerate(lines, start=1):
    entry = json.loads(line)
    assert (entry["seq"], entry["previous"]) == (number, previous), f"entry {number} does not follow"
    previous = sha256(line)
unit = json.loads((data / "unit.json").read_bytes())
assert (len(lines), previous) == (unit["count"], unit["head"]), "the chain ends elsewhere"
issued = json.loads(lines[0])["body"]
assert sha256((data / "definition.json").read_bytes()) == issued["digest"], "another definition"
for kept in json.loads((data / "attachments.json").read_bytes()):
    content = (data / kept["file"]).read_bytes()
    assert sha256(content) == kept["digest"], kept["file"]
print(len(lines), previous)
"""


def bag_note(**facts: object) -> str:
    """The text of the note."""
    indented = {name: _indented(text) for name, text in (("shell", SHELL), ("python", PYTHON))}
    return NOTE.format(line="=" * (len("The record of ") + len(str(facts["serial"]))), **indented, **facts)


def _indented(text: str) -> str:
    return "".join(f"    {line}\n" for line in text.splitlines())
