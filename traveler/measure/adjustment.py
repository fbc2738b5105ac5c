"""Advice on adjusting: how far to turn what, and which way, so that a check comes in.

Rules as a definition writes them (``adjust``): a sentence, one screw with a known effect, an effect
learned from readings, levelling feet, a bend with a gain. Advice is advice: whoever adjusts decides, and
the record says whether it was followed. All numbers are exact; turns are rounded to what a hand can do.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import get_close_matches

from traveler.measure.advice import Advice, Foot, inside
from traveler.measure.bounds import Limits
from traveler.measure.learn_advice import Trial, learn_advice
from traveler.measure.level_advice import level_advice
from traveler.measure.quantity import Quantity
from traveler.measure.rule_values import in_unit
from traveler.measure.screw import bend_advice, screw_advice
from traveler.measure.unreadable import Unreadable

__all__ = ["RULES", "Advice", "Foot", "Trial", "advise"]

RULES = ("text", "screw", "level", "learn", "bend")


def advise(
    rule: str,
    values: Mapping[str, str],
    limits: Limits,
    history: Sequence[Trial] = (),
    *,
    text: str = "",
    places: Mapping[str, tuple[str, str]] | None = None,
    feet: Mapping[str, Quantity] | None = None,
) -> Advice:
    """What to adjust so that the last reading comes within the limits.

    Args:
        rule: one of ``RULES``.
        values: the rule's numbers as written, each with its unit (``docs/geometry.md``).
        limits: what the reading must meet (the acceptance limits, where a guard band applies).
        history: the readings of this slot in order, with what was adjusted between them.
        text: the sentence of a ``text`` rule.
        places: for ``level``: the coordinates of the feet.
        feet: for ``level``: the last height read at each foot.

    Raises:
        Unreadable: ADJ001 unknown rule; ADJ002 a value is missing; ADJ003 a value or reading of a wrong
            dimension; ADJ004 no reading; ADJ005 feet that fix no plane; ADJ006 a noted adjustment that is not
            understood; ADJ007 limits without a bound; WRK006 a coordinate that is no length.
    """
    if rule not in RULES:
        near = get_close_matches(rule, RULES, n=1)
        hint = f"did you mean {near[0]!r}?" if near else f"there are {', '.join(RULES)}"
        raise Unreadable("ADJ001", f"there is no adjust rule {rule!r}", hint)
    if rule == "level":
        return level_advice(values, limits, places or {}, feet or {})
    if not history:
        raise Unreadable("ADJ004", "there is no reading to adjust from", "read the check first")
    reading = in_unit(history[-1].reading, limits.unit)
    if inside(limits, reading.value):
        why = f"{reading.written} is in {limits.describe()}"
        return Advice("leave it as it is", needed=False, expected=reading, reason=why)
    if rule == "text":
        return Advice(text)
    if rule == "screw":
        return screw_advice(values, limits, reading)
    if rule == "bend":
        return bend_advice(values, limits, reading)
    return learn_advice(values, limits, history)
