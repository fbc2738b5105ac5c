"""A PDF file in two parts: what all units of a kind share, made once, and what is one unit's own.

The shared part comes first in the file, so that a unit's file is the shared bytes, the unit's own objects
and the table of where each object lies (ISO 32000-1, 7.5.7 and 7.5.8). Nothing of another unit is in it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from traveler.sheets.stamp_holes import QUICK, Exchange, Template, stream

HEADER = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"
TOGETHER = 200
"""Objects packed into one object stream."""
ENTRY = 7
"""Bytes of an entry in the table: one for its kind, four for a place, two for an index."""
FREE, PLAIN, PACKED = 0, 1, 2


@dataclass(frozen=True, slots=True)
class SharedPart:
    """The beginning of every file of a kind, and the entries of the table for what lies in it."""

    content: bytes
    table: bytes
    root: int
    info: int
    digest: bytes

    @property
    def size(self) -> int:
        """How many object numbers are given away; the table itself gets this one."""
        return len(self.table) // ENTRY


def shared_part(
    plain: Mapping[int, bytes], streams: Mapping[int, bytes], own: int, root: int, info: int
) -> SharedPart:
    """Writes the shared objects: ``plain`` ones packed together, ``streams`` as they are.

    ``own`` is the highest object number of the units' own objects; ``root`` and ``info`` are the numbers of
    the catalogue and of the document's information (0: there is none).
    """
    packs = list(_packs(plain))
    first_pack = max((own, *plain, *streams)) + 1
    table = bytearray(ENTRY * (first_pack + len(packs)))
    table[0:ENTRY] = _entry(FREE, 0, 0xFFFF)
    content, place = [HEADER], len(HEADER)
    numbered = [*sorted(streams.items()), *((first_pack + at, body) for at, (_, body) in enumerate(packs))]
    for number, body in numbered:
        written = numbered_object(number, body)
        _enter(table, number, _entry(PLAIN, place, 0))
        content.append(written)
        place += len(written)
    for at, (members, _) in enumerate(packs):
        for index, number in enumerate(members):
            _enter(table, number, _entry(PACKED, first_pack + at, index))
    whole = b"".join(content)
    return SharedPart(whole, bytes(table), root, info, hashlib.sha256(whole).digest())


def numbered_object(number: int, body: bytes) -> bytes:
    """An object as it stands in a file."""
    return b"%d 0 obj\n%s\nendobj\n" % (number, body)


def unit_file(shared: SharedPart, own: Mapping[int, Template], exchange: Exchange) -> bytes:
    """The whole file of one unit; its identifier is a hash of its content."""
    content, place, table = [], len(shared.content), bytearray(shared.table)
    for number, template in own.items():
        written = numbered_object(number, template.filled(exchange))
        _enter(table, number, _entry(PLAIN, place, 0))
        content.append(written)
        place += len(written)
    identifier = hashlib.sha256(b"".join((shared.digest, *content))).hexdigest()[:32].encode("ascii")
    return b"".join((shared.content, *content, _table(shared, table, place, identifier)))


def _packs(plain: Mapping[int, bytes]) -> Iterator[tuple[list[int], bytes]]:
    """The members of each object stream, and the stream."""
    numbers = sorted(plain)
    for start in range(0, len(numbers), TOGETHER):
        members = numbers[start : start + TOGETHER]
        places, place = [], 0
        for number in members:
            places.append(b"%d %d" % (number, place))
            place += len(plain[number]) + 1
        index = b" ".join(places) + b"\n"
        head = b"/Type /ObjStm /N %d /First %d" % (len(members), len(index))
        yield members, stream(head, index + b"\n".join(plain[number] for number in members))


def _table(shared: SharedPart, table: bytearray, place: int, identifier: bytes) -> bytes:
    size = shared.size + 1
    table += _entry(PLAIN, place, 0)
    head = b"/Type /XRef /Size %d /W [ 1 4 2 ] /Root %d 0 R" % (size, shared.root)
    head += b" /Info %d 0 R" % shared.info if shared.info else b""
    head += b" /ID [ <%s> <%s> ]" % (identifier, identifier)
    body = stream(head, bytes(table), packed=QUICK)
    return numbered_object(size - 1, body) + b"startxref\n%d\n%%%%EOF\n" % place


def _entry(kind: int, place: int, index: int) -> bytes:
    return kind.to_bytes(1, "big") + place.to_bytes(4, "big") + index.to_bytes(2, "big")


def _enter(table: bytearray, number: int, entry: bytes) -> None:
    table[number * ENTRY : (number + 1) * ENTRY] = entry
