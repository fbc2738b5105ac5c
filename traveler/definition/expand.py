"""A definition expanded for one variant: the plan, with every slot.

Step numbers count the steps as they stand in the definition, whether this variant has them or not: ``30-2``
is the same step on the sheet of every variant, and a gap on a sheet means a step of another variant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from traveler.definition import model, plan
from traveler.definition import steps as written_steps
from traveler.definition.fields import CRATING, FINAL, LANGUAGE, text_in
from traveler.definition.mass import total, with_expected
from traveler.definition.plan import Plan, Slot, SlotKind, StepKind
from traveler.definition.setting import (
    VariantSetting,
    Where,
    axes,
    checked_pieces,
    combinations,
    narrowed,
    slot_id,
    spanned_slots,
)
from traveler.definition.steps import (
    AgainStep,
    FitStep,
    JudgedStep,
    MeasureStep,
    OnPieces,
    PackStep,
    WitnessStep,
    WorkOutStep,
)
from traveler.measure.limits import parse_limits
from traveler.measure.number import exact_text, parse_number
from traveler.measure.quantity import parse_quantity

Coordinates = dict[str, tuple[str, str]]

_SLOT = {
    "do": SlotKind.TICK,
    "fit": SlotKind.PART,
    "measure": SlotKind.READING,
    "confirm": SlotKind.CONFIRM,
    "witness": SlotKind.WITNESS,
    "photo": SlotKind.PHOTO,
    "count": SlotKind.COUNT,
}


def expand(
    definition: model.Definition,
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
    chosen, crating = setting.chosen, definition.crating
    expansion = _Expansion(setting, expected_gross_mass(setting))
    operations = expansion.operations(definition)
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
        crate=expansion.crate(crating.crate) if crating else None,
        marks=crating.marks if crating else (),
        arrival_check=tuple(check for check in definition.arrival_check if check in checks),
    )


def on_pieces(operation: model.Operation) -> tuple[written_steps.Step, ...]:
    """The steps, with what the operation says of the first piece and of every n-th piece written to each.

    Checks up to the first hold point are made on the first piece, those after it in the run.
    """
    if operation.first_piece is None and operation.every is None:
        return operation.steps
    hold = next((n for n, step in enumerate(operation.steps) if isinstance(step, WitnessStep)), None)
    steps: list[written_steps.Step] = []
    for number, step in enumerate(operation.steps):
        if not isinstance(step, OnPieces) or step.first_piece is not None or step.every is not None:
            steps.append(step)
        elif operation.first_piece and hold is not None and number < hold:
            steps.append(step.model_copy(update={"first_piece": True}))
        else:
            steps.append(step.model_copy(update={"every": operation.every}))
    return tuple(steps)


@dataclass
class _Expansion:
    """An expansion in progress: the setting, the expected gross mass, the steps that have an id so far."""

    setting: VariantSetting
    expected: str | None
    checks: dict[str, plan.Step] = field(default_factory=dict)

    def operations(self, definition: model.Definition) -> tuple[plan.Operation, ...]:
        """The operations in the order of the work, final checks and crating last."""
        say = self.setting.say
        operations = [
            self.operation(written.number, say(written.title), on_pieces(written), written.sign, written)
            for written in definition.operations
        ]
        if definition.final_checks:
            steps = definition.final_checks
            operations.append(self.operation(FINAL, "Final checks", steps, "inspector", None))
        if (crating := definition.crating) is not None:
            steps = crating.steps
            if crating.packing_list and not any(isinstance(step, PackStep) for step in steps):
                steps = (*steps, PackStep(pack="Packing list"))
            operations.append(self.operation(CRATING, "Crating", steps, crating.sign, crating))
        return tuple(operations)

    def operation(
        self,
        number: str,
        title: str,
        steps: Sequence[written_steps.Step],
        role: str,
        written: model.Operation | model.Crating | None,
    ) -> plan.Operation:
        """One operation with its steps and the signature that closes it."""
        expanded = self.steps(number, steps)
        about: dict[str, Any] = {}
        if written is not None:
            about = {"area": self.setting.say(written.area), "minutes": written.minutes}
            about["cautions"] = self.cautions(written.cautions)
        return plan.Operation(
            number=number,
            title=title,
            steps=expanded,
            sign=Slot(id=f"{number}/sign", kind=SlotKind.SIGN, label=title, role=role),
            counts=any(step.kind == "count" for step in expanded),
            **about,
        )

    def steps(self, operation: str, written: Sequence[written_steps.Step]) -> tuple[plan.Step, ...]:
        """The steps that this variant has; their numbers are those of the definition."""
        expanded = []
        for number, step in enumerate(written, start=1):
            if not self.setting.holds(step):
                continue
            done = self.step(f"{operation}-{number}", number, step)
            if done.check:
                self.checks[done.check] = done
            expanded.append(done)
        return tuple(expanded)

    def step(self, name: str, number: int, written: written_steps.Step) -> plan.Step:
        """One step with its slots."""
        if isinstance(written, AgainStep):
            first = self.checks[written.again]
            return plan.Step(
                **self.common(name, number, written, first.text), **self.again(name, written, first)
            )
        text = self.setting.say(written.text)
        fields = self.common(name, number, written, text)
        if isinstance(written, OnPieces):
            fields |= {"first_piece": bool(written.first_piece), "every": written.every}
        if isinstance(written, JudgedStep):
            fields |= self.judged(written)
        if isinstance(written, WorkOutStep):
            return plan.Step(kind=StepKind.WORK_OUT, **fields, **self.worked(name, text, written))
        if isinstance(written, PackStep):
            packing = self.packing(name)
            slots = tuple(Slot(id=item.slot, kind=SlotKind.PACKED, label=item.item) for item in packing)
            return plan.Step(kind=StepKind.PACK, packing=packing, slots=slots, **fields)
        if isinstance(written, FitStep):
            fields |= {"trace": written.trace, "part_number": self.setting.number(written.number)}
        if isinstance(written, MeasureStep):
            fields["gauge"] = self.gauge(written.gauge)
        spanned = (*checked_pieces(fields.get("every"), self.setting), *axes(written.at, self.setting))
        slots = spanned_slots(name, _SLOT[written.word], text, spanned, written.by)
        return plan.Step(kind=StepKind(written.word), axes=spanned, slots=slots, **fields)

    def common(self, name: str, number: int, written: written_steps.AnyStep, text: str) -> dict[str, Any]:
        """What every step has."""
        setting = self.setting
        parts = tuple(
            plan.PartLine(
                number=setting.number(part.number),
                title=setting.say(part.title),
                quantity=setting.number(part.quantity),
            )
            for part in written.parts
        )
        return {
            "id": name,
            "number": number,
            "text": text,
            "note": setting.say(written.note),
            "check": written.id,
            "cautions": self.cautions(written.cautions),
            "picture": written.picture,
            "role": written.by,
            "parts": parts,
        }

    def cautions(self, written: Sequence[written_steps.CautionLine]) -> tuple[plan.Caution, ...]:
        """Signal words with their sentences."""
        return tuple(
            plan.Caution(signal=signal, text=self.setting.say(text))
            for line in written
            for signal, text in line.items()
        )

    def judged(self, written: JudgedStep) -> dict[str, Any]:
        """How a value is judged: limits, decision rule, rounding, and how to adjust."""
        return {
            "limits": self.limits(written.limits),
            "rule": written.decision_rule,
            "rounding": written.rounding,
            "adjust": adjustment(written.adjust, self.setting),
        }

    def limits(self, written: str) -> plan.PlanLimits:
        """Limits with variables and ``expected`` replaced by numbers."""
        text = with_expected(" ".join(self.setting.number(written).split()), self.expected)
        read = parse_limits(text)
        lower, upper, nominal = (
            None if bound is None else exact_text(bound, read.decimals)
            for bound in (read.lower, read.upper, read.nominal)
        )
        return plan.PlanLimits(
            text=text, unit=read.unit, lower=lower, upper=upper, nominal=nominal, decimals=read.decimals
        )

    def gauge(self, kind: str | None) -> plan.GaugeNeed | None:
        """The kind of gauge a check needs, if it names one."""
        if kind is None:
            return None
        needed = self.setting.definition.gauges[kind]
        return plan.GaugeNeed(kind=kind, title=self.setting.say(needed.title), resolution=needed.resolution)

    def worked(self, name: str, text: str, written: WorkOutStep) -> dict[str, Any]:
        """What a value is worked out from, with a slot for every place it is not worked out along."""
        source = self.checks[written.how.check]
        along = written.how.along or tuple(axis.name for axis in source.axes)
        spanned = tuple(axis for axis in source.axes if axis.name not in along)

        def inputs(where: Where) -> dict[str, Any]:
            return {"inputs": tuple(slot.id for slot in source.slots if set(where) <= set(slot.position))}

        slots = spanned_slots(name, SlotKind.WORKED, text, spanned, more=inputs)
        return {"axes": spanned, "slots": slots, "how": how_in_plan(written.how, source)}

    def again(self, name: str, written: AgainStep, first: plan.Step) -> dict[str, Any]:
        """A check that is repeated: its limits, and slots that name those that were read first."""
        spanned = narrowed(first.axes, written.at, self.setting)

        def repeats(where: Where) -> dict[str, Any]:
            return {"repeats": slot_id(first.id, where)}

        slots = spanned_slots(name, first.slots[0].kind, first.text, spanned, written.by, repeats)
        kept = {key: getattr(first, key) for key in ("kind", "limits", "gauge", "rule", "rounding")}
        return {**kept, "axes": spanned, "slots": slots}

    def packing(self, name: str) -> tuple[plan.PackingItem, ...]:
        """The packing list of this variant; item numbers are those of the definition."""
        crating, setting = self.setting.definition.crating, self.setting
        return tuple(
            plan.PackingItem(
                slot=slot_id(name, (("item", str(number)),)),
                item=setting.say(item.item),
                quantity=setting.number(item.quantity),
                mass=setting.mass_of(item),
                number=None if item.number is None else setting.number(item.number),
            )
            for number, item in enumerate(crating.packing_list if crating else (), start=1)
            if setting.holds(item)
        )

    def crate(self, written: model.Crate) -> plan.Crate:
        """The crate with its expected gross mass."""
        return plan.Crate(
            title=self.setting.say(written.title),
            inside=written.inside,
            empty_mass=written.empty_mass,
            wood_mark=written.wood_mark,
            gross_mass=self.expected,
        )


def expected_gross_mass(setting: VariantSetting) -> str | None:
    """What the closed crate of this variant should weigh; None if a mass is not given.

    Raises:
        Unreadable: a mass or quantity that is not understood.
    """
    crating = setting.definition.crating
    if crating is None or crating.crate.empty_mass is None:
        return None
    masses: list[tuple[Fraction, str]] = [(Fraction(1), crating.crate.empty_mass)]
    for item in crating.packing_list:
        if not setting.holds(item):
            continue
        mass = setting.mass_of(item)
        if mass is None:
            return None
        masses.append((parse_number(setting.number(item.quantity)).value, mass))
    return total(masses)


def adjustment(rule: written_steps.Adjust | None, setting: VariantSetting) -> plan.Adjustment | None:
    """The rule with the numbers as written; ``values`` has the words of the definition as keys."""
    if rule is None:
        return None
    if isinstance(rule, str | dict):
        return plan.Adjustment(rule="text", text=setting.say(rule))
    values = {
        name: setting.say(value) if name in ("increases", "raises") else value
        for name, value in rule
        if value is not None and name not in ("say", "learn", "places")
    }
    places = sorted_places(rule.places) if isinstance(rule, written_steps.LevelRule) else {}
    return plan.Adjustment(rule=rule.word, text=setting.say(rule.say), values=values, places=places)


def sorted_places(places: Coordinates) -> Coordinates:
    """The places by name, numbers by value: the order in the file has no meaning and is not kept."""
    return dict(
        sorted(places.items(), key=lambda item: (len(item[0]) if item[0].isdecimal() else 0, item[0]))
    )


def how_in_plan(how: written_steps.How, source: plan.Step) -> plan.WorkOut:
    """Function, check and options; a grid is turned into the coordinates of its points.

    Coordinates are keyed by the values of the positions they run along, joined by commas: ``A`` or ``2,3``.
    """
    along = ",".join(how.along) or None
    places = sorted_places(how.places) if how.places else _grid(how, source)
    return plan.WorkOut(
        function=how.function, check=how.check, along=along, options=how.options, coordinates=places
    )


def _grid(how: written_steps.How, source: plan.Step) -> Coordinates:
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
        points[",".join(value for _, value in where)] = (texts[0], texts[1] if len(texts) > 1 else "0 mm")
    return points
