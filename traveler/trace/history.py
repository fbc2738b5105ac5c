"""The whole life of one unit, in time order, struck entries and all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from traveler.definition.plan import Plan
from traveler.record.entry import Entry, Struck
from traveler.record.unit import Unit
from traveler.shop.settings import Settings
from traveler.trace.whereabouts import whereabouts
from traveler.trace.wording import tell
from traveler.verdict.counting import UNSTRIKABLE, counting
from traveler.verdict.lateness import lateness


@dataclass(frozen=True, slots=True)
class Line:
    """One entry of a unit's life. ``label`` is the slot's own words; ``struck_by`` the seq that struck it.

    ``late``: how long after the work it was recorded, where the shop calls that late.
    """

    entry: Entry
    label: str
    text: str
    struck_by: int | None = None
    late: timedelta | None = None

    def as_dict(self) -> dict[str, object]:
        """The entry complete, with what is told of it, for ``--json``."""
        hours = None if self.late is None else int(self.late.total_seconds() // 3600)
        told = {"label": self.label, "text": self.text, "struck_by": self.struck_by, "late_hours": hours}
        return {**self.entry.model_dump(mode="json"), **told}


@dataclass(frozen=True, slots=True)
class History:
    """A unit, where it is now, and its lines by the time the work was done (then by number)."""

    unit: Unit
    where: str
    lines: tuple[Line, ...]

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        unit = self.unit
        return {
            "serial": unit.serial,
            "product": unit.product,
            "revision": unit.revision,
            "variant": unit.variant,
            "digest": unit.digest,
            "order": unit.order,
            "state": unit.state,
            "where": self.where,
            "count": unit.entries,
            "head": unit.head,
            "entries": [line.as_dict() for line in self.lines],
        }


def history(
    unit: Unit, entries: Sequence[Entry], plan: Plan | None = None, settings: Settings | None = None
) -> History:
    """The unit's life from all its entries.

    With the plan, slots are told by their labels; with the settings, what was recorded late is marked.
    """
    struck = struck_by(entries)
    labels = {slot.id: slot.label for slot in plan.slots()} if plan is not None else {}
    lines = (
        Line(
            entry,
            labels.get(entry.slot or "", ""),
            tell(entry.body),
            struck.get(entry.seq),
            lateness(entry, settings) if settings is not None else None,
        )
        for entry in sorted(entries, key=lambda one: (one.at, one.seq))
    )
    return History(unit, whereabouts(unit.state, entries), tuple(lines))


def struck_by(entries: Sequence[Entry]) -> Mapping[int, int]:
    """Seq of a struck entry → seq of the entry that strikes it out and itself stands."""
    firm = {one.seq for one in entries if one.body.kind in UNSTRIKABLE}
    strikes = ((one.body, one.seq) for one in counting(entries) if isinstance(one.body, Struck))
    return {body.strikes: seq for body, seq in strikes if body.strikes < seq and body.strikes not in firm}
