"""The note in an exported bag: what is in it, and how anybody checks it without this program."""

from __future__ import annotations

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


def note(**facts: object) -> str:
    """The text of the note."""
    indented = {name: _indented(text) for name, text in (("shell", SHELL), ("python", PYTHON))}
    return NOTE.format(line="=" * (len("The record of ") + len(str(facts["serial"]))), **indented, **facts)


def _indented(text: str) -> str:
    return "".join(f"    {line}\n" for line in text.splitlines())
