"""A batch as one file for the printer, in printing order, and beside it a list of what is where in it."""

from __future__ import annotations

import csv
from collections.abc import Hashable, Iterable, Iterator
from concurrent.futures import Future
from dataclasses import dataclass, field
from io import StringIO
from itertools import groupby
from pathlib import Path

from traveler.finding import Finding
from traveler.jobs.face_sheet import TRAVELER, Room, Wish
from traveler.jobs.kinds import BLOCK, CHUNK, Kinds, by_kind, portions
from traveler.jobs.office import Office
from traveler.jobs.press import Press, done, finished, press
from traveler.jobs.press_work import Filled, fill, render_kind
from traveler.jobs.printed import Printed, not_written
from traveler.jobs.whole_file import growing, write_whole
from traveler.sheets.collate import Bundle, CollatedFile, Laid
from traveler.sheets.paper import PAPERS
from traveler.sheets.sheet import Sheet
from traveler.sheets.stamp import Kind

FOLDER = "collated"
COLUMNS = ("serial", "first page", "pages")
Part = list[Filled] | tuple[str, Kind | Sheet] | Printed
"""What comes back: filled units of a kind, a unit rendered by itself, or one that was refused."""


def collated_file(office: Office, sheet: str, serials: tuple[str, ...]) -> Path:
    """Where the file of these units goes; never the name of one that is there."""
    name = f"{sheet}-{serials[0]}" + (f"-to-{serials[-1]}" if len(serials) > 1 else "")
    folder = office.shop.output / FOLDER
    paths = (folder / f"{name}{more}.pdf" for more in ("", *map("-{}".format, range(2, 100_000))))
    return next(path for path in paths if not path.exists())


def collated_serials(office: Office, sheet: str = TRAVELER) -> frozenset[str]:
    """The units of which the sheet is in a collated file, by the lists beside those that are there."""
    found: set[str] = set()
    for pages in (office.shop.output / FOLDER).glob(f"{sheet}-*.pdf"):
        listed = pages.with_suffix(".csv")
        if listed.is_file():
            lines = listed.read_text(encoding="utf-8", errors="replace").splitlines()
            found |= {line.partition(",")[0] for line in lines[1:]}
    return frozenset(found)


def contents(bundles: Iterable[Bundle]) -> bytes:
    """The list beside a collated file: serial, first page (from 1), how many pages."""
    text = StringIO()
    rows = csv.writer(text)
    rows.writerow(COLUMNS)
    rows.writerows((one.serial, one.start, one.pages) for one in bundles)
    return text.getvalue().encode()


class _Nothing(Exception):  # noqa: N818 - it only leads out of an unfinished file
    """No unit of the batch has pages, so there is no file."""


@dataclass(slots=True)
class Collation:
    """One batch on its way into one file. ``duplex``: every unit starts on a new leaf of paper."""

    office: Office
    file: Path
    duplex: bool = False
    pages: int = 0
    """Pages of the file, once it is there."""
    laid: dict[Hashable, Laid] = field(default_factory=dict)
    told: dict[str, tuple[Finding, ...]] = field(default_factory=dict)

    def printed(self, wishes: Iterable[Wish | Printed], total: int) -> Iterator[Printed]:
        """Writes the file and gives each unit as its pages are laid into it.

        The file and its list are there once the last was given, unless no unit had pages or the file could
        not be written. Findings: the sheets' own; PRT001 the file could not be written; SHT012 (note) a kind
        of sheet is rendered one by one.

        Raises:
            CannotDo: the system ended a process of the batch.
        """
        last = ""
        try:
            with growing(self.file) as out:
                paper = PAPERS[self.office.shop.settings.page_size]
                into = CollatedFile(out, paper, self.file.stem, self.duplex)
                for one in self._units(into, wishes, total):
                    last = one.serial
                    yield one
                if not into.bundles:
                    raise _Nothing
                into.close()
                write_whole(self.file.with_suffix(".csv"), contents(into.bundles))
            self.pages = into.pages
        except _Nothing:
            return
        except OSError as problem:
            yield Printed(last, (), (not_written(last, self.file, problem),))

    def _units(self, into: CollatedFile, wishes: Iterable[Wish | Printed], total: int) -> Iterator[Printed]:
        with press(total) as at:
            for part in finished(at, self._begun(into, at, wishes)):
                if isinstance(part, Printed):
                    yield part
                elif isinstance(part, list):
                    for one in part:
                        into.add(self.laid[one.kind], one.serial, one.own)
                        yield Printed(one.serial, (self.file,), one.findings)
                else:
                    yield self._single(into, part)

    def _single(self, into: CollatedFile, part: tuple[str, Kind | Sheet]) -> Printed:
        """A unit rendered by itself."""
        serial, made = part
        told = self.told.pop(serial, ())
        if isinstance(made, Sheet):
            return Printed(serial, (), (*told, *made.findings))
        into.add(into.lay(made), serial, {})
        return Printed(serial, (self.file,), (*told, *made.findings))

    def _begun(
        self, into: CollatedFile, at: Press, wishes: Iterable[Wish | Printed]
    ) -> Iterator[Future[Part]]:
        """The work of the batch as it is handed in: in the order of the wishes, alike ones together."""
        room = Room(self.office.shop, self.office.now)
        kinds = Kinds(room, at, flat=True)
        for block in portions(wishes, BLOCK):
            stamps = self._stamps(into, kinds, [one for one in block if isinstance(one, Wish)])
            for name, run in groupby(block, lambda one: one.kind if isinstance(one, Wish) else None):
                for portion in portions(run, CHUNK):
                    if name in stamps:
                        units = [one.unit for one in portion if isinstance(one, Wish)]
                        yield at.start(fill, name, stamps[name], units)
                        continue
                    for one in portion:
                        yield done(one) if isinstance(one, Printed) else at.start(render_kind, room, one)

    def _stamps(self, into: CollatedFile, kinds: Kinds, wishes: list[Wish]) -> dict[Hashable, Kind]:
        """The kinds of these wishes that are stamped; what their units share is written into the file."""
        found = {}
        for name, alike in by_kind(wishes).items():
            kind, told = kinds.of(alike)
            if told:
                self.told[alike[0].unit.serial] = told
            if kind is not None:
                found[name] = kind
                if name not in self.laid:
                    self.laid[name] = into.lay(kind)
        return found
