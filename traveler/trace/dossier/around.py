"""What stood around a unit: gauges with their calibrations on either side, people with their roles then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from traveler.record.entry import Entry, Read
from traveler.shop.gauges import Calibration, Gauge
from traveler.verdict.case import Case


@dataclass(frozen=True, slots=True)
class GaugeShown:
    """A gauge that was used: how often, when, and its calibrations on either side of that time.

    ``trouble`` says in words what is wrong, as is known now; empty where nothing is.
    """

    id: str
    title: str
    readings: int
    first: date
    last: date
    before: str
    after: str
    uncertainty: str
    trouble: str = ""

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {
            "id": self.id, "title": self.title, "readings": self.readings, "first": str(self.first),
            "last": str(self.last), "before": self.before, "after": self.after,
            "uncertainty": self.uncertainty, "trouble": self.trouble,
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class PersonShown:
    """Somebody who wrote: name, the roles held then, how many entries, which operations signed."""

    id: str
    name: str
    roles: str
    first: date
    last: date
    entries: int
    signed: tuple[str, ...]

    def as_dict(self) -> dict[str, object]:
        """For JSON."""
        return {
            "id": self.id, "name": self.name, "roles": self.roles, "first": str(self.first),
            "last": str(self.last), "entries": self.entries, "signed": list(self.signed),
        }  # fmt: skip


def gauges_of(case: Case) -> tuple[GaugeShown, ...]:
    """Every gauge that a standing reading names, by id."""
    used: dict[str, list[date]] = {}
    for entry in case.standing:
        if isinstance(entry.body, Read) and entry.body.gauge:
            used.setdefault(entry.body.gauge, []).append(case.day_of(entry))
    return tuple(_gauge(case, name, days) for name, days in sorted(used.items()))


def _gauge(case: Case, name: str, days: Sequence[date]) -> GaugeShown:
    first, last, gauge = min(days), max(days), case.gauges.get(name)
    if gauge is None:
        return GaugeShown(name, "", len(days), first, last, "", "", "", "not in the register")
    before, after = gauge.last_calibration(first), _next_after(gauge, last)
    known = gauge.uncertainty_on(last)
    return GaugeShown(
        name,
        gauge.title,
        len(days),
        first,
        last,
        _told(before) if before else "none",
        _told(after) if after else "none yet",
        f"± {known[0]} (k = {known[1]})" if known else "",
        _trouble(gauge, last, before, after),
    )


def _next_after(gauge: Gauge, day: date) -> Calibration | None:
    return min((one for one in gauge.calibrations if one.on > day), key=lambda one: one.on, default=None)


def _told(one: Calibration) -> str:
    error = f", error {one.error}" if one.error else ""
    left = "" if one.good else ", left out of tolerance"
    certificate = f", {one.certificate}" if one.certificate else ""
    return f"{one.on}: found {one.as_found}{error}{left}{certificate}"


def _trouble(gauge: Gauge, last: date, before: Calibration | None, after: Calibration | None) -> str:
    if before is None:
        return "used before its first calibration"
    due = gauge.due(last)
    said = []
    if not before.good:
        said.append(f"its calibration of {before.on} left it out of tolerance")
    elif due is not None and due < last:
        said.append(f"its calibration had run out on {due}")
    if after is not None and not after.found_in:
        error = f" ({after.error})" if after.error else ""
        said.append(f"found {after.as_found} on {after.on}{error}, after it was used here")
    return "; ".join(said)


def people_of(case: Case) -> tuple[PersonShown, ...]:
    """Everybody who wrote into the record, in the order of their first entry."""
    wrote: dict[str, list[Entry]] = {}
    for entry in case.entries:
        wrote.setdefault(entry.by, []).append(entry)
    return tuple(_person(case, by, entries) for by, entries in wrote.items())


def _person(case: Case, by: str, entries: Sequence[Entry]) -> PersonShown:
    days = [case.day_of(one) for one in entries]
    known = case.people.get(by)
    roles = dict.fromkeys(
        held.role for held in (known.roles if known else ()) if any(held.on(day) for day in set(days))
    )
    signed = (one.slot.split("/")[0] for one in entries if one.body.kind == "signed" and one.slot)
    return PersonShown(
        by,
        known.name if known is not None else "",
        ", ".join(roles) or ("no role then" if known is not None else "not among the people"),
        min(days),
        max(days),
        len(entries),
        tuple(dict.fromkeys(signed)),
    )
