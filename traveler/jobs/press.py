"""The processes that a batch is printed by: one for each core, or this one alone where it is not worth it."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import get_context, parent_process
from typing import ParamSpec, TypeVar

_Given = ParamSpec("_Given")
_Made = TypeVar("_Made")

MANY = 12
"""Sheets from which on it pays to start processes; each takes a second to come up."""


@dataclass(frozen=True, slots=True)
class Press:
    """Where work is handed in. What is handed in and what comes back is sent between processes."""

    pool: ProcessPoolExecutor | None
    hands: int

    def start(
        self, work: Callable[_Given, _Made], *given: _Given.args, **named: _Given.kwargs
    ) -> Future[_Made]:
        """The work begun; without processes it is done at once."""
        if self.pool is not None:
            return self.pool.submit(work, *given, **named)
        done: Future[_Made] = Future()
        try:
            done.set_result(work(*given, **named))
        except Exception as problem:  # noqa: BLE001 - it is raised where the result is asked for
            done.set_exception(problem)
        return done


@contextmanager
def press(sheets: int) -> Iterator[Press]:
    """The press for so many sheets.

    The processes are started afresh (``spawn``), so they share no open database and no lock. At the end, or
    when somebody interrupts, work that has not begun is dropped and work that has begun is finished: files
    are written whole.
    """
    hands = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    if sheets < MANY or hands < 2:
        yield Press(None, 1)
        return
    pool = ProcessPoolExecutor(hands, mp_context=get_context("spawn"), initializer=_begin)
    try:
        yield Press(pool, hands)
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
