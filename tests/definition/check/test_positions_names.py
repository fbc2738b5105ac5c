"""Names of positions, values and variables: of things that are there, in the language of the sheet."""

from __future__ import annotations

from collections.abc import Callable

from traveler.definition.expand import expand
from traveler.definition.load import load
from traveler.definition.model import Definition, definition_digest

Write = Callable[..., str]
Marks = Callable[[str], object]

NAMES = """\
    names:
      spindle: {en: spindle, es: husillo}
      near: {en: near, es: cerca}
      spindles: {en: spindles, es: husillos}
"""


def named(write: Write) -> Definition:
    loaded = load(write(gauges=GAUGES + NAMES), "lathe.yaml", lambda _: True)
    assert loaded.definition is not None, loaded.findings
    return loaded.definition


GAUGES = """\
    gauges:
      indicator: {title: Dial indicator, resolution: 0.001 mm}
      scale: {title: Platform scale, resolution: 0.01 kg}
"""


def test_a_name_is_of_a_position_a_value_or_a_variable(write: Write, finds_marks: Marks) -> None:
    finds_marks(write(gauges=GAUGES + NAMES))
    finds_marks(
        write(gauges=GAUGES + NAMES.replace("near:", "nera:").replace("cerca}", "cerca}   # !DEF110"))
    )


def test_the_plan_has_the_names_in_its_language_and_the_ids_stay(write: Write) -> None:
    definition = named(write)
    plan = expand(definition, "2", definition_digest(definition), "es")
    assert plan.names == {"spindle": "husillo", "near": "cerca", "spindles": "husillos"}
    english = expand(definition, "2", definition_digest(definition))
    assert [slot.id for slot in plan.slots()] == [slot.id for slot in english.slots()]


def test_a_definition_without_names_keeps_its_digest(write: Write) -> None:
    text = write()
    loaded = load(text, "lathe.yaml", lambda _: True)
    assert loaded.definition is not None
    assert loaded.definition.names == {}
    assert definition_digest(loaded.definition) != definition_digest(named(write))


def test_an_adjustment_may_be_told_in_several_languages(write: Write) -> None:
    told = "adjust: {en: Turn the bush., es: Gire el casquillo.}"
    operations = f"""\
        operations:
          - number: 10
            title: Spindles
            steps:
              - measure: Run-out
                id: runout
                at: [spindle, end]
                limits: max 0.05 mm
                {told}
            sign: assembler
    """
    loaded = load(write(operations=operations), "lathe.yaml", lambda _: True)
    assert loaded.definition is not None, loaded.findings
    step = expand(loaded.definition, "2", "ab" * 32, "es").check("runout")
    assert step is not None
    assert step.adjust is not None
    assert (step.adjust.rule, step.adjust.text) == ("text", "Gire el casquillo.")
