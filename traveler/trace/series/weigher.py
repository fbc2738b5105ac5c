"""Weighing one reading as its unit's own verdict would: by the limits and the rule it was issued with."""

from __future__ import annotations

from datetime import date, datetime, tzinfo
from fractions import Fraction

from traveler.definition.plan import Step
from traveler.measure.limits import Limits
from traveler.record.entry import Read
from traveler.shop.gauges import GaugeRegister
from traveler.shop.settings import Settings
from traveler.verdict.judging import rule_in
from traveler.verdict.outcome import SlotState
from traveler.verdict.weighing import NOT_KNOWN, Known, Rule, Unfit, weigh_reading


class Weigher:
    """What is looked up once per step, or per gauge and day, for as many units as there are."""

    def __init__(self, settings: Settings, gauges: GaugeRegister, zone: tzinfo) -> None:
        self._settings = settings
        self._gauges = gauges
        self._zone = zone
        self._rules: dict[tuple[str | None, str | None], Rule] = {}
        self._known: dict[tuple[str, date], Known] = {}

    def weigh(
        self, step: Step, limits: Limits | None, body: Read, at: datetime
    ) -> tuple[Fraction, str, SlotState] | None:
        """The value in the unit of the limits, that unit, and its state; None if it cannot be understood."""
        rule = self.rule(step)
        known = self._uncertainty(body.gauge, at) if rule.decision == "guarded" else NOT_KNOWN
        found = weigh_reading(limits.text if limits else None, body.value, body.unit, rule, known)
        if isinstance(found, Unfit):
            return None
        return found.value.value, found.value.unit, found.state

    def rule(self, step: Step) -> Rule:
        """The rule of the check, else of the shop."""
        key = (step.rule, step.rounding)
        if key not in self._rules:
            self._rules[key] = rule_in(self._settings, step)
        return self._rules[key]

    def _uncertainty(self, gauge: str | None, at: datetime) -> Known:
        if not gauge:
            return NOT_KNOWN
        key = (gauge, at.astimezone(self._zone).date())
        if key not in self._known:
            known = self._gauges.get(gauge)
            told = known.uncertainty_on(key[1]) if known is not None else None
            self._known[key] = NOT_KNOWN if told is None else Known(*told)
        return self._known[key]
