"""What of a file is recorded already: the same result given again adds nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass

from traveler.record.entry import Draft, Entry, Read, Signable, standing
from traveler.record.kept import body_text


@dataclass(frozen=True, slots=True)
class Fresh:
    """A draft made from a file, and whether the result itself says when (``timed``) and who (``named``).

    Where it does not, time and person come from elsewhere (a signature that is added later, the moment of
    recording) and are not what tells two results apart.
    """

    draft: Draft
    timed: bool
    named: bool


def fresh(made: Iterable[Fresh], already: tuple[Entry, ...]) -> list[Fresh]:
    """Those that are not recorded yet.

    The same is: same slot, same result (a reading by value, unit, gauge and as-found mark, however it was
    written or came), and the same person and time as far as the file gives them. A result without a time is
    not answered by a struck entry, and each entry answers for one result only.
    """
    stands = {entry.seq for entry in standing(already)}
    pool: dict[Hashable, list[Entry]] = defaultdict(list)
    for entry in already:
        pool[_result(entry)].append(entry)
    new: list[Fresh] = []
    for one in made:
        known = pool[_result(one.draft)]
        same = next((entry for entry in known if _same(one, entry, stands)), None)
        if same is None:
            new.append(one)
        else:
            known.remove(same)
    return new


def _same(one: Fresh, entry: Entry, stands: set[int]) -> bool:
    when = entry.at == one.draft.at if one.timed else entry.seq in stands
    return when and (entry.by == one.draft.by or not one.named)


def _result(draft: Draft) -> Hashable:
    body = draft.body
    if isinstance(body, Read):
        return (draft.slot, body.value, body.unit, body.gauge, body.as_found)
    if isinstance(body, Signable):  # how a signature was proved is no part of the result
        body = body.model_copy(update={"pin_checked": False, "instead_of": None})
    return (draft.slot, body_text(body))
