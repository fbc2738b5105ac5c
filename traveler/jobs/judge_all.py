"""Judging many units: in small views of the records, on every core there is, in the order asked for."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import fields
from typing import Any, TypeVar

from traveler.finding import Finding, Place
from traveler.jobs.cannot import CannotDo
from traveler.jobs.judge import judge
from traveler.jobs.judged import Judged
from traveler.jobs.office import Office
from traveler.record.store import Store
from traveler.record.trouble import StoreDamaged

Shown = TypeVar("Shown")

AT_ONCE = 25
"""Units judged in one view of the records; whoever writes meanwhile is not held up by a long one."""

ALONE = 300
"""So many units are judged before further processes would have started."""


def every_serial(office: Office) -> tuple[str, ...]:
    """The serials of all units, in order."""
    found: list[str] = []
    with office.store.reading() as records:
        while some := records.units(after=found[-1] if found else None, limit=1_000):
            found += [one.serial for one in some]
    return tuple(found)


def judge_all(
    office: Office, serials: Sequence[str], show: Callable[[Judged], Shown], processes: int | None = None
) -> Generator[Shown | Finding, None, None]:
    """What ``show`` makes of each unit, in order; CHN001 in the place of one that cannot be read any more.

    ``show`` runs where the unit was judged, so that only what it gives is kept and sent: with several
    processes it and its result must be such that they can be sent (``pickle``). ``processes``: how many; by
    default one for each core, and this one alone for a few units.

    Raises:
        CannotDo: one of the serials was never issued here, or a process was killed.
    """
    cores = len(os.sched_getaffinity(0))
    workers = processes or (1 if len(serials) <= ALONE else cores)
    pieces = [serials[at : at + AT_ONCE] for at in range(0, len(serials), AT_ONCE)]
    if workers == 1 or len(pieces) < workers:
        for piece in pieces:
            yield from _judge_piece(office, piece, show)
        return
    try:
        yield from _spread(office, pieces, show, workers)
    except BrokenProcessPool as problem:
        what = "a process that was judging was ended from outside (perhaps there was no memory left)"
        raise CannotDo(what, "do it again; nothing is changed by judging") from problem


def _judge_piece(
    office: Office, serials: Sequence[str], show: Callable[[Judged], Shown]
) -> list[Shown | Finding]:
    found: list[Shown | Finding] = []
    with office.store.reading() as records:
        for serial in serials:
            try:
                found.append(show(judge(office, records, serial)))
            except StoreDamaged as problem:
                why = "a record that was changed after it was written proves nothing"
                found.append(Finding("CHN001", problem.what, Place(unit=serial), why=why, hint=problem.hint))
    return found


def _spread(
    office: Office, pieces: Sequence[Sequence[str]], show: Callable[[Judged], Shown], workers: int
) -> Iterator[Shown | Finding]:
    """The pieces over processes of their own; never more of them under way than keep these busy."""
    context = multiprocessing.get_context("spawn")  # a copy of this process would share its connections
    begin = (_Sent(office), show)
    pool = ProcessPoolExecutor(workers, context, initializer=_begin, initargs=begin)
    under_way: deque[Future[list[Shown | Finding]]] = deque()
    try:
        for piece in pieces:
            with _deaf():
                under_way.append(pool.submit(_work, piece))
            if len(under_way) >= 3 * workers:
                yield from under_way.popleft().result()
        while under_way:
            yield from under_way.popleft().result()
    finally:  # also where whoever asked has gone, or interrupts: what is not begun is not done
        pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _deaf() -> Iterator[None]:
    """Processes started here never hear an interrupt from the keyboard; this one hears it afterwards."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class _Sent:
    """An office on its way to another process, which opens the records for itself."""

    def __init__(self, office: Office) -> None:
        self.url = office.store.url.render_as_string(hide_password=False)
        self.rest = {
            one.name: getattr(office, one.name) for one in fields(office) if one.init and one.name != "store"
        }

    def opened(self) -> Office:
        """The office again."""
        shop = self.rest["shop"]
        return Office(store=Store.open(self.url, folder=shop.folder, create=False), **self.rest)


_here: dict[str, Any] = {}
"""In a process that judges: its office, and what is to be kept of a unit."""


def _begin(sent: _Sent, show: Callable[[Judged], Any]) -> None:
    _here.update(office=sent.opened(), show=show)


def _work(serials: Sequence[str]) -> list[Any]:
    return _judge_piece(_here["office"], serials, _here["show"])
