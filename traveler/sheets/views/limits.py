"""Limits as they stand on a sheet: as specified, the range, what to accept, how to adjust."""

from __future__ import annotations

import re
from dataclasses import dataclass

from traveler.definition.plan import Adjustment, PlanLimits
from traveler.measure.limits import parse_limits
from traveler.measure.number import Unreadable
from traveler.measure.quantity import parse_quantity
from traveler.sheets.words import Words, spoken_limits, spoken_turn, translated

PLAIN_NUMBER = re.compile(r"-?\d+(\.\d+)?")


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
        spoken_limits(limits.text, say),
        "" if accept else spelled_range(limits, say),
        accept,
        written_unit(limits),
    )


def written_unit(limits: PlanLimits) -> str:
    """The unit as the definition wrote it: ``1/min`` stays ``1/min``, though readings are kept in ``rpm``.

    >>> written_unit(PlanLimits(text="240 ± 10 1/min", unit="rpm"))
    '1/min'
    """
    words = limits.text.split()
    if limits.unit in words:
        return limits.unit
    return next((word for word in words if _means(word, limits.unit)), limits.unit)


def _means(word: str, unit: str) -> bool:
    if PLAIN_NUMBER.fullmatch(word):
        return False
    try:
        return parse_quantity(f"1 {word}").unit == unit
    except Unreadable:
        return False


def spelled_range(limits: PlanLimits, say: Words) -> str:
    """The range that limits mean, where they are written another way; nobody should calculate at the bench.

    ``22.5 to 25.5`` for ``24 ± 1.5``, ``3/16 to 5/16`` for ``1/4 ± 1/16``; the same numbers as on the screen.
    """
    read = parse_limits(limits.text)
    if read.width is None or " to " in read.text:
        return ""
    lower, upper = (bound.replace("-", "−") for bound in read.bound_texts())
    return say("{lower} to {upper}", lower=lower, upper=upper)


def padded(number: str, decimals: int) -> str:
    """A decimal number with at least so many decimals and a true minus sign; fractions stay as they are."""
    if not PLAIN_NUMBER.fullmatch(number):
        return number
    whole, _, part = number.partition(".")
    digits = part.ljust(decimals, "0")
    whole = whole.replace("-", "−")
    return f"{whole}.{digits}" if digits else whole


def adjust_text(adjust: Adjustment | None, say: Words) -> tuple[str, ...]:
    """The lines under a check that can be adjusted; empty when it cannot."""
    if adjust is None:
        return ()
    values = adjust.values
    lines = []
    if adjust.text:
        lines = [say("If outside limits: write the value as found, then: {what}", what=adjust.text)]
    if adjust.rule == "screw":
        lines.append(say("Turns = (target − reading) ÷ {effect}.", effect=spoken_turn(values["effect"], say)))
        lines.append(
            say("The reading rises when turned {direction}.", direction=translated(values["increases"], say))
        )
    elif adjust.rule == "level":
        lines.append(say("One turn of a foot is {pitch}.", pitch=spoken_turn(values["pitch"], say)))
        if "raises" in values:
            lines.append(
                say("A foot rises when turned {direction}.", direction=translated(values["raises"], say))
            )
    elif adjust.rule == "learn":
        lines.append(
            say(
                "Write down each adjustment between two readings. The tool calculates the next one from them."
            )
        )
    elif adjust.rule == "bend":
        lines.append(say("Correct the bend by the difference and measure again."))
    if not adjust.text:
        lines.insert(0, say("If outside limits: write the value as found, adjust, measure again."))
    return tuple(lines)
