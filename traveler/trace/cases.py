"""Cases of complaint: each is folded from the entries of its unit, never kept as a row that changes.

A case is known by the serial of its unit and the number of the entry that opened it: ``BW4-2639-0007K/212``.
It goes ``open → contained → cause found → action taken → effectiveness checked → closed``. An action found
not effective sends it back to look for the cause; a closed case can be opened again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from zoneinfo import ZoneInfo

from traveler.record.entry import Complained, Entry, FollowedUp
from traveler.verdict.counting import counting


class CaseState(StrEnum):
    """Where a case stands."""

    OPEN = "open"
    CONTAINED = "contained"
    CAUSE_FOUND = "cause found"
    ACTION_TAKEN = "action taken"
    CHECKED = "effectiveness checked"
    CLOSED = "closed"


ORDER = tuple(CaseState)

AFTER: dict[str, CaseState] = {
    "contained": CaseState.CONTAINED,
    "cause": CaseState.CAUSE_FOUND,
    "action": CaseState.ACTION_TAKEN,
    "effective": CaseState.CHECKED,
    "not_effective": CaseState.CONTAINED,
    "closed": CaseState.CLOSED,
    "unfounded": CaseState.CLOSED,
    "reopened": CaseState.OPEN,
}
"""Step → the state it brings a case into."""

NEEDS: dict[str, tuple[CaseState, str]] = {
    "action": (CaseState.CAUSE_FOUND, "no cause is recorded"),
    "effective": (CaseState.ACTION_TAKEN, "no action is recorded"),
    "not_effective": (CaseState.ACTION_TAKEN, "no action is recorded"),
    "closed": (CaseState.CHECKED, "the effect of the action has not been checked"),
}
"""Step → the state a case has to have reached before it, and what is said otherwise."""


@dataclass(frozen=True, slots=True)
class CaseFile:
    """One case. ``steps`` are the entries after the complaint that speak of it and count, in order."""

    opened: Entry
    complaint: Complained
    steps: tuple[tuple[Entry, FollowedUp], ...]
    state: CaseState

    @property
    def name(self) -> str:
        """``SERIAL/NUMBER``."""
        return f"{self.opened.unit}/{self.opened.seq}"

    @property
    def closed(self) -> bool:
        """Whether nothing is left to be done."""
        return self.state is CaseState.CLOSED

    @property
    def causes(self) -> tuple[str, ...]:
        """What the cause lies in, as recorded, each once."""
        return tuple(dict.fromkeys(cause for _, step in self.steps for cause in step.causes))

    @property
    def due(self) -> date | None:
        """The day by which the effect of the action is to be checked; None where nothing waits for it."""
        if self.state is not CaseState.ACTION_TAKEN:
            return None
        told = [step.due for _, step in self.steps if step.step == "action" and step.due]
        return date.fromisoformat(told[-1]) if told else None

    def said(self, step: str) -> str:
        """What was last said at this step, or an empty text."""
        return next((one.text for _, one in reversed(self.steps) if one.step == step), "")

    def age(self, now: datetime, zone: ZoneInfo) -> int:
        """Days since the complaint, in the shop's zone; of a closed case, how many it took."""
        until = self.steps[-1][0].at if self.closed and self.steps else now
        return (until.astimezone(zone).date() - self.opened.at.astimezone(zone).date()).days

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {
            "case": self.name,
            "serial": self.opened.unit,
            "seq": self.opened.seq,
            "state": str(self.state),
            "opened": self.opened.at.isoformat(),
            "by": self.opened.by,
            "text": self.complaint.text,
            "symptoms": list(self.complaint.symptoms),
            "readings": [one.model_dump(mode="json") for one in self.complaint.readings],
            "photos": list(self.complaint.photos),
            "contact": self.complaint.contact,
            "causes": list(self.causes),
            "due": self.due.isoformat() if self.due else None,
            "steps": [
                {"seq": entry.seq, "at": entry.at.isoformat(), "by": entry.by, **step.model_dump(mode="json")}
                for entry, step in self.steps
            ],
        }


def cases_of(entries: Sequence[Entry]) -> tuple[CaseFile, ...]:
    """The cases of one unit from all its entries, in the order in which they were opened."""
    stand = counting(entries)
    steps: dict[int, list[tuple[Entry, FollowedUp]]] = {}
    for entry in stand:
        if isinstance(entry.body, FollowedUp):
            steps.setdefault(entry.body.case, []).append((entry, entry.body))
    return tuple(
        _case(entry, entry.body, [one for one in steps.get(entry.seq, []) if one[0].seq > entry.seq])
        for entry in stand
        if isinstance(entry.body, Complained)
    )


def _case(opened: Entry, complaint: Complained, steps: list[tuple[Entry, FollowedUp]]) -> CaseFile:
    state = CaseState.OPEN
    for _, step in steps:
        state = state_after(state, step.step)
    return CaseFile(opened, complaint, tuple(steps), state)


def state_after(state: CaseState, step: str) -> CaseState:
    """The state after a step; containing a case whose cause is known already does not set it back."""
    reached = AFTER[step]
    if step in ("contained", "cause") and ORDER.index(reached) < ORDER.index(state):
        return state
    return reached


def refused_step(state: CaseState, step: str) -> str | None:
    """Why the step cannot be taken from this state, in words; None if it can."""
    if step == "reopened":
        return None if state is CaseState.CLOSED else f"it is not closed but {state}"
    if state is CaseState.CLOSED:
        return "it is closed"
    if step in NEEDS and ORDER.index(state) < ORDER.index(NEEDS[step][0]):
        return NEEDS[step][1]
    return None
