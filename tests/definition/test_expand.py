"""A definition and a variant give a plan: operations, steps and slots with stable ids."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from traveler.definition.expand import expand
from traveler.definition.model import Definition, canonical_content, definition_digest, from_canonical
from traveler.definition.plan import Plan, SlotKind, StepKind

Write = Callable[..., str]
Good = Callable[[str], Definition]


def ids(plan: Plan) -> list[str]:
    return [slot.id for slot in plan.slots()]


def test_slot_ids_are_operation_step_and_positions(write: Write, good: Good) -> None:
    plan = expand(good(write()), "2", "d" * 64)
    assert ids(plan) == [
        "10-1/spindle=1,end=near",
        "10-1/spindle=1,end=far",
        "10-1/spindle=2,end=near",
        "10-1/spindle=2,end=far",
        "10/sign",
        "Q-1/spindle=1,end=near",
        "Q-1/spindle=1,end=far",
        "Q-1/spindle=2,end=near",
        "Q-1/spindle=2,end=far",
        "Q/sign",
        "C-1",
        "C-2/item=1",
        "C/sign",
    ]


def test_the_head_of_a_plan_is_that_of_the_definition(write: Write, good: Good) -> None:
    plan = expand(good(write(tail="gtin: 96385074\nchange: First issue.\n")), "3", "d" * 64)
    assert (plan.product, plan.revision, plan.revised, plan.variant) == ("lathe", "A", "2026-01-05", "3")
    assert (plan.title, plan.variant_title, plan.mass) == ("Bench lathe", "Three spindles", "22.5 kg")
    assert (plan.gtin, plan.change, plan.digest) == ("96385074", "First issue.", "d" * 64)
    assert plan.variables == {"spindles": "3"}


def test_a_check_carries_exact_limits_and_its_gauge(write: Write, good: Good) -> None:
    step = expand(good(write()), "2", "").check("runout")
    assert step is not None
    assert step.limits is not None
    assert (step.limits.text, step.limits.unit, step.limits.lower, step.limits.upper) == (
        "max 0.05 mm",
        "mm",
        None,
        "0.05",
    )
    assert step.limits.decimals == 2
    assert step.gauge is not None
    assert (step.gauge.kind, step.gauge.resolution) == ("indicator", "0.001 mm")


def test_the_expected_mass_is_worked_out_for_each_variant(write: Write, good: Good) -> None:
    definition = good(write())
    two, three = (expand(definition, variant, "") for variant in ("2", "3"))
    assert two.check("gross-mass").limits.text == "25.0 ± 0.2 kg"  # type: ignore[union-attr]
    assert three.check("gross-mass").limits.lower == "27.3"  # type: ignore[union-attr]
    assert two.crate is not None
    assert two.crate.gross_mass == "25.0 kg"


def test_a_repeat_points_at_the_slots_measured_first(write: Write, good: Good) -> None:
    final = "final_checks:\n  - again: runout\n    at: {spindle: [1]}\n"
    plan = expand(good(write(final=final)), "2", "")
    step = plan.operations[1].steps[0]
    assert [(slot.id, slot.repeats) for slot in step.slots] == [
        ("Q-1/spindle=1,end=near", "10-1/spindle=1,end=near"),
        ("Q-1/spindle=1,end=far", "10-1/spindle=1,end=far"),
    ]
    assert step.limits == plan.check("runout").limits  # type: ignore[union-attr]
    assert step.check is None
    assert step.adjust is None
    assert all(slot.repeats in plan.by_slot for slot in step.slots)


STEPS = """\
    - do: Fit {spindles} spindles of variant {variant}, {mass} in all.
      note: Use {spindles} screws.
      picture: there.svg
      cautions: [{WARNING: "{mass} falls on feet."}]
      parts: [{number: "S-{variant}", title: Screw, quantity: spindles}]
    - fit: Motor
      number: M-{variant}
      trace: serial
      only_for: ["3"]
    - measure: Run-out
      id: runout
      at: [spindle, end]
      limits: max 0.05 mm
      decision_rule: guarded
      rounding: rounding
      adjust: Turn the bush.
    - work_out: Difference
      id: taper
      how: {difference: runout, along: end}
      limits: max 0.02 mm
    - work_out: Largest of all
      how: {largest: runout}
      limits: max 0.05 mm
    - confirm: Clean.
      by: inspector
    - witness: Guards on.
      by: inspector
    - photo: Open machine.
"""


def test_every_kind_of_step_has_its_kind_of_slot(operation: Write, good: Good) -> None:
    plan = expand(good(operation(STEPS)), "3", "")
    assert [(step.id, step.kind.value, step.slots[0].kind.value) for step in plan.steps()] == [
        ("10-1", "do", "tick"),
        ("10-2", "fit", "part"),
        ("10-3", "measure", "reading"),
        ("10-4", "work_out", "worked"),
        ("10-5", "work_out", "worked"),
        ("10-6", "confirm", "confirm"),
        ("10-7", "witness", "witness"),
        ("10-8", "photo", "photo"),
    ]
    assert plan.operations[0].sign is not None
    assert plan.operations[0].sign.kind is SlotKind.SIGN


def test_a_step_of_another_variant_leaves_a_gap_in_the_numbers(operation: Write, good: Good) -> None:
    definition = good(operation(STEPS))
    two, three = (expand(definition, variant, "") for variant in ("2", "3"))
    assert [step.number for step in two.steps()] == [1, 3, 4, 5, 6, 7, 8]
    assert set(ids(two)) < set(ids(three))


def test_variables_are_filled_into_texts_and_numbers(operation: Write, good: Good) -> None:
    first, second = list(expand(good(operation(STEPS)), "3", "").steps())[:2]
    assert first.text == "Fit 3 spindles of variant 3, 22.5 kg in all."
    assert first.note == "Use 3 screws."
    assert first.cautions[0].text == "22.5 kg falls on feet."
    assert (first.parts[0].number, first.parts[0].quantity) == ("S-3", "3")
    assert second.part_number == "M-3"
    assert second.trace == "serial"


def test_a_worked_out_value_names_the_slots_it_comes_from(operation: Write, good: Good) -> None:
    plan = expand(good(operation(STEPS)), "2", "")
    taper = plan.check("taper")
    assert taper is not None
    assert [(slot.id, slot.inputs) for slot in taper.slots] == [
        ("10-4/spindle=1", ("10-3/spindle=1,end=near", "10-3/spindle=1,end=far")),
        ("10-4/spindle=2", ("10-3/spindle=2,end=near", "10-3/spindle=2,end=far")),
    ]
    assert taper.how is not None
    assert (taper.how.function, taper.how.check, taper.how.along) == ("difference", "runout", "end")
    whole = list(plan.steps())[3]
    assert [len(slot.inputs) for slot in whole.slots] == [4]


def test_rules_and_roles_reach_the_plan(operation: Write, good: Good) -> None:
    plan = expand(good(operation(STEPS)), "2", "")
    runout = plan.check("runout")
    assert runout is not None
    assert (runout.rule, runout.rounding) == ("guarded", "rounding")
    assert runout.adjust is not None
    assert (runout.adjust.rule, runout.adjust.text) == ("text", "Turn the bush.")
    confirm, witness = (step for step in plan.steps() if step.role)
    assert [slot.role for slot in (*confirm.slots, *witness.slots)] == ["inspector", "inspector"]


def test_labels_name_the_place(operation: Write, good: Good) -> None:
    plan = expand(good(operation(STEPS)), "2", "")
    assert plan.by_slot["10-3/spindle=2,end=far"].label == "Run-out: spindle 2, end far"


def test_options_bring_their_steps_and_items(write: Write, good: Good) -> None:
    text = write(
        operations="""\
            operations:
              - number: 10
                title: Work
                steps:
                  - do: Look.
                  - do: Fit the pedal.
                    only_with: [pedal]
                sign: assembler
        """,
        final="",
        crating="""\
            crating:
              crate: {title: Crate A, empty_mass: 5 kg}
              steps:
                - measure: Gross mass
                  id: gross-mass
                  limits: expected ± 0.2 kg
              packing_list:
                - {item: Lathe, mass: variant}
                - {item: Pedal, mass: 1.25 kg, only_with: [pedal]}
        """,
        tail="options: {pedal: {title: Foot pedal}}\n",
    )
    plain, optional = (expand(good(text), "2", "", options=chosen) for chosen in ((), ("pedal",)))
    assert set(ids(optional)) - set(ids(plain)) == {"10-2", "C-2/item=2"}
    assert optional.options == ("Foot pedal",)
    assert optional.check("gross-mass").limits.text == "26.25 ± 0.2 kg"  # type: ignore[union-attr]


def test_an_unknown_variant_or_option_is_a_key_error(write: Write, good: Good) -> None:
    with pytest.raises(KeyError):
        expand(good(write()), "9", "")
    with pytest.raises(KeyError):
        expand(good(write()), "2", "", options=("pedal",))


def test_texts_come_in_the_language_asked_for(write: Write, good: Good) -> None:
    text = write().replace("title: Bench lathe", "title: {en: Bench lathe, es: Torno de banco}")
    definition = good(text)
    assert expand(definition, "2", "").title == "Bench lathe"
    assert expand(definition, "2", "", language="es").title == "Torno de banco"
    assert expand(definition, "2", "", language="de").title == "Bench lathe"
    assert expand(definition, "2", "", language="es").language == "es"


def test_a_pack_step_puts_the_list_where_it_stands(write: Write, good: Good) -> None:
    crating = """\
        crating:
          crate: {title: Crate A}
          steps:
            - do: Block it.
            - pack: Tick each item.
            - photo: Open crate.
          packing_list: [{item: Lathe, number: L-1, quantity: spindles}, {item: Manual, mass: 100 g}]
    """
    plan = expand(good(write(crating=crating)), "3", "")
    steps = plan.operations[-1].steps
    assert [step.kind for step in steps] == [StepKind.DO, StepKind.PACK, StepKind.PHOTO]
    assert [slot.id for slot in steps[1].slots] == ["C-2/item=1", "C-2/item=2"]
    assert [(item.item, item.quantity, item.mass, item.number) for item in steps[1].packing] == [
        ("Lathe", "3", None, "L-1"),
        ("Manual", "1", "100 g", None),
    ]


LOT = """\
    operations:
      - number: 10
        title: Bore
        first_piece: true
        every: 10
        steps:
          - {fit: Plate, number: M-1, trace: lot}
          - {measure: Bore, at: {bore: 2}, limits: 25 H7}
          - {witness: First piece approved., by: inspector}
          - {measure: Bore, at: {bore: 2}, limits: 25 H7}
          - {confirm: Clean., every: 5}
          - {count: Pieces}
        sign: machinist
"""


def test_a_lot_checks_the_first_piece_and_every_so_many(write: Write, good: Good) -> None:
    definition = good(write(operations=LOT, final="", crating="", tail="track: lot\n"))
    steps = list(expand(definition, "2", "").steps())
    assert [(step.first_piece, step.every) for step in steps] == [
        (False, None),
        (True, None),
        (False, None),
        (False, 10),
        (False, 5),
        (False, None),
    ]
    assert [slot.kind for slot in steps[5].slots] == [SlotKind.COUNT]
    assert expand(definition, "2", "").operations[0].counts


def test_with_the_quantity_of_a_lot_each_checked_piece_has_its_slots(write: Write, good: Good) -> None:
    definition = good(write(operations=LOT, final="", crating="", tail="track: lot\n"))
    steps = list(expand(definition, "2", "", quantity=25).steps())
    assert [slot.id for slot in steps[3].slots] == [
        "10-4/piece=10,bore=1",
        "10-4/piece=10,bore=2",
        "10-4/piece=20,bore=1",
        "10-4/piece=20,bore=2",
    ]
    assert [axis.name for axis in steps[3].axes] == ["piece", "bore"]
    assert len(steps[4].slots) == 5
    few = list(expand(definition, "2", "", quantity=3).steps())
    assert [slot.id for slot in few[4].slots] == ["10-5/piece=3"]


@pytest.mark.parametrize("product", ["bobbin-winder", "potters-wheel", "end-plate"])
@pytest.mark.parametrize("quantity", [None, 60])
def test_a_kept_definition_expands_to_the_same_plan(
    shipped: dict[str, str], good: Good, product: str, quantity: int | None
) -> None:
    from traveler.definition.load import load

    definition = load(shipped[product], product, bool).definition
    assert definition is not None
    kept = from_canonical(canonical_content(definition))
    for variant in definition.variants:
        for language in ("en", "es"):
            options = tuple(definition.options)
            plans = [
                expand(item, variant, definition_digest(item), language, options, quantity)
                for item in (definition, kept)
            ]
            assert plans[0].model_dump_json() == plans[1].model_dump_json()


@pytest.mark.parametrize("product", ["bobbin-winder", "potters-wheel", "end-plate"])
def test_slot_ids_are_unique_and_fit_for_form_fields(shipped: dict[str, str], product: str) -> None:
    import re

    from traveler.definition.load import load

    definition = load(shipped[product], product, bool).definition
    assert definition is not None
    for variant in definition.variants:
        found = ids(expand(definition, variant, "", options=tuple(definition.options), quantity=60))
        assert len(found) == len(set(found))
        assert all(re.fullmatch(r"[A-Za-z0-9_/=,-]+", name) for name in found)
