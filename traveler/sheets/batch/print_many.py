"""Sheets of many units, each in a file of its own or all in one file for the printer."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from concurrent.futures import Future
from dataclasses import dataclass, field
from itertools import groupby
from pathlib import Path

from traveler.files import csv_text, growing, write_whole
from traveler.finding import Finding
from traveler.pool import WorkerPool, done, finished, worker_pool
from traveler.sheets.batch.collate import Bundle, CollatedFile, Laid
from traveler.sheets.batch.print_job import TRAVELER, PrintContext, Printed, PrintJob, not_written
from traveler.sheets.batch.requests import sheet_file
from traveler.sheets.batch.stamp import Master, StampTemplate, master
from traveler.sheets.batch.templates import (
    BLOCK,
    CHUNK,
    MOST,
    StampedUnit,
    StampTemplates,
    by_kind,
    portions,
    render_file,
    render_template,
    stamp_files,
    stamp_units,
)
from traveler.sheets.pdf.paper import PAPERS
from traveler.sheets.sheet import Sheet
from traveler.shop.session import Session

Begun = Iterator[Future[list[Printed]]]


def print_jobs(session: Session, jobs: Iterable[PrintJob | Printed], total: int) -> Iterator[Printed]:
    """Prints sheets, each into its file, and gives each as it is done, in any order.

    ``total``: how many there will be. What cannot be printed (findings instead of a job) is handed through.
    Findings: those of :func:`traveler.sheets.batch.requests.keep`; SHT012 (note) a kind of sheet is
    rendered one by one.

    Raises:
        CannotDo: the system ended a worker process.
    """
    with worker_pool(total) as pool:
        for printed in finished(pool, _begun(session, pool, jobs)):
            yield from printed


def _begun(session: Session, pool: WorkerPool, jobs: Iterable[PrintJob | Printed]) -> Begun:
    """The work of a batch as it is handed in, in portions."""
    context = PrintContext(session.shop, session.now)
    templates, masters = StampTemplates(context, pool), dict[Hashable, Master]()
    for block in portions(jobs, BLOCK):
        refused = [job for job in block if isinstance(job, Printed)]
        if refused:
            yield done(refused)
        for name, group in by_kind(job for job in block if isinstance(job, PrintJob)).items():
            template, notes = templates.of(group)
            if template is None:
                yield from _rendering(session, pool, group, notes)
                continue
            if name not in masters:
                masters[name] = master(template)
                if len(masters) > MOST:
                    del masters[next(iter(masters))]
            for portion in portions(group, CHUNK):
                yield pool.start(
                    stamp_files, masters[name], [(job.unit, _file(session, job)) for job in portion]
                )


def _rendering(
    session: Session, pool: WorkerPool, group: list[PrintJob], notes: tuple[Finding, ...]
) -> Begun:
    context = PrintContext(session.shop, session.now)
    for number, job in enumerate(group):
        yield pool.start(render_file, context, job, _file(session, job), notes if number == 0 else ())


def _file(session: Session, job: PrintJob) -> Path:
    return sheet_file(session, job.unit.serial, job.sheet.name, job.sheet.copy_number)


FOLDER = "collated"
COLUMNS = ("serial", "first page", "pages")
Part = list[StampedUnit] | tuple[str, StampTemplate | Sheet] | Printed
"""What comes back: stamped units of a kind, a unit rendered by itself, or one that was refused."""


def collated_file(session: Session, sheet: str, serials: tuple[str, ...]) -> Path:
    """Where the file of these units goes; never the name of one that is there."""
    name = f"{sheet}-{serials[0]}" + (f"-to-{serials[-1]}" if len(serials) > 1 else "")
    folder = session.shop.output / FOLDER
    paths = (folder / f"{name}{more}.pdf" for more in ("", *map("-{}".format, range(2, 100_000))))
    return next(path for path in paths if not path.exists())


def collated_serials(session: Session, sheet: str = TRAVELER) -> frozenset[str]:
    """The units of which the sheet is in a collated file, by the lists beside those that are there."""
    found: set[str] = set()
    for pages in (session.shop.output / FOLDER).glob(f"{sheet}-*.pdf"):
        listed = pages.with_suffix(".csv")
        if listed.is_file():
            lines = listed.read_text(encoding="utf-8", errors="replace").splitlines()
            found |= {line.partition(",")[0] for line in lines[1:]}
    return frozenset(found)


def contents_list(bundles: Iterable[Bundle]) -> bytes:
    """The list beside a collated file: serial, first page (from 1), how many pages."""
    return csv_text([COLUMNS, *((bundle.serial, bundle.start, bundle.pages) for bundle in bundles)]).encode()


class _Nothing(Exception):
    """No unit of the batch has pages, so there is no file."""


@dataclass(slots=True)
class Collation:
    """One batch on its way into one file. ``duplex``: every unit starts on a new leaf of paper."""

    session: Session
    file: Path
    duplex: bool = False
    pages: int = 0
    """Pages of the file, once it is there."""
    laid: dict[Hashable, Laid] = field(default_factory=dict)
    notes: dict[str, tuple[Finding, ...]] = field(default_factory=dict)

    def printed(self, jobs: Iterable[PrintJob | Printed], total: int) -> Iterator[Printed]:
        """Writes the file and gives each unit as its pages are laid into it.

        The file and its list are there once the last was given, unless no unit had pages or the file could
        not be written. Findings: the sheets' own; PRT001 the file could not be written; SHT012 (note) a kind
        of sheet is rendered one by one.

        Raises:
            CannotDo: the system ended a worker process.
        """
        last = ""
        try:
            with growing(self.file) as out:
                paper = PAPERS[self.session.shop.settings.page_size]
                into = CollatedFile(out, paper, self.file.stem, self.duplex)
                for unit in self._units(into, jobs, total):
                    last = unit.serial
                    yield unit
                if not into.bundles:
                    raise _Nothing
                into.close()
                write_whole(self.file.with_suffix(".csv"), contents_list(into.bundles))
            self.pages = into.pages
        except _Nothing:
            return
        except OSError as problem:
            yield Printed(last, (), (not_written(last, self.file, problem),))

    def _units(self, into: CollatedFile, jobs: Iterable[PrintJob | Printed], total: int) -> Iterator[Printed]:
        with worker_pool(total) as pool:
            for part in finished(pool, self._begun(into, pool, jobs)):
                if isinstance(part, Printed):
                    yield part
                elif isinstance(part, list):
                    for inner in part:
                        into.add(self.laid[inner.kind], inner.serial, inner.own)
                        yield Printed(inner.serial, (self.file,), inner.findings)
                else:
                    yield self._single(into, part)

    def _single(self, into: CollatedFile, part: tuple[str, StampTemplate | Sheet]) -> Printed:
        """A unit rendered by itself."""
        serial, made = part
        notes = self.notes.pop(serial, ())
        if isinstance(made, Sheet):
            return Printed(serial, (), (*notes, *made.findings))
        into.add(into.lay(made), serial, {})
        return Printed(serial, (self.file,), (*notes, *made.findings))

    def _begun(
        self, into: CollatedFile, pool: WorkerPool, jobs: Iterable[PrintJob | Printed]
    ) -> Iterator[Future[Part]]:
        """The work of the batch as it is handed in: in the order of the jobs, those of one kind together."""
        context = PrintContext(self.session.shop, self.session.now)
        templates = StampTemplates(context, pool, flat=True)
        for block in portions(jobs, BLOCK):
            stamps = self._stamps(into, templates, [job for job in block if isinstance(job, PrintJob)])
            for name, run in groupby(
                block, lambda entry: entry.kind if isinstance(entry, PrintJob) else None
            ):
                for portion in portions(run, CHUNK):
                    if name in stamps:
                        units = [job.unit for job in portion if isinstance(job, PrintJob)]
                        yield pool.start(stamp_units, name, stamps[name], units)
                        continue
                    for job in portion:
                        yield (
                            done(job)
                            if isinstance(job, Printed)
                            else pool.start(render_template, context, job)
                        )

    def _stamps(
        self, into: CollatedFile, templates: StampTemplates, jobs: list[PrintJob]
    ) -> dict[Hashable, StampTemplate]:
        """The templates of these jobs that are stamped; what their units share is written into the file."""
        found = {}
        for name, group in by_kind(jobs).items():
            template, notes = templates.of(group)
            if notes:
                self.notes[group[0].unit.serial] = notes
            if template is not None:
                found[name] = template
                if name not in self.laid:
                    self.laid[name] = into.lay(template)
        return found
