"""The history of a unit: what each entry says, which are struck out, and where the unit is now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import ClassVar

from traveler.definition.plan import Plan
from traveler.record.entry import (
    Adjusted,
    Body,
    Complained,
    Confirmed,
    Counted,
    Crated,
    Decided,
    Entry,
    Fitted,
    FollowedUp,
    Issued,
    Noted,
    Photographed,
    Placed,
    Read,
    Released,
    Reprinted,
    Shipped,
    Signable,
    Stopped,
    Struck,
    done_order,
    recorded_late,
    standing_entries,
    struck_by,
)
from traveler.record.records import Unit
from traveler.result import Result
from traveler.shop.settings import Settings

STANDING_STILL = ("stopped", "scrapped")
"""States that do not tell where the unit is: it was stopped, or given up, wherever it had got to."""


def whereabouts(state: str, entries: Sequence[Entry]) -> str:
    """The unit's state with what a person needs to find it: the place in stock, or customer and day.

    ``entries`` are all of the unit's, struck ones too. The day is that of the shop's zone when it shipped.
    """
    last = _last_move(entries)
    if last is None:
        return state
    shipped = isinstance(last.body, Shipped)
    if state in STANDING_STILL:
        return f"{state}, {_said(last)}"
    return _said(last) if state == ("shipped" if shipped else "in stock") else state


def with_customer(state: str, entries: Sequence[Entry]) -> Entry | None:
    """The shipment by which a customer has the unit; None: it is here.

    A unit that is stopped or scrapped after it was shipped is still with the customer; one that is worked on
    again is not.
    """
    last = _last_move(entries)
    gone = state == "shipped" or state in STANDING_STILL
    return last if gone and last is not None and isinstance(last.body, Shipped) else None


def _last_move(entries: Sequence[Entry]) -> Entry | None:
    standing = standing_entries(entries)
    return next((entry for entry in reversed(standing) if isinstance(entry.body, Placed | Shipped)), None)


def _said(entry: Entry) -> str:
    body = entry.body
    if isinstance(body, Shipped):
        return f"shipped to {body.customer} on {_day(entry)}"
    return f"in stock at {body.place}" if isinstance(body, Placed) else ""


def _day(entry: Entry) -> str:
    from zoneinfo import ZoneInfo

    return entry.at.astimezone(ZoneInfo(entry.zone or "UTC")).date().isoformat()


_PLAIN = {
    "ticked": "done",
    "signed": "signed",
    "witnessed": "hold point witnessed",
    "packed": "packed",
}

FOLLOW_UP = {
    "contained": "contained", "cause": "cause found", "action": "action taken",
    "effective": "action found effective", "not_effective": "action found not effective",
    "closed": "case closed", "unfounded": "closed as unfounded", "reopened": "case opened again",
}  # fmt: skip
"""Step of a case → what it is called when told."""


def entry_text(body: Body) -> str:
    """The content of an entry in one line, values as they were written.

    >>> entry_text(Fitted(trace="lot", value="4711"))
    'fitted lot 4711'
    """
    told = _PLAIN.get(body.kind) or _tell_work(body) or _tell_life(body)
    return f"{told} (PIN checked)" if isinstance(body, Signable) and body.pin_checked else told


def signer(entry: Entry) -> str:
    """Who an entry is by; ``awick for qmoor`` where somebody stood in."""
    absent = entry.body.instead_of if isinstance(entry.body, Signable) else None
    return f"{entry.by} for {absent}" if absent is not None else entry.by


def _tell_work(body: Body) -> str:
    match body:
        case Read():
            return _read(body)
        case Confirmed(yes=yes):
            return "confirmed" if yes else "found not so"
        case Fitted(trace=trace, value=value, number=number):
            return f"fitted {f'{number} ' if number else ''}{trace} {value}"
        case Counted(good=good, rework=rework, scrap=scrap):
            return f"counted {good} good, {rework} rework, {scrap} scrap"
        case Photographed():
            return f"photographed{f': {body.text}' if body.text else ''}{_file(body)}"
        case Adjusted():
            return _adjusted(body)
        case _:
            return ""


def _read(body: Read) -> str:
    unit = "" if body.unit is None or body.unit_from == "written" else f" {body.unit}"
    gauge = f" with {body.gauge}" if body.gauge else ""
    return f"read {body.written}{unit}{gauge}{', as found' if body.as_found else ''}"


def _adjusted(body: Adjusted) -> str:
    amount = f", {body.amount}" if body.amount else ""
    advised = f"; advised: {body.advised}" if body.advised else ""
    followed = {None: "", True: ", followed", False: ", not followed"}[body.followed]
    return f"adjusted: {body.done}{amount}{advised}{followed}"


def _file(body: Photographed | Noted) -> str:
    """The name of the file, and the beginning of its SHA-256 where it is kept with the records."""
    parts = (body.name or "", f"kept as {body.file[:12]}" if body.file else "")
    said = ", ".join(part for part in parts if part)
    return f" ({said})" if said else ""


def _tell_life(body: Body) -> str:
    match body:
        case Issued():
            return _issued(body)
        case Stopped(what=what):
            return f"stopped: {what}"
        case Decided():
            return _decided(body)
        case Struck(strikes=strikes, reason=reason):
            return f"struck out #{strikes}: {reason}"
        case Released(head=head, count=count):
            return f"released over {count} entries, chain head {head[:12]}"
        case Crated(gross_mass=mass):
            return f"crated{f', gross {mass}' if mass else ''}"
        case Placed(place=place):
            return f"placed at {place}"
        case _:
            return _tell_customer(body)


def _decided(body: Decided) -> str:
    concession = f", concession {body.concession}" if body.concession else ""
    text = f": {body.text}" if body.text else ""
    again = f"; to be measured again: {', '.join(body.measure_again)}" if body.measure_again else ""
    return f"decided on #{body.stop}: {body.decision.replace('_', ' ')}{concession}{text}{again}"


def _issued(body: Issued) -> str:
    order = f"order {body.order}" if body.order else "for stock"
    quantity = f", quantity {body.quantity}" if body.quantity is not None else ""
    return f"issued as {body.product} {body.variant}, revision {body.revision}, {order}{quantity}"


def _tell_customer(body: Body) -> str:
    match body:
        case Shipped(customer=customer, carrier=carrier, reference=reference):
            by = f" by {carrier}" if carrier else ""
            return f"shipped to {customer}{by}{f', {reference}' if reference else ''}"
        case Complained():
            return _complained(body)
        case FollowedUp(case=case, step=step, text=text, due=due):
            by = f"; effect to be checked by {due}" if due else ""
            return f"complaint #{case}, {FOLLOW_UP[step]}: {text}{by}"
        case Noted(text=text):
            return f"{'document' if body.file else 'note'}: {text}{_file(body)}"
        case Reprinted(sheet=sheet, copy_number=number):
            return f"printed again: {sheet}, copy {number}"
        case _:
            return body.kind


def _complained(body: Complained) -> str:
    about = f" ({body.check} {body.reading or ''})".replace(" )", ")") if body.check else ""
    symptoms = f" [{', '.join(body.symptoms)}]" if body.symptoms else ""
    found = "".join(f"; found {reading.written} at {reading.slot}" for reading in body.readings)
    photos = f"; {len(body.photos)} photograph{'s' if len(body.photos) > 1 else ''}" if body.photos else ""
    return f"complaint{symptoms}: {body.text}{about}{found}{photos}"


@dataclass(frozen=True, slots=True)
class HistoryLine(Result):
    """One entry of a unit's life. ``label`` is the slot's own words; ``struck_by`` the seq that struck it.

    ``late``: how long after the work it was recorded, where the shop calls that late.
    """

    json_keys: ClassVar[str] = "*entry label text struck_by late_hours"

    entry: Entry
    label: str
    text: str
    struck_by: int | None = None
    late: timedelta | None = None

    @property
    def late_hours(self) -> int | None:
        """``late`` in whole hours."""
        return None if self.late is None else int(self.late.total_seconds() // 3600)


@dataclass(frozen=True, slots=True)
class History(Result):
    """A unit, where it is now, and its lines by the time the work was done (then by number)."""

    json_keys: ClassVar[str] = (
        "serial=unit.serial product=unit.product revision=unit.revision variant=unit.variant "
        "digest=unit.digest order=unit.order state=unit.state where count=unit.entries "
        "head=unit.head entries=lines"
    )

    unit: Unit
    where: str
    lines: tuple[HistoryLine, ...]


def history(
    unit: Unit, entries: Sequence[Entry], plan: Plan | None = None, settings: Settings | None = None
) -> History:
    """The unit's life from all its entries.

    With the plan, slots are told by their labels; with the settings, what was recorded late is marked.
    """
    struck = struck_by(entries)
    labels = {slot.id: slot.label for slot in plan.slots()} if plan is not None else {}
    lines = (
        HistoryLine(
            entry,
            labels.get(entry.slot or "", ""),
            entry_text(entry.body),
            struck.get(entry.seq),
            recorded_late(entry, settings.late_after_hours) if settings is not None else None,
        )
        for entry in sorted(entries, key=done_order)
    )
    return History(unit, whereabouts(unit.state, entries), tuple(lines))
