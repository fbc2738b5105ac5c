"""Recording results from files: filled travelers, CSV, YAML. Each file all or nothing; judged at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from traveler.definition.serial import tidy_serial, verify
from traveler.finding import Finding, Place, blocking
from traveler.jobs.judge import judge
from traveler.jobs.judged import Judged
from traveler.jobs.office import Office
from traveler.jobs.write import write
from traveler.record.readers.files import read_results
from traveler.record.readers.understand import Setting, Understood, understand
from traveler.record.readers.written import Results, Written
from traveler.verdict.authority import near


@dataclass(frozen=True, slots=True)
class FileRecorded:
    """What became of one file: how many entries were added, how many were there already, or why neither."""

    file: Path
    serial: str | None
    added: int
    known: int
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {
            "file": str(self.file),
            "serial": self.serial,
            "added": self.added,
            "known": self.known,
            "findings": [one.as_dict() for one in self.findings],
        }


@dataclass(frozen=True, slots=True)
class Recorded:
    """All files in the order given, and the verdict of every unit they are about, as it is now."""

    files: tuple[FileRecorded, ...]
    units: tuple[Judged, ...]


def record(office: Office, files: Sequence[tuple[Path, bytes]], by: str | None = None) -> Recorded:
    """Records files of results and judges the units; a file with a blocking finding adds nothing.

    ``by`` is who did what a file names nobody for. Findings in files: those of
    :func:`traveler.record.readers.understand.understand`; SER001, SER002 a serial that cannot be right;
    REC001 a unit never issued here; PER001 a person nobody knows.

    Raises:
        StoreTrouble: the records cannot be written; files before this one are recorded.
    """
    done = tuple(_record_file(office, path, content, by) for path, content in files)
    serials = dict.fromkeys(one.serial for one in done if one.serial is not None)
    with office.store.reading() as records:
        return Recorded(done, tuple(judge(office, records, serial) for serial in serials))


def _record_file(office: Office, path: Path, content: bytes, by: str | None) -> FileRecorded:
    return record_results(office, path, read_results(content, str(path)), by)


def record_results(office: Office, path: Path, results: Results, by: str | None) -> FileRecorded:
    """Records results however they came, as :func:`record` does; ``path`` is what the answer calls them."""
    wrong = _wrong_serial(results)
    if wrong is not None or results.serial is None:
        return FileRecorded(path, None, 0, 0, (*results.findings, *([wrong] if wrong else ())))
    serial = tidy_serial(results.serial)
    with office.store.transaction() as work:
        if work.unit(serial) is None:
            work.abandon()
            what = f"there is no unit {serial}: this serial was never issued here"
            finding = Finding(
                "REC001", what, results.head["serial"].place, hint="compare it with the nameplate"
            )
            return FileRecorded(path, None, 0, 0, (*results.findings, finding))
        before = judge(office, work, serial)
        asked = understand(results, _setting(office, before, by))
        findings = (*asked.findings, *_unknown_people(office, results, asked))
        if blocking(findings):
            work.abandon()
            return FileRecorded(path, serial, 0, 0, findings)
        new = () if work.seen(results.digest, serial) else asked.drafts
        write(office, work, new, before.entries, before.plan)
        work.mark_seen(results.digest, serial, office.now)
        known = asked.known + len(asked.drafts) - len(new)
        return FileRecorded(path, serial, len(new), known, findings)


def _setting(office: Office, judged: Judged, by: str | None) -> Setting:
    return Setting(judged.unit.serial, judged.plan, judged.entries, office.now, office.shop.zone, by)


def _wrong_serial(results: Results) -> Finding | None:
    """What is wrong with the serial in the file, at its place; a file without one says so too."""
    head = results.head.get("serial")
    if head is None:
        if blocking(results.findings):
            return None
        hint = "give it the line 'serial: …', or use 'traveler blank'"
        return Finding("RES040", "the file names no unit", Place(results.file), hint=hint)
    wrong = verify(head.text)
    return replace(wrong, place=head.place) if wrong is not None else None


def _unknown_people(office: Office, results: Results, asked: Understood) -> Iterator[Finding]:
    """PER001 for each id nobody has: most often a slip of the pen, which would stay in the record."""
    known = office.shop.people
    for person in dict.fromkeys(draft.by for draft in asked.drafts):
        if known.get(person) is None:
            what = f"nobody in the shop has the id '{person}'"
            yield Finding("PER001", what, _named(results, person), hint=near(person, known))


def _named(results: Results, person: str) -> Place:
    """Where in the file the person is named first."""
    said: list[Written] = list(results.head.values())
    for row in results.rows:
        said += row.said.values()
    for remark in results.remarks:
        said += remark.said.values()
    found = (one.place for one in said if one.text.lower() == person)
    return next(found, Place(results.file))
