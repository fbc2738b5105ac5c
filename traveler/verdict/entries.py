"""Findings about entries as such: do they name a slot of the plan, and do they fit it (ENT001 to ENT004)."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches

from traveler.definition.plan import SlotKind
from traveler.finding import Finding
from traveler.record.entry import Entry, Struck
from traveler.verdict.case import BESIDE, FITS, Case
from traveler.verdict.counting import UNSTRIKABLE

NEEDS_NO_SLOT = BESIDE | {"issued", "released", "crated", "placed", "shipped", "reprinted", "counted"}
"""Kinds that may speak of the whole unit."""


def check_slots(case: Case) -> Iterator[Finding]:
    """Entries for slots the plan does not have, and entries of a kind the slot does not take."""
    spots = case.planned.spots
    for entry in case.standing:
        if entry.slot is None:
            if entry.body.kind not in NEEDS_NO_SLOT:
                yield case.say(
                    "ENT001", f"{entry.body.kind} names no slot", entry=entry.seq, hint="say where it belongs"
                )
            continue
        spot = spots.get(entry.slot)
        if spot is None:
            yield _no_such(case, entry, entry.slot)
        elif entry.body.kind not in BESIDE and FITS.get(spot.slot.kind) != entry.body.kind:
            what = f"{entry.body.kind} where {_asked(spot.slot.kind)}"
            yield case.say(
                "ENT002", what, slot=entry.slot, entry=entry.seq, hint="strike it, and record what is asked"
            )


def _asked(kind: SlotKind) -> str:
    return f"{FITS[kind]} is asked" if kind in FITS else "the tool works the value out"


def _no_such(case: Case, entry: Entry, slot: str) -> Finding:
    close = get_close_matches(slot[:80], case.planned.spots, n=1)
    hint = f"did you mean {close[0]}?" if close else "slots are listed by 'traveler blank'"
    what = f"revision {case.plan.revision} of {case.plan.product} has no slot {slot}"
    return case.say("ENT001", what, slot=slot, entry=entry.seq, hint=hint)


def check_strikes(case: Case) -> Iterator[Finding]:
    """Strike-outs of nothing, and of what a strike-out cannot take back."""
    strikes = case.of_kind("struck")
    kinds = {one.seq: one.body.kind for one in case.entries} if strikes else {}
    for entry in strikes:
        body = entry.body
        if not isinstance(body, Struck):
            continue
        if body.strikes >= entry.seq or body.strikes not in kinds:
            what = f"there is no entry #{body.strikes} before it"
            yield case.say(
                "ENT004", what, slot=entry.slot, entry=entry.seq, hint="name the number of the entry meant"
            )
        elif kinds[body.strikes] in UNSTRIKABLE:
            what = f"#{body.strikes} is '{kinds[body.strikes]}' and stays"
            hint = "a stop is closed by a decision ('no_fault' if there was none)"
            yield case.say("ENT003", what, slot=entry.slot, entry=entry.seq, hint=hint)
