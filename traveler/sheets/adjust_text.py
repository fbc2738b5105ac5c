"""How a check is brought in, as the sheet says it: a sentence, or the rule spelled out for use with a pencil."""

from __future__ import annotations

from traveler.definition.plan import Adjustment
from traveler.sheets.words import Words


def adjust_text(adjust: Adjustment | None, say: Words) -> tuple[str, ...]:
    """The lines under a check that can be adjusted; empty when it cannot."""
    if adjust is None:
        return ()
    values = adjust.values
    lines = [say("Out? Note it as found, then: {what}", what=adjust.text)] if adjust.text else []
    if adjust.rule == "screw" and "effect" in values:
        lines.append(say("Screw: {effect}. Turns = what is too much ÷ {effect}.", effect=values["effect"]))
        if "increases" in values:
            lines.append(say("It reads more when turned {direction}.", direction=say(values["increases"])))
    elif adjust.rule == "level":
        feet = ", ".join(adjust.places)
        lines.append(say("Level on the feet {feet}; thread pitch {pitch}.", feet=feet, pitch=values.get("pitch", "")))
    elif adjust.rule == "learn":
        lines.append(say("Note every adjustment between two readings; the next one is worked out from them."))
    elif adjust.rule == "bend":
        lines.append(say("Out? Note it as found, correct the bend and read again."))
    return tuple(lines or [say("Out? Note it as found, adjust and read again.")])
