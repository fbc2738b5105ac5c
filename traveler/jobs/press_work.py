"""What is done at the press: masters are made, sheets stamped or rendered, files written.

These functions run in processes of their own; they take and give values only.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from traveler.finding import Finding
from traveler.jobs.face_sheet import Room, Wish
from traveler.jobs.printed import Printed, not_written
from traveler.jobs.whole_file import write_together
from traveler.sheets.print_only import print_only
from traveler.sheets.sheet import Sheet, UnitFace
from traveler.sheets.stamp import Kind, Master, plain_kind, taken_apart
from traveler.sheets.stamp_search import NotStampable

ToFile = tuple[UnitFace, Path]
"""A unit, and where its sheet goes."""


@dataclass(frozen=True, slots=True)
class Refused:
    """Why a kind of sheet is not stamped."""

    why: str


@dataclass(frozen=True, slots=True)
class Filled:
    """What one unit of a kind adds to a file of many: its own objects, and what was wrong with its sheet."""

    serial: str
    kind: Hashable
    own: dict[int, bytes]
    findings: tuple[Finding, ...]


def make_kind(room: Room, wish: Wish, *, flat: bool) -> Kind | Refused:
    """The kind of a wish, rendered with placeholders and taken apart; ``flat``: for the printer alone."""

    def rendered(unit: UnitFace) -> Sheet:
        return render(room, replace(wish, unit=unit), flat=flat)

    try:
        return taken_apart(rendered, wish.unit, room.shop.settings, wish.sheet.plan.gtin, room.shelves)
    except NotStampable as problem:
        return Refused(str(problem))


def render(room: Room, wish: Wish, *, flat: bool) -> Sheet:
    """The sheet of a unit, rendered by itself; ``flat``: for the printer alone."""
    sheet = wish.sheet.render(room, wish.unit)
    return replace(sheet, pdf=print_only(sheet.pdf)) if flat and sheet.printed else sheet


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


def fill(name: Hashable, kind: Kind, units: Sequence[UnitFace]) -> list[Filled]:
    """What each unit of a kind adds to a file of many; ``name`` is that of the kind there."""
    texts = [(unit, kind.texts(unit)) for unit in units]
    return [Filled(unit.serial, name, kind.own(own), kind.about(own)) for unit, own in texts]


def render_kind(room: Room, wish: Wish) -> tuple[str, Kind | Sheet]:
    """A unit's sheet as a kind that it alone is of; the sheet itself where it cannot be printed."""
    made = render(room, wish, flat=True)
    return wish.unit.serial, plain_kind(made, wish.unit) if made.printed else made
