"""Findings about entries as such, and about what belongs to what (the codes ENT and IDN)."""

from __future__ import annotations

from collections.abc import Iterator

from traveler.definition.plan import SlotKind
from traveler.definition.serial import serial_problem
from traveler.finding import Finding
from traveler.record.entry import UNSTRIKABLE, Entry, Issued, Released, Struck
from traveler.text import did_you_mean
from traveler.verdict.case import BESIDE, FILLED_BY, Case, fills

NEEDS_NO_SLOT = BESIDE | {"issued", "released", "crated", "placed", "shipped", "reprinted", "counted"}
"""Kinds that may speak of the whole unit."""


def check_slots(case: Case) -> Iterator[Finding]:
    """Entries for slots the plan does not have, and entries of a kind the slot does not take."""
    planned_slots = case.index.slots
    for entry in case.standing:
        if entry.slot is None:
            if entry.body.kind not in NEEDS_NO_SLOT:
                yield case.finding(
                    "ENT001", f"{entry.body.kind} names no slot", entry=entry.seq, hint="say where it belongs"
                )
            continue
        planned = planned_slots.get(entry.slot)
        if planned is None:
            yield _no_such(case, entry, entry.slot)
        elif entry.body.kind not in BESIDE and not fills(planned.slot, entry):
            what = f"{entry.body.kind} where {_asked(planned.slot.kind)}"
            yield case.finding("ENT002", what, about=entry, hint="strike it, and record what is asked")


def _asked(kind: SlotKind) -> str:
    return f"{FILLED_BY[kind]} is asked" if kind in FILLED_BY else "the tool works the value out"


def _no_such(case: Case, entry: Entry, slot: str) -> Finding:
    hint = did_you_mean(slot, case.index.slots, "slots are listed by 'traveler unit blank'")
    what = f"revision {case.plan.revision} of {case.plan.product} has no slot {slot}"
    return case.finding("ENT001", what, slot=slot, entry=entry.seq, hint=hint)


def check_strikes(case: Case) -> Iterator[Finding]:
    """Strike-outs of nothing, and of what a strike-out cannot take back."""
    strikes = case.of_kind("struck")
    kinds = {entry.seq: entry.body.kind for entry in case.entries} if strikes else {}
    for entry in strikes:
        body = entry.body
        if not isinstance(body, Struck):
            continue
        if body.strikes >= entry.seq or body.strikes not in kinds:
            what = f"there is no entry #{body.strikes} before it"
            yield case.finding("ENT004", what, about=entry, hint="name the number of the entry meant")
        elif kinds[body.strikes] in UNSTRIKABLE:
            what = f"#{body.strikes} is '{kinds[body.strikes]}' and stays"
            hint = "a stop is closed by a decision ('no_fault' if there was none)"
            yield case.finding("ENT003", what, about=entry, hint=hint)


def check_identity(case: Case) -> Iterator[Finding]:
    """Whether serial, plan and entries belong together."""
    if (wrong := serial_problem(case.unit)) is not None:
        yield case.finding("IDN001", wrong.what, hint="compare it with the nameplate, character by character")
    for entry in case.entries:
        if entry.unit != case.unit:
            yield case.finding(
                "IDN004", f"entry of {entry.unit}", about=entry, hint="run traveler records verify"
            )
    issues = case.of_kind("issued")
    if not issues:
        yield case.finding("IDN005", "there is no entry of its issue", hint="issue it, or look the serial up")
    for entry in issues:
        if isinstance(entry.body, Issued):
            yield from _plan(case, entry.seq, entry.body)


def _plan(case: Case, seq: int, issued: Issued) -> Iterator[Finding]:
    plan = case.plan
    built = (issued.product, issued.revision, issued.variant)
    judged = (plan.product, plan.revision, plan.variant)
    if built != judged:
        what = f"issued as {' '.join(built)}, judged by the plan of {' '.join(judged)}"
        yield case.finding("IDN006", what, entry=seq, hint="judge it by the plan it was issued with")
    elif issued.digest != plan.digest:
        what = f"issued with definition {issued.digest[:12]}…, judged by {plan.digest[:12]}…"
        yield case.finding("IDN003", what, entry=seq, hint="judge it by the definition it was issued with")
    stored = case.facts.stored_digest
    if stored is not None and stored != issued.digest:
        what = f"issued with definition {issued.digest[:12]}…, stored under that revision is {stored[:12]}…"
        yield case.finding(
            "IDN003", what, entry=seq, hint="run traveler records verify, and compare with a backup"
        )


def check_chain(case: Case) -> Iterator[Finding]:
    """What the verification of the chain found, and releases that do not fit the entries before them."""
    yield from case.facts.chain
    by_seq = {entry.seq: entry for entry in case.entries}
    for entry in case.of_kind("released"):
        body = entry.body
        if not isinstance(body, Released):
            continue
        before = by_seq.get(entry.seq - 1)
        head = before.hash if before is not None else None
        if body.count != entry.seq - 1 or body.head != head:
            what = (
                f"the release seals {body.count} entries ending in {body.head[:12]}…; found {entry.seq - 1}"
            )
            yield case.finding(
                "IDN007", what, entry=entry.seq, hint="run traveler records verify, and compare with a backup"
            )
