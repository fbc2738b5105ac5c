"""Text that ``measure`` cannot read, as a finding with its place in the file."""

from __future__ import annotations

from traveler.finding import Finding, Place
from traveler.measure.unreadable import Unreadable


def problem_at(problem: Unreadable, place: Place, about: str = "") -> Finding:
    """The finding for a text that could not be read; ``about`` says for which variant."""
    return Finding(problem.code, f"{problem.what}{about}", place, hint=problem.hint)


def for_variants(variants: list[str], every: int) -> str:
    """`` (variant 4)`` where it does not hold for all of them, else nothing."""
    return f" (variant {', '.join(variants)})" if variants and len(variants) < every else ""
