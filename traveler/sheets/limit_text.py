"""Limits as they stand on a sheet: what was specified, the range it means, what to accept when guarded."""

from __future__ import annotations

import re
from dataclasses import dataclass

from traveler.definition.plan import PlanLimits
from traveler.sheets.vocabulary import spoken_limits
from traveler.sheets.words import Words

PLAIN_NUMBER = re.compile(r"-?\d+(\.\d+)?")
RANGE = re.compile(r"\bto\b|^\s*(min|max)\b")


@dataclass(frozen=True, slots=True)
class LimitView:
    """``text`` is printed bold; ``range`` (may be empty) follows; ``accept`` replaces it when guarded."""

    text: str
    range: str
    accept: str
    unit: str


def limit_view(limits: PlanLimits, acceptance: str | None, say: Words) -> LimitView:
    """The limits of a check beside its box."""
    accept = say("accept {limits}", limits=spoken_limits(acceptance, say)) if acceptance else ""
    return LimitView(
        spoken_limits(limits.text, say), "" if accept else spelled_range(limits, say), accept, limits.unit
    )


def spelled_range(limits: PlanLimits, say: Words) -> str:
    """``22.5 to 25.5`` for limits written another way (``24 ± 1.5``, ``25 H7``).

    Nobody should reckon at the bench.
    """
    if RANGE.search(limits.text) or limits.lower is None or limits.upper is None:
        return ""
    lower, upper = (padded(number, limits.decimals) for number in (limits.lower, limits.upper))
    return say("{lower} to {upper}", lower=lower, upper=upper)


def padded(number: str, decimals: int) -> str:
    """A decimal number with at least so many decimals and a true minus sign; fractions stay as they are."""
    if not PLAIN_NUMBER.fullmatch(number):
        return number
    whole, _, part = number.partition(".")
    digits = part.ljust(decimals, "0")
    whole = whole.replace("-", "−")
    return f"{whole}.{digits}" if digits else whole
