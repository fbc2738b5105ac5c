"""What is done at the press: masters are made, sheets stamped or rendered, files written.

These functions run in processes of their own; they take and give values only.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from traveler.finding import Finding
from traveler.jobs.face_sheet import FaceSheet, Room, Wish
from traveler.jobs.printing import Printed, not_written
from traveler.jobs.whole_file import write_together
from traveler.sheets.print_only import print_only
from traveler.sheets.sheet import Sheet, UnitFace
from traveler.sheets.stamp import Kind, Master, master, plain_kind, taken_apart
from traveler.sheets.stamp_search import NotStampable

ToFile = tuple[UnitFace, Path]
"""A unit, and where its sheet goes."""


@dataclass(frozen=True, slots=True)
class Refused:
    """Why a kind of sheet is not stamped."""

    why: str


@dataclass(frozen=True, slots=True)
class Filled:
    """What one unit adds to a file of many: its own objects by number, and what was wrong with its sheet."""

    unit: UnitFace
    own: dict[int, bytes]
    findings: tuple[Finding, ...]


def make_master(room: Room, wish: Wish) -> Master | Refused:
    """The master for all units of the wish's kind."""
    try:
        return master(_taken_apart(room, wish, partial(render, room, wish.sheet)))
    except NotStampable as problem:
        return Refused(str(problem))


def make_kind(room: Room, wish: Wish) -> Kind | Refused:
    """The kind of the wish for a file of many units, which holds pages alone."""
    try:
        return _taken_apart(room, wish, partial(render_flat, room, wish.sheet))
    except NotStampable as problem:
        return Refused(str(problem))


def _taken_apart(room: Room, wish: Wish, rendering: Callable[[UnitFace], Sheet]) -> Kind:
    return taken_apart(rendering, wish.unit, room.shop.settings, wish.sheet.plan.gtin, room.shelves)


def render(room: Room, sheet: FaceSheet, unit: UnitFace) -> Sheet:
    """The sheet of a unit, rendered by itself."""
    return sheet.render(room, unit)


def render_flat(room: Room, sheet: FaceSheet, unit: UnitFace) -> Sheet:
    """The same for the printer alone."""
    return flat(sheet.render(room, unit))


def flat(sheet: Sheet) -> Sheet:
    """A finished sheet for the printer alone."""
    return replace(sheet, pdf=print_only(sheet.pdf)) if sheet.printed else sheet


def stamp_files(stamp: Master, files: Sequence[ToFile]) -> list[Printed]:
    """Stamps sheets and writes each whole; findings as in :func:`traveler.jobs.printing.keep`."""
    return _kept([(unit, path, stamp.stamped(unit)) for unit, path in files])


def render_file(room: Room, wish: Wish, path: Path, more: tuple[Finding, ...] = ()) -> list[Printed]:
    """Renders one sheet and writes it whole; findings as in :func:`traveler.jobs.printing.keep`, and more."""
    made = wish.sheet.render(room, wish.unit)
    return _kept([(wish.unit, path, replace(made, findings=(*more, *made.findings)))])


def _kept(made: Iterable[tuple[UnitFace, Path, Sheet]]) -> list[Printed]:
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


def fill(kind: Kind, units: Sequence[UnitFace]) -> list[Filled]:
    """What each unit of a kind adds to a file of many."""
    texts = [(unit, kind.texts(unit)) for unit in units]
    return [Filled(unit, kind.own(own), kind.about(own)) for unit, own in texts]


def render_kind(room: Room, wish: Wish) -> Kind | Sheet:
    """A unit's sheet as a kind that it alone is of; the sheet without pages where it cannot be printed."""
    made = render_flat(room, wish.sheet, wish.unit)
    return plain_kind(made, wish.unit) if made.printed else made
