"""The steps of an operation, expanded: texts filled in, limits read, slots laid out."""

from __future__ import annotations

from dataclasses import dataclass, field

from traveler.definition import plan
from traveler.definition.fields import LANGUAGE, text_in
from traveler.definition.mass import expected_gross_mass, with_expected
from traveler.definition.model import CRATING, FINAL, Crating, Definition
from traveler.definition.model import Operation as WrittenOperation
from traveler.definition.plan import (
    Adjustment,
    Caution,
    Crate,
    GaugeNeed,
    Operation,
    PackingItem,
    PartLine,
    Plan,
    PlanLimits,
    Slot,
    SlotKind,
    StepKind,
    WorkOut,
)
from traveler.definition.setting import (
    VariantSetting,
    axes,
    checked_pieces,
    combinations,
    narrowed,
    slot_id,
    slot_label,
    spanned_slots,
)
from traveler.definition.steps import (
    Adjust,
    AgainStep,
    AnyStep,
    BendRule,
    CautionLine,
    FitStep,
    How,
    LearnRule,
    LevelRule,
    MeasureStep,
    OnPieces,
    PackStep,
    ScrewRule,
    Step,
    WitnessStep,
    WorkOutStep,
)
from traveler.definition.steps import (
    Step as WrittenStep,
)
from traveler.measure.limits import parse_limits
from traveler.measure.number import exact_text
from traveler.measure.quantity import parse_quantity

Coordinates = dict[str, tuple[str, str]]


def adjustment(rule: Adjust | None, setting: VariantSetting) -> Adjustment | None:
    """The rule with the numbers as written; ``values`` has the words of the definition as keys."""
    if rule is None:
        return None
    if isinstance(rule, str | dict):
        return Adjustment(rule="text", text=setting.say(rule))
    values: dict[str, str]
    if isinstance(rule, ScrewRule):
        values = {"screw": rule.screw, "effect": rule.effect, "increases": setting.say(rule.increases)}
        return Adjustment(rule="screw", text=setting.say(rule.say), values=values)
    if isinstance(rule, LevelRule):
        values = {"level": rule.level, "pitch": rule.pitch}
        values |= {"raises": setting.say(rule.raises)} if rule.raises else {}
        values |= {"fixed": rule.fixed} if rule.fixed else {}
        return Adjustment(
            rule="level", text=setting.say(rule.say), values=values, places=sorted_places(rule.places)
        )
    if isinstance(rule, LearnRule):
        return Adjustment(rule="learn", text=setting.say(rule.say), values={"by": rule.by} if rule.by else {})
    assert isinstance(rule, BendRule)  # noqa: S101 - the five rules of the model
    return Adjustment(rule="bend", text=setting.say(rule.say), values={"bend": rule.bend})


def sorted_places(places: Coordinates) -> Coordinates:
    """The places by name, numbers by value: the order in the file has no meaning and is not kept."""
    return dict(
        sorted(places.items(), key=lambda item: (len(item[0]) if item[0].isdecimal() else 0, item[0]))
    )


def how_in_plan(how: How, source: plan.Step) -> WorkOut:
    """Function, check and options; a grid is turned into the coordinates of its points.

    Coordinates are keyed by the values of the positions they run along, joined by commas: ``A`` or ``2,3``.
    """
    along = ",".join(how.along) or None
    places = sorted_places(how.places) if how.places else _grid(how, source)
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
class OperationPlace:
    """The operation whose steps are expanded."""

    operation: str


@dataclass
class Expansion:
    """One expansion in progress: the setting, and the steps that have an id so far."""

    setting: VariantSetting
    expected: str | None
    checks: dict[str, plan.Step] = field(default_factory=dict)

    def steps(self, place: OperationPlace, written: tuple[Step, ...]) -> tuple[plan.Step, ...]:
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
        spanned = (*checked_pieces(every, self.setting), *axes(written.at, self.setting))
        common = self._common(name, number, written, text) | {"first_piece": first, "every": every}
        if isinstance(written, WorkOutStep):
            return self._worked(name, text, written, common)
        if isinstance(written, PackStep):
            packing = self._packing(name)
            slots = tuple(
                Slot(id=packing_item.slot, kind=SlotKind.PACKED, label=packing_item.item)
                for packing_item in packing
            )
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
                label=slot_label(text, where),
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
                label=slot_label(first.text, where),
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


def expand(
    definition: Definition,
    variant: str,
    digest: str,
    language: str = LANGUAGE,
    options: tuple[str, ...] = (),
    quantity: int | None = None,
) -> Plan:
    """The plan of one variant.

    ``digest`` is that of the definition. ``options`` are the ids of the options ordered. ``quantity`` is
    that of a lot: with it, a check on every n-th piece has a slot for each of these pieces.

    Raises:
        KeyError: the definition has no such variant or option; ask ``definition.variants`` first.
        Unreadable: limits or masses that are not understood; a definition without findings has none.
    """
    known = [definition.options[option] for option in options]
    setting = VariantSetting(definition, variant, language, options, quantity)
    chosen = setting.chosen
    expansion = Expansion(setting, expected_gross_mass(setting))
    operations = _operations(definition, expansion)
    checks = {step.check for operation in operations for step in operation.steps if step.check}
    return Plan(
        product=definition.product,
        title=setting.say(definition.title),
        revision=definition.revision,
        revised=definition.revised,
        change=setting.say(definition.change),
        approved_by=definition.approved_by,
        digest=digest,
        track=definition.track,
        variant=variant,
        variant_title=setting.say(chosen.title),
        mass=chosen.mass,
        gtin=chosen.gtin or definition.gtin,
        options=tuple(text_in(option.title, language) for option in known),
        language=language,
        variables=chosen.variables,
        names={name: setting.say(text) for name, text in sorted(definition.names.items())},
        operations=operations,
        crate=_crate(definition.crating, setting, expansion.expected),
        marks=definition.crating.marks if definition.crating else (),
        arrival_check=tuple(check for check in definition.arrival_check if check in checks),
    )


def _operations(definition: Definition, expansion: Expansion) -> tuple[Operation, ...]:
    operations = [_operation(operation, expansion) for operation in definition.operations]
    if definition.final_checks:
        operations.append(_final(definition, expansion))
    if definition.crating is not None:
        operations.append(_crating(definition.crating, expansion))
    return tuple(operations)


def _signature(number: str, title: str, role: str) -> Slot:
    return Slot(id=f"{number}/sign", kind=SlotKind.SIGN, label=title, role=role)


def _operation(written: WrittenOperation, expansion: Expansion) -> Operation:
    title = expansion.setting.say(written.title)
    steps = expansion.steps(OperationPlace(written.number), on_pieces(written))
    return Operation(
        number=written.number,
        title=title,
        area=expansion.setting.say(written.area),
        minutes=written.minutes,
        cautions=expansion.cautions(written.cautions),
        steps=steps,
        sign=_signature(written.number, title, written.sign),
        counts=any(step.kind == "count" for step in steps),
    )


def on_pieces(operation: WrittenOperation) -> tuple[WrittenStep, ...]:
    """The steps, with what the operation says of the first piece and of every n-th piece written to each.

    Checks up to the first hold point are made on the first piece, those after it in the run.
    """
    if operation.first_piece is None and operation.every is None:
        return operation.steps
    hold = next((n for n, step in enumerate(operation.steps) if isinstance(step, WitnessStep)), None)
    steps: list[WrittenStep] = []
    for number, step in enumerate(operation.steps):
        if not isinstance(step, OnPieces) or step.first_piece is not None or step.every is not None:
            steps.append(step)
        elif operation.first_piece and hold is not None and number < hold:
            steps.append(step.model_copy(update={"first_piece": True}))
        else:
            steps.append(step.model_copy(update={"every": operation.every}))
    return tuple(steps)


def _final(definition: Definition, expansion: Expansion) -> Operation:
    steps = expansion.steps(OperationPlace(FINAL), definition.final_checks)
    sign = _signature(FINAL, "Final checks", "inspector")
    return Operation(number=FINAL, title="Final checks", steps=steps, sign=sign)


def _crating(written: Crating, expansion: Expansion) -> Operation:
    steps = written.steps
    if written.packing_list and not any(isinstance(step, PackStep) for step in steps):
        steps = (*steps, PackStep(pack="Packing list"))
    return Operation(
        number=CRATING,
        title="Crating",
        area=expansion.setting.say(written.area),
        minutes=written.minutes,
        cautions=expansion.cautions(written.cautions),
        steps=expansion.steps(OperationPlace(CRATING), steps),
        sign=_signature(CRATING, "Crating", written.sign),
    )


def _crate(written: Crating | None, setting: VariantSetting, expected: str | None) -> Crate | None:
    if written is None:
        return None
    crate = written.crate
    return Crate(
        title=setting.say(crate.title),
        inside=crate.inside,
        empty_mass=crate.empty_mass,
        wood_mark=crate.wood_mark,
        gross_mass=expected,
    )
