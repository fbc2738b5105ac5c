"""Findings about people: known, with the role, here, not inspecting their own work (PER001 to PER005)."""

from __future__ import annotations

from collections.abc import Sequence

from traveler.record.entry import WITHDRAWN_BY_QUALITY, Decided, Draft, Entry, FollowedUp, Signable, Struck
from traveler.shop.settings import Settings
from traveler.verdict.authority import STANDS_IN, refusal, roles_for
from traveler.verdict.case import Case, Problem, Problems, fills
from traveler.verdict.plan_index import Phase, PlannedSlot

REFUSING = frozenset({"PER001", "PER002", "PER003", "PER004"})
"""Problems because of which an entry does not fill its slot."""

PHASE_ACTION = {Phase.BUILD: "record", Phase.FINAL: "inspect", Phase.CRATING: "pack"}
"""Part of the work → the action of writing into its slots."""

KIND_ACTION = {
    "issued": "issue", "stopped": "stop", "noted": "note", "photographed": "note", "complained": "complain",
    "reprinted": "reprint", "adjusted": "record", "counted": "record", "released": "release",
    "crated": "crate", "placed": "place", "shipped": "ship",
}  # fmt: skip
"""Kind of entry → the action it is, where its slot does not tell."""


def person_problems(case: Case) -> Problems:
    """Everything wrong with who wrote the entries that count."""
    gathered = Problems()
    known: dict[tuple[object, ...], Problem | None] = {}
    planned_slots = case.index.slots
    for entry in case.standing:
        planned = planned_slots.get(entry.slot) if entry.slot is not None else None
        kind = entry.body.kind
        where = (planned.operation.number, planned.role) if planned is not None else None
        absent = entry.body.instead_of if isinstance(entry.body, Signable) else None
        key: tuple[object, ...] = (entry.by, kind, where, case.day_of(entry), absent)
        if kind in ("struck", "decided", "followed_up"):
            key = (entry.seq,)
        if key not in known:
            known[key] = _problem(case, entry, planned)
        if (problem := known[key]) is not None:
            gathered.add(problem, entry.slot, entry.seq)
    return gathered


def roles_asked(
    entry: Draft, planned: PlannedSlot | None, entries: Sequence[Entry], settings: Settings
) -> tuple[str, tuple[str, ...] | None]:
    """What the entry is (an action, in a word or two) and the roles that may do it; None: everybody.

    ``entries`` are all of the unit; the entry may be one of them, or a draft to be written after them.
    """
    body = entry.body
    if isinstance(body, Struck):
        action = striking(entries, body, entry.by)
        return action or "strike", roles_for(action, settings) if action is not None else None
    if planned is not None and fills(planned.slot, entry):
        return _writing(planned, settings)
    if isinstance(body, Decided):
        action = decision_action(body)
    elif isinstance(body, FollowedUp):
        action = follow_up_action(body.step)
    else:
        action = KIND_ACTION.get(body.kind, "record")
    return action, roles_for(action, settings)


def decision_action(body: Decided) -> str:
    """The action that a decision is: to use as is gives something away, the other decisions do not."""
    return "concede" if body.decision == "use_as_is" else "decide"


def follow_up_action(step: str) -> str:
    """The action that a step in a case is: closing it is another action than working on it."""
    return "close_case" if step in ("closed", "unfounded") else "follow_up"


def _writing(planned: PlannedSlot, settings: Settings) -> tuple[str, tuple[str, ...]]:
    if planned.role is not None:
        return f"{planned.slot.kind} as {planned.role}", (planned.role, *STANDS_IN.get(planned.role, ()))
    action, sign = PHASE_ACTION[planned.phase], planned.operation.sign
    signer = (sign.role,) if sign is not None and sign.role is not None else ()
    return action, tuple(dict.fromkeys((*roles_for(action, settings), *signer)))


def striking(entries: Sequence[Entry], body: Struck, by: str) -> str | None:
    """The action that a strike-out is: of what others wrote, or of what takes ``withdraw``.

    None: it needs no role, since it strikes out the person's own entry, or nothing.
    """
    target = next((entry for entry in entries if entry.seq == body.strikes), None)
    if target is None:
        return None
    if target.body.kind in WITHDRAWN_BY_QUALITY:
        return "withdraw"
    return None if target.by == by else "strike"


def _problem(case: Case, entry: Entry, planned: PlannedSlot | None) -> Problem | None:
    """What is wrong with this person writing this that day, if anything."""
    action, roles = roles_asked(entry, planned, case.entries, case.settings)
    found = refusal(action, entry.by, roles, case.day_of(entry), case.people)
    if found is None:
        return _own_work(case, entry, planned, roles)
    if found.code == "GAT002":
        return Problem("PER002", found.what, "strike it, and let somebody with the role do it")
    return Problem(found.code, found.what, found.hint or "strike it, and name who did it")


def _own_work(
    case: Case, entry: Entry, planned: PlannedSlot | None, roles: tuple[str, ...] | None
) -> Problem | None:
    """A builder of this unit who inspects or releases it. No setting allows that."""
    absent = entry.body.instead_of if isinstance(entry.body, Signable) else None
    if entry.by not in case.builders and absent not in case.builders:
        return None
    who = entry.by if entry.by in case.builders else f"{entry.by} for {absent}"
    if entry.body.kind == "released":
        what = f"{who} released the unit and signed its build"
        return Problem("PER005", what, "another person releases it")
    written = planned is not None and fills(planned.slot, entry)
    final = written and planned is not None and planned.phase is Phase.FINAL
    witness = entry.body.kind == "witnessed" and "inspector" in (roles or ())
    if not final and not witness:
        return None
    what = f"{who} inspects a unit whose build {absent if entry.by not in case.builders else entry.by} signed"
    return Problem("PER004", what, "another person inspects it")
