"""Appending entries to a unit, and noting the state they bring it into, in one transaction."""

from __future__ import annotations

from collections.abc import Sequence

from traveler.definition.plan import Plan
from traveler.jobs.office import Office
from traveler.jobs.standing_in import for_the_absent
from traveler.record.entry import Draft, Entry
from traveler.record.transaction import Transaction
from traveler.verdict.state import state_after


def write(
    office: Office, work: Transaction, drafts: Sequence[Draft], before: Sequence[Entry], plan: Plan
) -> tuple[Entry, ...]:
    """Appends drafts of one unit after the entries ``before``; returns all its entries, its state noted.

    Where somebody signs in a role they hold for somebody else, the entry says for whom.
    """
    kept = work.append_all(for_the_absent(office.shop, drafts, before, plan), office.now)
    entries = (*before, *kept)
    if kept:
        work.set_state(kept[0].unit, str(state_after(entries, plan)))
    return entries
