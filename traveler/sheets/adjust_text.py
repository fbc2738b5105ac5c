"""How a check is brought in, as the sheet says it.

A sentence, or the rule spelled out for use with a pencil.
"""

from __future__ import annotations

from traveler.definition.plan import Adjustment
from traveler.sheets.vocabulary import spoken, spoken_turn
from traveler.sheets.words import Words


def adjust_text(adjust: Adjustment | None, say: Words) -> tuple[str, ...]:
    """The lines under a check that can be adjusted; empty when it cannot."""
    if adjust is None:
        return ()
    values = adjust.values
    lines = [say("Out? Note it as found, then: {what}", what=adjust.text)] if adjust.text else []
    if adjust.rule == "screw":
        lines.append(
            say("Turns = what is missing or too much ÷ {effect}.", effect=spoken_turn(values["effect"], say))
        )
        lines.append(
            say("It reads more when turned {direction}.", direction=spoken(values["increases"], say))
        )
    elif adjust.rule == "level":
        lines.append(say("One turn of a foot is {pitch}.", pitch=spoken_turn(values["pitch"], say)))
        if "raises" in values:
            lines.append(
                say("A foot rises when turned {direction}.", direction=spoken(values["raises"], say))
            )
    elif adjust.rule == "learn":
        lines.append(say("Note each adjustment between two readings; the next one is worked out from them."))
    elif adjust.rule == "bend":
        lines.append(say("Correct the bend by the difference and read again."))
    if not adjust.text:
        lines.insert(0, say("Out? Note it as found, adjust and read again."))
    return tuple(lines)
