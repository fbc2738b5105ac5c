"""Sheets of many units, each in a file of its own: what they share is rendered once, by all cores."""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Iterable, Iterator
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import TypeVar

from traveler.finding import Finding, Place, Weight
from traveler.jobs.cannot import CannotDo
from traveler.jobs.face_sheet import Room, Wish
from traveler.jobs.office import Office
from traveler.jobs.press import Press, press
from traveler.jobs.press_work import Refused, make_master, render, render_file, stamp_files
from traveler.jobs.printing import Printed, sheet_file
from traveler.sheets.stamp import Master
from traveler.sheets.stamp_equal import difference

BLOCK = 64
"""Units that are looked at together, to see which of them are of one kind."""
CHUNK = 16
"""Sheets that are stamped and put on disk together."""
FEW = 4
"""Units of a kind from which on a master pays: it takes two renders, one of them to check it against."""

MOST = 16
"""Masters that are kept at a time."""

_Item = TypeVar("_Item")
_Made = TypeVar("_Made")


def print_wishes(office: Office, wishes: Iterable[Wish], total: int) -> Iterator[Printed]:
    """Prints sheets, each into its file, and gives each as it is done, in any order.

    ``total``: how many there will be. Findings: the sheets' own; PRT001 a file could not be written; SHT012
    (note) a kind of sheet is rendered one by one.

    Raises:
        CannotDo: the system ended a process of the batch.
    """
    with press(total) as at:
        for done in finished(at, Batch(office, at).begun(wishes)):
            yield from done


def finished(at: Press, begun: Iterable[Future[_Made]]) -> Iterator[_Made]:
    """The results of work in the order it was handed in; a little more than the press can do is begun.

    Raises:
        CannotDo: the system ended a process of the press.
    """
    waiting: deque[Future[_Made]] = deque()
    try:
        for one in begun:
            waiting.append(one)
            while len(waiting) > 2 * at.hands:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    except BrokenProcessPool:
        what = "the system ended a process that prints, perhaps for want of memory"
        raise CannotDo(
            what, "the files that are there are whole; 'traveler print --missing' goes on"
        ) from None


@dataclass(slots=True)
class Batch:
    """One batch at the press, with the masters made so far."""

    office: Office
    press: Press
    masters: dict[Hashable, Master | Refused] = field(default_factory=dict)

    @property
    def room(self) -> Room:
        """What is sent along."""
        return Room(self.office.shop, self.office.now)

    def begun(self, wishes: Iterable[Wish]) -> Iterator[Future[list[Printed]]]:
        """The work of the batch as it is handed in, in portions."""
        for block in portions(wishes, BLOCK):
            for kind, alike in by_kind(block).items():
                told: tuple[Finding, ...] = ()
                if kind not in self.masters and len(alike) >= FEW:
                    self.masters[kind] = made = self._master(alike[0])
                    told = (one_by_one(made, alike[0]),) if isinstance(made, Refused) else ()
                    _forget(self.masters)
                yield from self._printing(self.masters.get(kind), alike, told)

    def _printing(
        self, stamp: Master | Refused | None, alike: list[Wish], told: tuple[Finding, ...]
    ) -> Iterator[Future[list[Printed]]]:
        if isinstance(stamp, Master):
            for portion in portions(alike, CHUNK):
                files = [(wish.unit, self._file(wish)) for wish in portion]
                yield self.press.start(stamp_files, stamp, files)
            return
        for number, wish in enumerate(alike):
            more = told if number == 0 else ()
            yield self.press.start(render_file, self.room, wish, self._file(wish), more)

    def _file(self, wish: Wish) -> Path:
        return sheet_file(self.office, wish.unit.serial, wish.sheet.name, wish.sheet.copy_number)

    def _master(self, wish: Wish) -> Master | Refused:
        """The master of a kind, checked: its first sheet must be what a render gives."""
        making = self.press.start(make_master, self.room, wish)
        checking = self.press.start(render, self.room, wish.sheet, wish.unit)
        made, rendered = making.result(), checking.result()
        if isinstance(made, Refused):
            return made
        differs = difference(made.stamped(wish.unit).pdf, rendered.pdf)
        return made if differs is None else Refused(f"it differs from a rendered one at {differs}")


def one_by_one(refused: Refused, wish: Wish) -> Finding:
    """SHT012: sheets of this kind are rendered, which takes longer and comes out the same."""
    return Finding(
        "SHT012",
        f"this {wish.sheet.name.replace('-', ' ')} and those like it are rendered one by one: {refused.why}",
        Place(unit=wish.unit.serial),
        Weight.NOTE,
        why="stamping many from one would not give the same sheets",
        hint="show serial, order and dates on a template as the shipped ones do",
    )


def by_kind(wishes: Iterable[Wish]) -> dict[Hashable, list[Wish]]:
    """The wishes of each kind, kinds in the order in which they are first met."""
    found: dict[Hashable, list[Wish]] = {}
    for wish in wishes:
        found.setdefault(wish.kind, []).append(wish)
    return found


def portions(items: Iterable[_Item], size: int) -> Iterator[list[_Item]]:
    """The items in lists of at most this size; they are asked for as they are needed."""
    source = iter(items)
    while portion := list(islice(source, size)):
        yield portion


def _forget(masters: dict[Hashable, Master | Refused]) -> None:
    while len(masters) > MOST:
        del masters[next(iter(masters))]
