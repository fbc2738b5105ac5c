"""What can go wrong with the surroundings of a store: told in one sentence, with what to do about it.

These are exceptions, not findings: no person typed something wrong, the disk, the server or the file is at
fault (or our own code). A shell answers with ``what`` and ``hint`` and exit code 2.
"""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager


class StoreError(Exception):
    """Something about the store; ``what`` happened and, in ``hint``, what to do."""

    def __init__(self, what: str, hint: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.hint = hint


class StoreUnreachable(StoreError):
    """The store could not be opened, or was lost: no server, no file, no permission, wrong address."""


class StoreBusy(StoreError):
    """Somebody else held the store, or the unit, longer than we wait. Nothing was changed; try again."""


class StoreFull(StoreError):
    """The disk is full. The transaction was undone; what was acknowledged before is intact."""


class StoreNewer(StoreError):
    """The store was written by a newer version of this program."""


class StoreDamaged(StoreError):
    """What is stored cannot be read as what was written: the file is damaged, or somebody changed it."""


class SerialTaken(StoreError):
    """The serial was given before; a serial is never given twice."""


class NoSuchUnit(StoreError):
    """No unit of this serial was ever issued from this store."""


class NotStorable(StoreError):
    """A text or number that cannot be stored exactly: half a character pair, a NUL, a number past 2^53."""


@contextmanager
def disk_errors(what: str, hint: str) -> Iterator[None]:
    """Turns what the disk refuses inside the block into a :class:`StoreError`.

    Raises:
        StoreFull: the disk is full.
        StoreUnreachable: it refuses for another reason.
    """
    try:
        yield
    except OSError as problem:
        kind = StoreFull if problem.errno == errno.ENOSPC else StoreUnreachable
        raise kind(f"{what}: {problem.strerror}", hint) from problem
