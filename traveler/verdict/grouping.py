"""Saying one thing once: many slots with the same trouble become one finding that lists them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from traveler.finding import Finding
from traveler.verdict.case import Case

_LISTED = 6


def spots(slots: Sequence[str], *, total: int | None = None) -> str:
    """Slots in one line, by step: ``30-2 (spindle=1,end=near; spindle=1,end=far)``; long lists are cut.

    ``total``: how many slots the only step has; when all of them are meant, they are counted, not listed.
    """
    by_step: dict[str, list[str]] = {}
    for slot in dict.fromkeys(slots):
        step, _, position = slot.partition("/")
        by_step.setdefault(step, []).append(position)
    parts = [
        _step(step, positions, total if len(by_step) == 1 else None) for step, positions in by_step.items()
    ]
    return _cut(parts, ", ")


def _step(step: str, positions: list[str], total: int | None) -> str:
    named = [one for one in positions if one]
    if not named:
        return step
    if total is not None and len(named) == total > 1:
        return f"{step} (all {total} positions)"
    return f"{step} ({_cut(named, '; ')})"


def _cut(parts: list[str], between: str) -> str:
    if len(parts) <= _LISTED:
        return between.join(parts)
    return f"{between.join(parts[: _LISTED - 1])}{between}and {len(parts) - _LISTED + 1} more"


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is wrong, before it is known where: code, sentence, hint."""

    code: str
    what: str
    hint: str = ""


@dataclass(slots=True)
class Gathered:
    """Troubles with the slots and entries they were met at."""

    met: dict[Trouble, list[tuple[str | None, int | None]]] = field(default_factory=dict)

    def add(self, trouble: Trouble, slot: str | None, entry: int | None) -> None:
        """The trouble was met once more."""
        self.met.setdefault(trouble, []).append((slot, entry))

    def slots(self, codes: Iterable[str]) -> set[str]:
        """The slots at which troubles of these codes were met."""
        wanted = frozenset(codes)
        return {slot for trouble, at in self.met.items() if trouble.code in wanted for slot, _ in at if slot}

    def findings(self, case: Case) -> Iterator[Finding]:
        """One finding per trouble, at the first place where it was met, listing the others."""
        for trouble, met in self.met.items():
            slot, entry = met[0]
            named = [one for one, _ in met if one is not None]
            where = f" (at {spots(named)})" if len(set(named)) > 1 else ""
            if not named and len(met) > 1:
                where = f" (entries {_cut([f'#{seq}' for _, seq in met], ', ')})"
            yield case.say(trouble.code, trouble.what + where, slot=slot, entry=entry, hint=trouble.hint)
