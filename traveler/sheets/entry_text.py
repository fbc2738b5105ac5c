"""What an entry says, in the language of the sheet. Values and remarks stay as they were written."""

from __future__ import annotations

from traveler.record.entry import (
    Adjusted,
    Body,
    Complained,
    Confirmed,
    Counted,
    Crated,
    Decided,
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
from traveler.sheets.words import Words, sheet_name


def entry_text(body: Body, say: Words) -> str:
    """The content of an entry in one sentence."""
    plain = {
        "ticked": say("done"),
        "signed": say("signed"),
        "witnessed": say("hold point signed"),
        "packed": say("packed"),
    }
    text = plain.get(body.kind) or _of_work(body, say) or _of_life(body, say) or body.kind
    return _joined(text, *_signed(body, say)) if isinstance(body, Signable) else text


def _signed(body: Signable, say: Words) -> tuple[str, str]:
    """For whom somebody stood in, and that their PIN was checked."""
    absent = say("instead of {person}", person=body.instead_of) if body.instead_of is not None else ""
    return absent, say("PIN checked") if body.pin_checked else ""


def _of_work(body: Body, say: Words) -> str:
    match body:
        case Read():
            gauge = say("with {gauge}", gauge=body.gauge) if body.gauge else ""
            found = say("as found") if body.as_found else ""
            return _joined(say("read {value}", value=body.with_unit), gauge, found)
        case Confirmed(yes=yes):
            return say("confirmed") if yes else say("not confirmed")
        case Fitted(value=value, number=number, trace=trace):
            word = say("lot") if trace == "lot" else ""
            return say("fitted {part}", part=_joined(number or "", word, value, by=" "))
        case Counted(good=good, rework=rework, scrap=scrap):
            return say("{good} good, {rework} rework, {scrap} scrap", good=good, rework=rework, scrap=scrap)
        case Photographed(name=name, file=file, text=text):
            picture = say("photograph {name}", name=name or "").strip()
            return _joined(picture, text or "", f"SHA-256 {file}" if file else "")
        case Adjusted():
            return _adjusted(body, say)
        case _:
            return ""


def _adjusted(body: Adjusted, say: Words) -> str:
    followed = {None: "", True: say("followed"), False: say("not followed")}[body.followed]
    advised = say("advised: {advice}", advice=body.advised) if body.advised else ""
    return _joined(say("adjusted: {what}", what=body.done), body.amount or "", advised, followed)


def _of_life(body: Body, say: Words) -> str:
    match body:
        case Issued(revision=revision, variant=variant, order=order, quantity=quantity):
            text = say("issued, variant {variant}, revision {revision}", variant=variant, revision=revision)
            ordered = say("order {order}", order=order) if order else ""
            pieces = say("quantity {count}", count=quantity) if quantity is not None else ""
            return _joined(text, ordered, pieces)
        case Stopped(what=what):
            return say("stopped: {what}", what=what)
        case Decided():
            return _joined(say("decided on #{stop}", stop=body.stop), decision(body, say))
        case Struck(strikes=strikes, reason=reason):
            return say("struck out #{seq}: {reason}", seq=strikes, reason=reason)
        case Released(count=count, head=head):
            return say("released after {count} entries, last link {head}", count=count, head=head)
        case Noted(text=text, name=name, file=file):
            return _joined(text, name or "", f"SHA-256 {file}" if file else "")
        case _:
            return _of_crate(body, say)


def _of_crate(body: Body, say: Words) -> str:
    match body:
        case Crated(gross_mass=mass):
            return _joined(say("crated"), mass or "")
        case Placed(place=place):
            return say("placed: {place}", place=place)
        case Shipped(customer=customer, carrier=carrier, reference=reference):
            return _joined(say("shipped to {customer}", customer=customer), carrier or "", reference or "")
        case Complained(text=text, check=check, reading=reading):
            found = (
                say("found {value} at {slot}", value=row.written, slot=row.slot) for row in body.readings
            )
            photos = say("photographs: {count}", count=len(body.photos)) if body.photos else ""
            what = say("complaint: {what}", what=text)
            return _joined(what, *body.symptoms, check or "", reading or "", *found, photos)
        case Reprinted(sheet=sheet, copy_number=number):
            return say("reprinted: {sheet}, copy {number}", sheet=sheet_name(sheet, say), number=number)
        case FollowedUp(case=case, step=step, text=text, due=due):
            taken = say("case #{case}, {step}: {what}", case=case, step=case_step(step, say), what=text)
            return _joined(taken, say("effect to be checked by {day}", day=due) if due else "")
        case _:
            return ""


def case_step(step: str, say: Words) -> str:
    """A step in the case of a complaint."""
    return {
        "contained": say("contained"),
        "cause": say("cause"),
        "action": say("action"),
        "effective": say("effective"),
        "not_effective": say("not effective"),
        "closed": say("closed"),
        "unfounded": say("unfounded"),
        "reopened": say("reopened"),
    }[step]


def decision(body: Decided, say: Words) -> str:
    """A decision on a stop, with its concession and what was said of it."""
    word = {
        "rework": say("rework"),
        "repair": say("repair"),
        "use_as_is": say("use as is"),
        "scrap": say("scrap"),
        "return_to_supplier": say("return to supplier"),
        "no_fault": say("no fault"),
    }[body.decision]
    concession = say("concession {number}", number=body.concession) if body.concession else ""
    slots = ", ".join(body.measure_again)
    again = say("to be re-measured: {slots}", slots=slots) if slots else ""
    return _joined(word, concession, body.text, again)


def state_word(state: str, say: Words) -> str:
    """The state of a unit."""
    return {
        "issued": say("issued"),
        "building": say("building"),
        "inspection": say("inspection"),
        "stopped": say("stopped"),
        "released": say("released"),
        "crated": say("crated"),
        "in stock": say("in stock"),
        "shipped": say("shipped"),
        "scrapped": say("scrapped"),
    }.get(state, state)


def _joined(*parts: str, by: str = ", ") -> str:
    return by.join(part for part in parts if part)
