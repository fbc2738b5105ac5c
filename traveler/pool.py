"""The one pool of worker processes: one for each core, or this process alone where it is not worth it."""

from __future__ import annotations

import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import get_context, parent_process
from typing import ParamSpec, TypeVar

from traveler.finding import CannotDo

_Given = ParamSpec("_Given")
_Made = TypeVar("_Made")

MANY = 12
"""Sheets from which on it pays to start processes; each takes a second to come up."""


GO_ON = "the files that are there are whole; 'traveler print --missing' goes on"


@dataclass(frozen=True, slots=True)
class WorkerPool:
    """Where work is handed in. What is handed in and what comes back is sent between processes."""

    pool: ProcessPoolExecutor | None
    ahead: int
    """How many pieces of work are begun before the result of the first is waited for."""

    def start(
        self, work: Callable[_Given, _Made], *given: _Given.args, **named: _Given.kwargs
    ) -> Future[_Made]:
        """The work begun; without processes it is done at once."""
        if self.pool is None:
            return done(work(*given, **named))
        with _interrupts_held():
            return self.pool.submit(work, *given, **named)


@contextmanager
def _interrupts_held() -> Iterator[None]:
    """Processes started here never see an interrupt from the keyboard; this one sees it afterwards."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def done(made: _Made) -> Future[_Made]:
    """Work that was done already."""
    result: Future[_Made] = Future()
    result.set_result(made)
    return result


def finished(at: WorkerPool, begun: Iterable[Future[_Made]], hint: str = GO_ON) -> Iterator[_Made]:
    """The results of work in the order in which it was handed in.

    Raises:
        CannotDo: the system ended a process of the pool; ``hint`` is what to do then.
    """
    waiting: deque[Future[_Made]] = deque()
    try:
        for future in begun:
            waiting.append(future)
            while len(waiting) > at.ahead:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    except BrokenProcessPool:
        what = "the system ended a process, perhaps because memory ran out"
        raise CannotDo(what, hint) from None


@contextmanager
def worker_pool(
    pieces: int, *, fewest: int | None = None, processes: int | None = None
) -> Iterator[WorkerPool]:
    """The pool for so many pieces of work; below ``fewest`` (:data:`MANY`) this process does them.

    ``processes``: how many; one for each core where it is None.

    The processes are started afresh (``spawn``), so they share no open database and no lock. At the end, or
    when somebody interrupts, work that has not begun is dropped and work that has begun is finished: files
    are written whole.
    """
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    workers = processes or (cores if pieces >= (fewest or MANY) else 1)
    if workers < 2:
        yield WorkerPool(None, 0)
        return
    pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_begin)
    try:
        yield WorkerPool(pool, 2 * workers)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _begin() -> None:
    """Leaves interrupting to the process that was started by hand, and ends with it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
