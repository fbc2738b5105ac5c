"""Sheets of many units, each in a file of its own: what they share is rendered once, by all cores."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from concurrent.futures import Future
from pathlib import Path

from traveler.finding import Finding
from traveler.jobs.face_sheet import Room, Wish
from traveler.jobs.kinds import BLOCK, CHUNK, MOST, Kinds, by_kind, portions
from traveler.jobs.office import Office
from traveler.jobs.press import Press, done, finished, press
from traveler.jobs.press_work import render_file, stamp_files
from traveler.jobs.printed import Printed
from traveler.jobs.printing import sheet_file
from traveler.sheets.stamp import Master, master

Begun = Iterator[Future[list[Printed]]]


def print_wishes(office: Office, wishes: Iterable[Wish | Printed], total: int) -> Iterator[Printed]:
    """Prints sheets, each into its file, and gives each as it is done, in any order.

    ``total``: how many there will be. What could not be wished for (a finding instead of a sheet) is handed
    through. Findings: those of :func:`traveler.jobs.printing.keep`; SHT012 (note) a kind of sheet is
    rendered one by one.

    Raises:
        CannotDo: the system ended a process of the batch.
    """
    with press(total) as at:
        for printed in finished(at, _begun(office, at, wishes)):
            yield from printed


def _begun(office: Office, at: Press, wishes: Iterable[Wish | Printed]) -> Begun:
    """The work of a batch as it is handed in, in portions."""
    room = Room(office.shop, office.now)
    kinds, masters = Kinds(room, at), dict[Hashable, Master]()
    for block in portions(wishes, BLOCK):
        refused = [one for one in block if isinstance(one, Printed)]
        if refused:
            yield done(refused)
        for name, alike in by_kind(one for one in block if isinstance(one, Wish)).items():
            kind, told = kinds.of(alike)
            if kind is None:
                yield from _rendering(office, at, alike, told)
                continue
            if name not in masters:
                masters[name] = master(kind)
                if len(masters) > MOST:
                    del masters[next(iter(masters))]
            for portion in portions(alike, CHUNK):
                yield at.start(
                    stamp_files, masters[name], [(one.unit, _file(office, one)) for one in portion]
                )


def _rendering(office: Office, at: Press, alike: list[Wish], told: tuple[Finding, ...]) -> Begun:
    room = Room(office.shop, office.now)
    for number, wish in enumerate(alike):
        yield at.start(render_file, room, wish, _file(office, wish), told if number == 0 else ())


def _file(office: Office, wish: Wish) -> Path:
    return sheet_file(office, wish.unit.serial, wish.sheet.name, wish.sheet.copy_number)
