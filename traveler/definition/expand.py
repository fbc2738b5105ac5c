"""A definition expanded for one variant: the plan, with every slot.

Step numbers count the steps as they stand in the definition, whether this variant has them or not: ``30-2``
is the same step on the sheet of every variant, and a gap on a sheet means a step of another variant.
"""

from __future__ import annotations

from traveler.definition.expand_step import Expansion, Place
from traveler.definition.mass import gross_mass
from traveler.definition.model import CRATING, FINAL, Crating, Definition
from traveler.definition.model import Operation as WrittenOperation
from traveler.definition.plan import Crate, Operation, Plan, Slot, SlotKind
from traveler.definition.setting import Setting
from traveler.definition.steps import OnPieces, PackStep, WitnessStep
from traveler.definition.steps import Step as WrittenStep
from traveler.definition.words import LANGUAGE, said


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
    setting = Setting(definition, variant, language, options, quantity)
    chosen = setting.chosen
    expansion = Expansion(setting, gross_mass(setting))
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
        options=tuple(said(option.title, language) for option in known),
        language=language,
        variables=chosen.variables,
        names={name: setting.say(text) for name, text in sorted(definition.names.items())},
        operations=operations,
        crate=_crate(definition.crating, setting, expansion.expected),
        marks=definition.crating.marks if definition.crating else (),
        arrival_check=tuple(check for check in definition.arrival_check if check in checks),
    )


def _operations(definition: Definition, expansion: Expansion) -> tuple[Operation, ...]:
    operations = [_operation(one, expansion) for one in definition.operations]
    if definition.final_checks:
        operations.append(_final(definition, expansion))
    if definition.crating is not None:
        operations.append(_crating(definition.crating, expansion))
    return tuple(operations)


def _signature(number: str, title: str, role: str) -> Slot:
    return Slot(id=f"{number}/sign", kind=SlotKind.SIGN, label=title, role=role)


def _operation(written: WrittenOperation, expansion: Expansion) -> Operation:
    title = expansion.setting.say(written.title)
    steps = expansion.steps(Place(written.number), on_pieces(written))
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
    steps = expansion.steps(Place(FINAL), definition.final_checks)
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
        steps=expansion.steps(Place(CRATING), steps),
        sign=_signature(CRATING, "Crating", written.sign),
    )


def _crate(written: Crating | None, setting: Setting, expected: str | None) -> Crate | None:
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
