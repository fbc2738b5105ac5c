"""The kinds of sheets in a batch: each rendered once, checked against a render, and kept for the rest."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import islice
from typing import TypeVar

from traveler.finding import Finding, Place, Weight
from traveler.jobs.face_sheet import Room, Wish
from traveler.jobs.press import Press
from traveler.jobs.press_work import Refused, make_kind, render
from traveler.sheets.stamp import Kind, master
from traveler.sheets.stamp_equal import difference

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
class Kinds:
    """The kinds met so far in one batch. ``flat``: as they are in a file of many units."""

    room: Room
    press: Press
    flat: bool = False
    met: dict[Hashable, Kind | None] = field(default_factory=dict)

    def of(self, alike: list[Wish]) -> tuple[Kind | None, tuple[Finding, ...]]:
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

    def _made(self, wish: Wish) -> Kind | Refused:
        """The kind, checked: its first sheet must be what a render gives."""
        making = self.press.start(make_kind, self.room, wish, flat=self.flat)
        checking = self.press.start(render, self.room, wish, flat=self.flat)
        made, rendered = making.result(), checking.result()
        if isinstance(made, Refused):
            return made
        differs = difference(master(made).stamped(wish.unit).pdf, rendered.pdf)
        return made if differs is None else Refused(f"a stamped one differs from a rendered one at {differs}")


def one_by_one(refused: Refused, wish: Wish) -> Finding:
    """SHT012: sheets of this kind are rendered, which takes longer and comes out the same."""
    return Finding(
        "SHT012",
        f"this {wish.sheet.name.replace('-', ' ')} and those like it are rendered one by one: {refused.why}",
        Place(unit=wish.unit.serial),
        Weight.NOTE,
        why="stamping many from one render would not give the same sheets; rendering each takes longer",
        hint="let the shop's own templates show serial, order and dates as the shipped ones do",
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
