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


def make_template(room: PrintContext, wish: PrintJob, *, flat: bool) -> StampTemplate | Refused:
    """The kind of a wish, rendered with placeholders and taken apart; ``flat``: for the printer alone."""

    def rendered(unit: UnitHeader) -> Sheet:
        return render(room, replace(wish, unit=unit), flat=flat)

    try:
        return taken_apart(rendered, wish.unit, room.shop.settings, wish.sheet.plan.gtin, room.shelves)
    except NotStampable as problem:
        return Refused(str(problem))


def render(room: PrintContext, wish: PrintJob, *, flat: bool) -> Sheet:
    """The sheet of a unit, rendered by itself; ``flat``: for the printer alone."""
    sheet = wish.sheet.render(room, wish.unit)
    return replace(sheet, pdf=print_only(sheet.pdf)) if flat and sheet.printed else sheet


def stamp_files(stamp: Master, files: Sequence[ToFile]) -> list[Printed]:
    """Stamps sheets and writes each whole; findings as in :func:`traveler.sheets.batch.requests.keep`."""
    return _kept([(unit, path, stamp.stamped(unit)) for unit, path in files])


def render_file(
    room: PrintContext, wish: PrintJob, path: Path, more: tuple[Finding, ...] = ()
) -> list[Printed]:
    """Render a sheet and write its file; findings as in :func:`traveler.sheets.batch.requests.keep`."""
    made = wish.sheet.render(room, wish.unit)
    return _kept([(wish.unit, path, replace(made, findings=(*more, *made.findings)))])


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


def stamp_units(name: Hashable, kind: StampTemplate, units: Sequence[UnitHeader]) -> list[StampedUnit]:
    """What each unit of a kind adds to a file of many; ``name`` is that of the kind there."""
    texts = [(unit, kind.texts(unit)) for unit in units]
    return [StampedUnit(unit.serial, name, kind.own(own), kind.about(own)) for unit, own in texts]


def render_template(room: PrintContext, wish: PrintJob) -> tuple[str, StampTemplate | Sheet]:
    """A unit's sheet as a kind that it alone is of; the sheet itself where it cannot be printed."""
    made = render(room, wish, flat=True)
    return wish.unit.serial, plain_template(made, wish.unit) if made.printed else made


BLOCK = 64
"""Wishes that are looked at together, to see which of them are of one kind."""
CHUNK = 16
"""Sheets that are stamped, and put on disk, together."""
FEW = 4
"""Units of a kind from which on stamping pays: it takes two renders, one of them to check the other."""
MOST = 16
"""Kinds that are kept at a time."""

_Item = TypeVar("_Item")


@dataclass(slots=True)
class StampTemplates:
    """The kinds met so far in one batch. ``flat``: as they are in a file of many units."""

    room: PrintContext
    press: WorkerPool
    flat: bool = False
    met: dict[Hashable, StampTemplate | None] = field(default_factory=dict)

    def of(self, alike: list[PrintJob]) -> tuple[StampTemplate | None, tuple[Finding, ...]]:
        """The kind of these wishes, which are all of one; None: they are to be rendered one by one.

        Finding SHT012 (note), once for each kind: why it cannot be stamped.
        """
        name = alike[0].kind
        told: tuple[Finding, ...] = ()
        if name not in self.met and len(alike) >= FEW:
            made = self._made(alike[0])
            told = (one_by_one(made, alike[0]),) if isinstance(made, Refused) else ()
            self.met[name] = None if isinstance(made, Refused) else made
            if len(self.met) > MOST:
                del self.met[next(iter(self.met))]
        return self.met.get(name), told

    def _made(self, wish: PrintJob) -> StampTemplate | Refused:
        """The kind, checked: its first sheet must be what a render gives."""
        making = self.press.start(make_template, self.room, wish, flat=self.flat)
        checking = self.press.start(render, self.room, wish, flat=self.flat)
        made, rendered = making.result(), checking.result()
        if isinstance(made, Refused):
            return made
        differs = pdf_difference(master(made).stamped(wish.unit).pdf, rendered.pdf)
        return made if differs is None else Refused(f"a stamped one differs from a rendered one at {differs}")


def one_by_one(refused: Refused, wish: PrintJob) -> Finding:
    """SHT012: sheets of this kind are rendered, which takes longer and comes out the same."""
    return Finding(
        "SHT012",
        f"this {wish.sheet.name.replace('-', ' ')} and those like it are rendered one by one: {refused.why}",
        Place(unit=wish.unit.serial),
        Weight.NOTE,
        hint="let the shop's own templates show serial, order and dates as the shipped ones do",
    )


def by_kind(wishes: Iterable[PrintJob]) -> dict[Hashable, list[PrintJob]]:
    """The wishes of each kind, kinds in the order in which they are first met."""
    found: dict[Hashable, list[PrintJob]] = {}
    for wish in wishes:
        found.setdefault(wish.kind, []).append(wish)
    return found


def portions(items: Iterable[_Item], size: int) -> Iterator[list[_Item]]:
    """The items in lists of at most this size; they are asked for as they are needed."""
    source = iter(items)
    while portion := list(islice(source, size)):
        yield portion
