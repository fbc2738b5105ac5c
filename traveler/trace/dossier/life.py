"""The life of a unit in time order, with a mark at everything that was not plain work."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from zoneinfo import ZoneInfo

from traveler.record.entry import Decided, Entry, Read
from traveler.record.unit import Unit
from traveler.trace.history import history
from traveler.verdict.case import Case

MARKED = {
    "adjusted": "adjusted",
    "stopped": "stopped",
    "complained": "complaint",
    "followed_up": "complaint",
    "struck": "strikes out",
    "reprinted": "reprint",
}
"""Kind of entry → the mark in the margin."""


@dataclass(frozen=True, slots=True)
class LifeLine:
    """One entry: day and time on the shop's clock, who, where, what, and the marks beside it."""

    seq: int
    day: str
    time: str
    by: str
    slot: str
    text: str
    marks: tuple[str, ...]
    struck: bool
    kind: str

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {
            "seq": self.seq, "day": self.day, "time": self.time, "by": self.by, "slot": self.slot,
            "text": self.text, "marks": list(self.marks), "struck": self.struck, "kind": self.kind,
        }  # fmt: skip


def life_of(unit: Unit, case: Case) -> tuple[LifeLine, ...]:
    """Every entry in the order of the work, struck ones too."""
    zone = ZoneInfo(case.settings.time_zone)
    late = timedelta(hours=case.settings.late_after_hours)
    lines = []
    for line in history(unit, case.entries, case.plan).lines:
        entry, moment = line.entry, line.entry.at.astimezone(zone)
        label = f"{line.label.rstrip('.')}: " if line.label else ""
        marks = [f"struck by #{line.struck_by}"] if line.struck_by is not None else []
        marks += _marks(entry, late)
        lines.append(
            LifeLine(
                entry.seq,
                str(moment.date()),
                f"{moment:%H:%M}",
                entry.by,
                entry.slot or "",
                label + line.text,
                tuple(marks),
                line.struck_by is not None,
                entry.body.kind,
            )
        )
    return tuple(lines)


def _marks(entry: Entry, late: timedelta) -> list[str]:
    found = [MARKED[entry.body.kind]] if entry.body.kind in MARKED else []
    if isinstance(entry.body, Decided):
        found.append("conceded" if entry.body.decision == "use_as_is" else "decided")
    if isinstance(entry.body, Read) and entry.body.as_found:
        found.append("as found")
    if entry.recorded - entry.at > late:
        hours = round((entry.recorded - entry.at) / timedelta(hours=1))
        found.append(f"late, {hours} h")
    return found
