"""Object numbers inside written objects: which others an object refers to, and other numbers for them."""

from __future__ import annotations

import re
from collections.abc import Mapping

REFERENCE = re.compile(rb"(\((?:\\.|[^\\()])*\))|\b(\d+) 0 R\b")
"""A string, inside which nothing is a reference, or a reference."""
CONTENT = b"\nstream\n"
"""Between the dictionary of a stream and its content, which refers to nothing."""


def references(body: bytes) -> set[int]:
    """The numbers of the objects that this one refers to."""
    head, _, _ = body.partition(CONTENT)
    return {int(match[2]) for match in REFERENCE.finditer(head) if match[2] is not None}


def renumbered(body: bytes, numbers: Mapping[int, int]) -> bytes:
    """The object with its references renumbered.

    Raises:
        KeyError: it refers to an object that ``numbers`` does not name.
    """

    def reference(match: re.Match[bytes]) -> bytes:
        return match[0] if match[2] is None else b"%d 0 R" % numbers[int(match[2])]

    head, between, content = body.partition(CONTENT)
    return REFERENCE.sub(reference, head) + between + content
