"""Nonconformances: each stop with the decisions on it, folded from the entries that count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from traveler.record.entry import Decided, Entry, Stopped

WORKED_ON = frozenset({"rework", "repair"})
"""Decisions after which the unit is built and verified again."""


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop. ``decision`` is the last one that counts, None while the stop is open."""

    entry: Entry
    what: str
    decision: Decided | None = None
    decided: Entry | None = None

    @property
    def slot(self) -> str | None:
        """The slot it stops; None: the whole unit."""
        return self.entry.slot

    @property
    def open(self) -> bool:
        """Whether nobody decided on it yet."""
        return self.decision is None

    @property
    def halts(self) -> bool:
        """Whether the whole unit stands still because of it."""
        away = self.decision is not None and self.decision.decision == "return_to_supplier"
        return self.slot is None and (self.open or away)

    @property
    def concession(self) -> bool:
        """Whether the deviation was accepted in writing."""
        return self.decision is not None and self.decision.decision == "use_as_is" and bool(self._consent())

    def _consent(self) -> str:
        return (self.decision.concession or "").strip() if self.decision else ""

    def covers(self, slot: str, seq: int) -> bool:
        """Whether a concession accepts what stood in the slot as entry ``seq`` when it was decided."""
        return self.concession and self.slot == slot and self.decided is not None and seq < self.decided.seq


def stops_of(standing: Sequence[Entry]) -> tuple[Stop, ...]:
    """Every stop among the entries that count, in order, each with its last decision."""
    decisions = {
        entry.body.stop: (entry.body, entry) for entry in standing if isinstance(entry.body, Decided)
    }  # fmt: skip
    stops = []
    for entry in standing:
        if isinstance(entry.body, Stopped):
            decision, decided = decisions.get(entry.seq, (None, None))
            if decided is not None and decided.seq < entry.seq:
                decision, decided = None, None
            stops.append(Stop(entry, entry.body.what, decision, decided))
    return tuple(stops)
