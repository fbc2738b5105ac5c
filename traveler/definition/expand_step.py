"""The steps of an operation, expanded: texts filled in, limits read, slots laid out."""

from __future__ import annotations

from dataclasses import dataclass, field

from traveler.definition import plan
from traveler.definition.expand_rule import adjustment, how_in_plan
from traveler.definition.mass import with_expected
from traveler.definition.plan import (
    Caution,
    GaugeNeed,
    PackingItem,
    PartLine,
    PlanLimits,
    Slot,
    SlotKind,
    StepKind,
)
from traveler.definition.setting import Setting
from traveler.definition.slots import axes, combinations, label, narrowed, pieces, slot_id, spanned_slots
from traveler.definition.steps import (
    AgainStep,
    AnyStep,
    CautionLine,
    FitStep,
    MeasureStep,
    OnPieces,
    PackStep,
    Step,
    WorkOutStep,
)
from traveler.measure.limits import parse_limits
from traveler.measure.number import exact_text

_SLOT = {
    "do": SlotKind.TICK,
    "fit": SlotKind.PART,
    "measure": SlotKind.READING,
    "confirm": SlotKind.CONFIRM,
    "witness": SlotKind.WITNESS,
    "photo": SlotKind.PHOTO,
    "count": SlotKind.COUNT,
}


@dataclass(frozen=True, slots=True)
class Place:
    """The operation whose steps are expanded."""

    operation: str


@dataclass
class Expansion:
    """One expansion in progress: the setting, and the steps that have an id so far."""

    setting: Setting
    expected: str | None
    checks: dict[str, plan.Step] = field(default_factory=dict)

    def steps(self, place: Place, written: tuple[Step, ...]) -> tuple[plan.Step, ...]:
        """The steps that this variant has; their numbers are those of the definition."""
        expanded = []
        for number, step in enumerate(written, start=1):
            if not self.setting.holds(step):
                continue
            done = self.step(f"{place.operation}-{number}", number, step)
            if done.check:
                self.checks[done.check] = done
            expanded.append(done)
        return tuple(expanded)

    def step(self, name: str, number: int, written: Step) -> plan.Step:
        """One step with its slots."""
        if isinstance(written, AgainStep):
            return self._again(name, number, written)
        text = self.setting.say(written.text)
        first, every = _on_pieces(written)
        spanned = (*pieces(every, self.setting), *axes(written.at, self.setting))
        common = self._common(name, number, written, text) | {"first_piece": first, "every": every}
        if isinstance(written, WorkOutStep):
            return self._worked(name, text, written, common)
        if isinstance(written, PackStep):
            packing = self._packing(name)
            slots = tuple(Slot(id=one.slot, kind=SlotKind.PACKED, label=one.item) for one in packing)
            return plan.Step(kind=StepKind.PACK, packing=packing, slots=slots, **common)
        slots = spanned_slots(name, _SLOT[written.word], text, spanned, written.by)
        return plan.Step(
            kind=StepKind(written.word), axes=spanned, slots=slots, **common, **self._own(written)
        )

    def cautions(self, written: tuple[CautionLine, ...]) -> tuple[Caution, ...]:
        """Signal words with their sentences."""
        return tuple(
            Caution(signal=signal, text=self.setting.say(text))
            for line in written
            for signal, text in line.items()
        )

    def _common(self, name: str, number: int, written: AnyStep, text: str) -> dict[str, object]:
        return {
            "id": name,
            "number": number,
            "text": text,
            "note": self.setting.say(written.note),
            "check": written.id,
            "cautions": self.cautions(written.cautions),
            "picture": written.picture,
            "role": written.by,
            "parts": tuple(
                PartLine(
                    number=self.setting.number(part.number),
                    title=self.setting.say(part.title),
                    quantity=self.setting.number(part.quantity),
                )
                for part in written.parts
            ),
        }

    def _own(self, written: Step) -> dict[str, object]:
        if isinstance(written, FitStep):
            return {"trace": written.trace, "part_number": self.setting.number(written.number)}
        if isinstance(written, MeasureStep):
            return {"gauge": self._gauge(written.gauge), **self._judged(written)}
        return {}

    def _judged(self, written: MeasureStep | WorkOutStep) -> dict[str, object]:
        return {
            "limits": self.limits(written.limits),
            "rule": written.decision_rule,
            "rounding": written.rounding,
            "adjust": adjustment(written.adjust, self.setting),
        }

    def limits(self, written: str) -> PlanLimits:
        """Limits with variables and ``expected`` replaced by numbers."""
        text = with_expected(" ".join(self.setting.number(written).split()), self.expected)
        read = parse_limits(text)
        lower, upper, nominal = (
            None if bound is None else exact_text(bound, read.decimals)
            for bound in (read.lower, read.upper, read.nominal)
        )
        return PlanLimits(
            text=text, unit=read.unit, lower=lower, upper=upper, nominal=nominal, decimals=read.decimals
        )

    def _gauge(self, kind: str | None) -> GaugeNeed | None:
        if kind is None:
            return None
        needed = self.setting.definition.gauges[kind]
        return GaugeNeed(kind=kind, title=self.setting.say(needed.title), resolution=needed.resolution)

    def _worked(self, name: str, text: str, written: WorkOutStep, common: dict[str, object]) -> plan.Step:
        source = self.checks[written.how.check]
        along = written.how.along or tuple(axis.name for axis in source.axes)
        spanned = tuple(axis for axis in source.axes if axis.name not in along)
        slots = tuple(
            Slot(
                id=slot_id(name, where),
                kind=SlotKind.WORKED,
                label=label(text, where),
                position=where,
                inputs=tuple(slot.id for slot in source.slots if set(where) <= set(slot.position)),
            )
            for where in combinations(spanned)
        )
        how = how_in_plan(written.how, source)
        return plan.Step(
            kind=StepKind.WORK_OUT, axes=spanned, slots=slots, how=how, **common, **self._judged(written)
        )

    def _again(self, name: str, number: int, written: AgainStep) -> plan.Step:
        first = self.checks[written.again]
        spanned = narrowed(first.axes, written.at, self.setting)
        slots = tuple(
            Slot(
                id=slot_id(name, where),
                kind=first.slots[0].kind,
                label=label(first.text, where),
                position=where,
                role=written.by,
                repeats=slot_id(first.id, where),
            )
            for where in combinations(spanned)
        )
        common = self._common(name, number, written, first.text)
        kept = {"kind": first.kind, "limits": first.limits, "gauge": first.gauge}
        return plan.Step(
            **kept, rule=first.rule, rounding=first.rounding, axes=spanned, slots=slots, **common
        )

    def _packing(self, name: str) -> tuple[PackingItem, ...]:
        crating = self.setting.definition.crating
        items = []
        for number, item in enumerate(crating.packing_list if crating else (), start=1):
            if not self.setting.holds(item):
                continue
            mass = self.setting.chosen.mass if item.mass == "variant" else item.mass
            line = PackingItem(
                slot=slot_id(name, (("item", str(number)),)),
                item=self.setting.say(item.item),
                quantity=self.setting.number(item.quantity),
                mass=None if mass is None else self.setting.number(mass),
                number=None if item.number is None else self.setting.number(item.number),
            )
            items.append(line)
        return tuple(items)


def _on_pieces(written: AnyStep) -> tuple[bool, int | None]:
    if not isinstance(written, OnPieces):
        return False, None
    return bool(written.first_piece), written.every
