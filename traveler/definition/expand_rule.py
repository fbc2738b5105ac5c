"""Adjust rules and worked-out values as the plan holds them: numbers as written, coordinates by name."""

from __future__ import annotations

from traveler.definition import plan
from traveler.definition.plan import Adjustment, WorkOut
from traveler.definition.rules import Adjust, Bend, How, Learn, Level, Screw
from traveler.definition.setting import Setting
from traveler.definition.slots import combinations
from traveler.measure.number import exact_text
from traveler.measure.quantity import parse_quantity

Coordinates = dict[str, tuple[str, str]]


def adjustment(rule: Adjust | None, setting: Setting) -> Adjustment | None:
    """The rule with the numbers as written; ``values`` has the words of the definition as keys."""
    if rule is None:
        return None
    if isinstance(rule, str | dict):
        return Adjustment(rule="text", text=setting.say(rule))
    values: dict[str, str]
    if isinstance(rule, Screw):
        values = {"screw": rule.screw, "effect": rule.effect, "increases": setting.say(rule.increases)}
        return Adjustment(rule="screw", text=setting.say(rule.say), values=values)
    if isinstance(rule, Level):
        values = {"level": rule.level, "pitch": rule.pitch}
        values |= {"raises": setting.say(rule.raises)} if rule.raises else {}
        values |= {"fixed": rule.fixed} if rule.fixed else {}
        return Adjustment(
            rule="level", text=setting.say(rule.say), values=values, places=in_order(rule.places)
        )
    if isinstance(rule, Learn):
        return Adjustment(rule="learn", text=setting.say(rule.say), values={"by": rule.by} if rule.by else {})
    assert isinstance(rule, Bend)  # noqa: S101 - the five rules of the model
    return Adjustment(rule="bend", text=setting.say(rule.say), values={"bend": rule.bend})


def in_order(places: Coordinates) -> Coordinates:
    """The places by name, numbers by value: the order in the file has no meaning and is not kept."""
    return dict(
        sorted(places.items(), key=lambda item: (len(item[0]) if item[0].isdecimal() else 0, item[0]))
    )


def how_in_plan(how: How, source: plan.Step) -> WorkOut:
    """Function, check and options; a grid is turned into the coordinates of its points.

    Coordinates are keyed by the values of the positions they run along, joined by commas: ``A`` or ``2,3``.
    """
    along = ",".join(how.along) or None
    places = in_order(how.places) if how.places else _grid(how, source)
    return WorkOut(
        function=how.function, check=how.check, along=along, options=how.options, coordinates=places
    )


def _grid(how: How, source: plan.Step) -> Coordinates:
    """Points of a grid: the first position runs along x, the second along y, each with its spacing."""
    if not how.grid:
        return {}
    spanned = tuple(axis for axis in source.axes if axis.name in how.grid)
    steps = {name: parse_quantity(spacing, "mm") for name, spacing in how.grid.items()}
    points: Coordinates = {}
    for where in combinations(spanned):
        along = [
            (axis.values.index(value), steps[name])
            for axis, (name, value) in zip(spanned, where, strict=True)
        ]
        texts = [f"{exact_text(number * step.value, step.decimals)} {step.unit}" for number, step in along]
        key = ",".join(value for _, value in where)
        points[key] = (texts[0], texts[1] if len(texts) > 1 else "0 mm")
    return points
