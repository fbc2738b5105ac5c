"""Whose absence a signature covers: noted with the entry, since roles in the register end."""

from __future__ import annotations

from collections.abc import Sequence

from traveler.definition.plan import Plan
from traveler.record.entry import Draft, Entry, Signable
from traveler.shop.folder import Shop
from traveler.verdict.authority import standing_in
from traveler.verdict.case import zone
from traveler.verdict.persons import roles_asked
from traveler.verdict.planned import planned


def for_the_absent(
    shop: Shop, drafts: Sequence[Draft], before: Sequence[Entry], plan: Plan
) -> tuple[Draft, ...]:
    """The drafts; a signature in a role that its person holds only by delegation says instead of whom."""
    deputies = {
        one.id for one in shop.people.people if any(held.instead_of is not None for held in one.roles)
    }
    return tuple(_noted(shop, one, before, plan) if one.by in deputies else one for one in drafts)


def _noted(shop: Shop, draft: Draft, before: Sequence[Entry], plan: Plan) -> Draft:
    person = shop.people.get(draft.by)
    if person is None or not isinstance(draft.body, Signable) or draft.body.instead_of is not None:
        return draft
    spot = planned(plan).spots.get(draft.slot) if draft.slot is not None else None
    _, roles = roles_asked(draft, spot, before, shop.settings)
    day = draft.at.astimezone(zone(shop.settings.time_zone)).date()
    absent = standing_in(person, roles, day)
    if absent is None:
        return draft
    return draft.model_copy(update={"body": draft.body.model_copy(update={"instead_of": absent})})
