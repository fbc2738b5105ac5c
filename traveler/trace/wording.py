"""What an entry says, as one would tell it on the phone."""

from __future__ import annotations

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
)

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


def tell(body: Body) -> str:
    """The content of an entry in one line, values as they were written.

    >>> tell(Fitted(trace="lot", value="4711"))
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
    found = "".join(f"; found {one.written} at {one.slot}" for one in body.readings)
    photos = f"; {len(body.photos)} photograph{'s' if len(body.photos) > 1 else ''}" if body.photos else ""
    return f"complaint{symptoms}: {body.text}{about}{found}{photos}"
