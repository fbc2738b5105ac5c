"""What a printed record tells in words at its end: corrections, further entries, life, who signed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from traveler.record.entry import Entry
from traveler.sheets.ledger import LIFE, Ledger
from traveler.sheets.record_boxes import is_told_later, where
from traveler.sheets.record_words import state_word, told

PIECE = 350
"""Characters of one row; a longer text goes on in the next row, so that no row is taller than a page."""


@dataclass(frozen=True, slots=True)
class Correction:
    """An entry that was struck out, and by whom, when and why."""

    number: str
    where: str
    text: str
    by: str
    when: str
    reason: str
    struck_by: str
    struck_when: str


@dataclass(frozen=True, slots=True)
class Told:
    """An entry in words. ``late``: when it was recorded, where that was late."""

    number: str
    where: str
    text: str
    by: str
    when: str
    late: str = ""


@dataclass(frozen=True, slots=True)
class Signatory:
    """Whoever wrote in the record: the id in the boxes, the name, and how many entries."""

    id: str
    name: str
    entries: str


@dataclass(frozen=True, slots=True)
class RecordEnd:
    """The last pages of a record; ``head`` is the last link of its chain."""

    corrections: tuple[Correction, ...]
    further: tuple[Told, ...]
    late: tuple[Told, ...]
    life: tuple[Told, ...]
    people: tuple[Signatory, ...]
    count: str
    head: str
    state: str


def record_end(ledger: Ledger) -> RecordEnd:
    """Everything that the boxes of the record do not show."""
    entries = ledger.entries
    struck = [one for one in _in_order(ledger) if one.seq in ledger.struck]
    further = [
        one for one in _in_order(ledger) if one.seq not in ledger.struck and is_told_later(one, ledger)
    ]
    told_before = {one.seq for one in further}
    late = [
        one
        for one in _in_order(ledger)
        if ledger.late(one) and one.seq not in told_before | ledger.struck.keys()
    ]
    life = [one for one in entries if one.body.kind in LIFE and one.seq not in ledger.struck]
    return RecordEnd(
        corrections=tuple(row for one in struck for row in _correction(one, ledger)),
        further=tuple(row for one in further for row in _told(one, ledger)),
        late=tuple(row for one in late for row in _told(one, ledger)),
        life=tuple(row for one in life for row in _told(one, ledger)),
        people=tuple(_people(ledger)),
        count=str(len(entries)),
        head=entries[-1].hash if entries else "",
        state=state_word(str(ledger.verdict.state), ledger.say),
    )


def _in_order(ledger: Ledger) -> list[Entry]:
    """The entries by their slot in the order of the work, those of the whole unit last; then by number."""
    ranks = {name: rank for rank, name in enumerate(ledger.plan.by_slot)}
    return sorted(ledger.entries, key=lambda one: (ranks.get(one.slot or "", len(ranks)), one.seq))


def _correction(entry: Entry, ledger: Ledger) -> Iterator[Correction]:
    strike = ledger.struck[entry.seq]
    texts = _pieces(told(entry.body, ledger.say))
    reasons = _pieces(getattr(strike.body, "reason", ""))
    for place in range(max(len(texts), len(reasons))):
        first = place == 0
        yield Correction(
            f"#{entry.seq}" if first else "",
            where(entry.slot, ledger) if first else "",
            texts[place] if place < len(texts) else "",
            entry.by if first else "",
            ledger.time(entry.at) if first else "",
            reasons[place] if place < len(reasons) else "",
            f"#{strike.seq} {strike.by}" if first else "",
            ledger.time(strike.at) if first else "",
        )


def _told(entry: Entry, ledger: Ledger) -> Iterator[Told]:
    for place, text in enumerate(_pieces(told(entry.body, ledger.say))):
        if place:
            yield Told("", "", text, "", "")
            continue
        late = ledger.time(entry.recorded) if ledger.late(entry) else ""
        yield Told(f"#{entry.seq}", where(entry.slot, ledger), text, entry.by, ledger.time(entry.at), late)


def _pieces(text: str) -> list[str]:
    """A text in pieces short enough for a row, cut between words where there are any."""
    pieces = []
    rest = " ".join(text.split())
    while len(rest) > PIECE:
        end = rest.rfind(" ", PIECE // 2, PIECE)
        end = end if end > 0 else PIECE
        pieces.append(rest[:end])
        rest = rest[end:].lstrip()
    return [*pieces, rest]


def _people(ledger: Ledger) -> Iterator[Signatory]:
    counted: dict[str, int] = {}
    for entry in ledger.entries:
        counted[entry.by] = counted.get(entry.by, 0) + 1
    for person in sorted(counted):
        name = ledger.name(person)
        yield Signatory(person, name if name != person else "", str(counted[person]))
