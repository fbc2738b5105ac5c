"""Templates of a batch, each rendered once and checked, and the work done in other processes."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path
from typing import TypeVar

from traveler.files import write_together
from traveler.finding import Finding, Place, Weight
from traveler.pool import WorkerPool
from traveler.sheets.batch.compare import pdf_difference
from traveler.sheets.batch.placeholders import NotStampable
from traveler.sheets.batch.print_job import PrintContext, Printed, PrintJob, not_written
from traveler.sheets.batch.stamp import Master, StampTemplate, master, plain_template, taken_apart
from traveler.sheets.pdf.postprocess import print_only
from traveler.sheets.sheet import Sheet, UnitHeader

ToFile = tuple[UnitHeader, Path]
"""A unit, and where its sheet goes."""


@dataclass(frozen=True, slots=True)
class Refused:
    """Why a kind of sheet is not stamped."""

    why: str


@dataclass(frozen=True, slots=True)
class StampedUnit:
    """What one unit of a kind adds to a file of many: its own objects, and what was wrong with its sheet."""

    serial: str
    kind: Hashable
    own: dict[int, bytes]
    findings: tuple[Finding, ...]


def make_template(context: PrintContext, job: PrintJob, *, flat: bool) -> StampTemplate | Refused:
    """The template of a job: rendered with placeholders, taken apart; ``flat``: for the printer alone."""

    def rendered(unit: UnitHeader) -> Sheet:
        return render(context, replace(job, unit=unit), flat=flat)

    try:
        return taken_apart(rendered, job.unit, context.shop.settings, job.sheet.plan.gtin, context.templates)
    except NotStampable as problem:
        return Refused(str(problem))


def render(context: PrintContext, job: PrintJob, *, flat: bool) -> Sheet:
    """The sheet of a unit, rendered by itself; ``flat``: for the printer alone."""
    sheet = job.sheet.render(context, job.unit)
    return replace(sheet, pdf=print_only(sheet.pdf)) if flat and sheet.printed else sheet


def stamp_files(stamp: Master, files: Sequence[ToFile]) -> list[Printed]:
    """Stamps sheets and writes each whole; findings as in :func:`traveler.sheets.batch.requests.keep`."""
    return _kept([(unit, path, stamp.stamped(unit)) for unit, path in files])


def render_file(
    context: PrintContext, job: PrintJob, path: Path, more: tuple[Finding, ...] = ()
) -> list[Printed]:
    """Render a sheet and write its file; findings as in :func:`traveler.sheets.batch.requests.keep`."""
    made = job.sheet.render(context, job.unit)
    return _kept([(job.unit, path, replace(made, findings=(*more, *made.findings)))])


def _kept(made: Iterable[tuple[UnitHeader, Path, Sheet]]) -> list[Printed]:
    sheets = list(made)
    problems = write_together((path, sheet.pdf) for _, path, sheet in sheets if sheet.printed)
    printed = []
    for unit, path, sheet in sheets:
        if path in problems:
            findings = (*sheet.findings, not_written(unit.serial, path, problems[path]))
            printed.append(Printed(unit.serial, (), findings))
        else:
            printed.append(Printed(unit.serial, (path,) if sheet.printed else (), sheet.findings))
    return printed


def stamp_units(name: Hashable, template: StampTemplate, units: Sequence[UnitHeader]) -> list[StampedUnit]:
    """What each unit of a kind adds to a file of many; ``name`` is that of the kind there."""
    texts = [(unit, template.texts(unit)) for unit in units]
    return [StampedUnit(unit.serial, name, template.own(own), template.about(own)) for unit, own in texts]


def render_template(context: PrintContext, job: PrintJob) -> tuple[str, StampTemplate | Sheet]:
    """A unit's sheet as a kind that it alone is of; the sheet itself where it cannot be printed."""
    made = render(context, job, flat=True)
    return job.unit.serial, plain_template(made, job.unit) if made.printed else made


BLOCK = 64
"""Jobs that are looked at together, to see which of them are of one kind."""
CHUNK = 16
"""Sheets that are stamped, and put on disk, together."""
FEW = 4
"""Units of a kind from which on stamping pays: it takes two renders, one of them to check the other."""
MOST = 16
"""Templates that are kept at a time."""

_Item = TypeVar("_Item")


@dataclass(slots=True)
class StampTemplates:
    """The templates made so far in one batch. ``flat``: as they are in a file of many units."""

    context: PrintContext
    pool: WorkerPool
    flat: bool = False
    met: dict[Hashable, StampTemplate | None] = field(default_factory=dict)

    def of(self, group: list[PrintJob]) -> tuple[StampTemplate | None, tuple[Finding, ...]]:
        """The template of these jobs, which are all of one kind; None: they are rendered one by one.

        Finding SHT012 (note), once for each kind: why it cannot be stamped.
        """
        name = group[0].kind
        notes: tuple[Finding, ...] = ()
        if name not in self.met and len(group) >= FEW:
            made = self._made(group[0])
            notes = (one_by_one(made, group[0]),) if isinstance(made, Refused) else ()
            self.met[name] = None if isinstance(made, Refused) else made
            if len(self.met) > MOST:
                del self.met[next(iter(self.met))]
        return self.met.get(name), notes

    def _made(self, job: PrintJob) -> StampTemplate | Refused:
        """The template, checked: its first sheet must be what a render gives."""
        making = self.pool.start(make_template, self.context, job, flat=self.flat)
        checking = self.pool.start(render, self.context, job, flat=self.flat)
        made, rendered = making.result(), checking.result()
        if isinstance(made, Refused):
            return made
        differs = pdf_difference(master(made).stamped(job.unit).pdf, rendered.pdf)
        return made if differs is None else Refused(f"a stamped one differs from a rendered one at {differs}")


def one_by_one(refused: Refused, job: PrintJob) -> Finding:
    """SHT012: sheets of this kind are rendered, which takes longer and comes out the same."""
    return Finding(
        "SHT012",
        f"this {job.sheet.name.replace('-', ' ')} and those like it are rendered one by one: {refused.why}",
        Place(unit=job.unit.serial),
        Weight.NOTE,
        hint="let the shop's own templates show serial, order and dates as the shipped ones do",
    )


def by_kind(jobs: Iterable[PrintJob]) -> dict[Hashable, list[PrintJob]]:
    """The jobs of each kind, kinds in the order in which they are first met."""
    found: dict[Hashable, list[PrintJob]] = {}
    for job in jobs:
        found.setdefault(job.kind, []).append(job)
    return found


def portions(items: Iterable[_Item], size: int) -> Iterator[list[_Item]]:
    """The items in lists of at most this size; they are asked for as they are needed."""
    source = iter(items)
    while portion := list(islice(source, size)):
        yield portion
