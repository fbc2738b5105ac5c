"""What changed between two definitions, as a person would tell it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from traveler.definition.difference import _value_text, definition_changes
from traveler.definition.model import Definition

Write = Callable[..., str]
Good = Callable[[str], Definition]


def changes(good: Good, old: str, new: str) -> list[str]:
    return definition_changes(good(old), good(new))


def test_nothing_changed(write: Write, good: Good) -> None:
    assert changes(good, write(), "# a comment\n" + write()) == []


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("max 0.05 mm", "max 0.08 mm", ["10.1 Run-out: max 0.05 mm → max 0.08 mm"]),
        ("measure: Run-out", "measure: Run-out (TIR)", ["10.1: 'Run-out' → 'Run-out (TIR)'"]),
        ("gauge: indicator", "note: Dry.", ["10.1 Run-out, gauge: indicator → not given",
                                            "10.1 Run-out, note: not given → Dry."]),
        ("at: [spindle, end]", "at: [spindle]", ["10.1 Run-out, at: spindle, end → spindle"]),
        ("at: [spindle, end]", "at: {spindle: 4, side: [left, right]}",
         ["10.1 Run-out, at: spindle, end → spindle (4), side (left, right)"]),
        ("revision: A", "revision: B", ["revision: A → B"]),
        ("mass: 20 kg", "mass: 21 kg", ["variant 2, mass: 20 kg → 21 kg"]),
        ("{count: spindles}", "4", ["position spindle, count: spindles → 4"]),
        ("end: [near, far]", "end: [near, far]\n  side: [left]", ["position side: added, values left"]),
        ("resolution: 0.01 kg", "resolution: 0.05 kg", ["gauge kind scale, resolution: 0.01 kg → 0.05 kg"]),
        ("-{n:04}", "-{n:05}", ["serials pattern: BL-{yy}{ww}-{n:04} → BL-{yy}{ww}-{n:05}"]),
        ("sign: assembler", "sign: inspector", ["10 Spindles, sign: assembler → inspector"]),
        ("title: Spindles", "title: Spindle unit", ["10 Spindle unit, title: Spindles → Spindle unit"]),
        ("empty_mass: 5 kg", "empty_mass: 6 kg", ["crate, empty mass: 5 kg → 6 kg"]),
        ("± 0.2 kg", "± 0.3 kg", ["C.1 Gross mass: expected ± 0.2 kg → expected ± 0.3 kg"]),
        ("mass: variant}", "mass: variant, quantity: 2}", ["packing item Lathe, quantity: not given → 2"]),
        ("  packing_list:\n", "  packing_list:\n    - {item: Key, mass: 1 kg}\n",
         ["packing item Key: added, mass 1 kg"]),
        ("- again: runout", "- again: runout\n    at: {end: [far]}",
         ["Q.1 runout, at: not given → end (far)"]),
    ],
)  # fmt: skip
def test_one_change_is_one_sentence(write: Write, good: Good, old: str, new: str, told: list[str]) -> None:
    assert old in write()
    assert changes(good, write(), write().replace(old, new, 1)) == told


STEPS = """\
    - do: Wipe the bed.
    - measure: Height
      id: height
      limits: max 1 mm
    - confirm: No burr anywhere on the edges.
    - do: Close the lid.
"""


def test_steps_that_came_and_went(operation: Write, good: Good) -> None:
    new = STEPS.replace("    - do: Wipe the bed.\n", "").replace(
        "    - do: Close", "    - measure: Width\n      limits: max 2 mm\n    - do: Close"
    )
    assert changes(good, operation(STEPS), operation(new)) == [
        "10.3 added: measure 'Width', max 2 mm",
        "10.1 removed: do 'Wipe the bed.'",
    ]


def test_a_step_that_moved_is_told_with_its_old_place(operation: Write, good: Good) -> None:
    first, *rest = STEPS.splitlines(keepends=True)
    told = changes(good, operation(STEPS), operation("".join([*rest, first])))
    assert told == ["10.4 Wipe the bed.: was 10.1"]


def test_a_reworded_step_is_the_same_step(operation: Write, good: Good) -> None:
    new = STEPS.replace("No burr anywhere on the edges.", "No burr on any of the edges.")
    assert changes(good, operation(STEPS), operation(new)) == [
        "10.3: 'No burr anywhere on the edges.' → 'No burr on any of the edges.'"
    ]


def test_a_check_is_known_by_its_id_however_it_is_worded(operation: Write, good: Good) -> None:
    new = STEPS.replace("measure: Height", "measure: Distance from the plate to the rail")
    assert changes(good, operation(STEPS), operation(new)) == [
        "10.2: 'Height' → 'Distance from the plate to the rail'"
    ]


def test_another_id_is_another_check(operation: Write, good: Good) -> None:
    new = STEPS.replace("id: height", "id: level")
    told = changes(good, operation(STEPS), operation(new))
    assert told == ["10.2 added: measure 'Height', max 1 mm", "10.2 removed: measure 'Height', max 1 mm"]


def test_operations_and_crating_that_came_and_went(write: Write, good: Good) -> None:
    more = write().replace(
        "final_checks:",
        "  - {number: 20, title: Paint, steps: [{do: Paint it.}], sign: assembler}\nfinal_checks:",
    )
    bare = write(crating="", final="")
    assert changes(good, write(), more) == ["20 Paint: added", "20.1 added: do 'Paint it.'"]
    assert changes(good, more, write()) == ["20 Paint: removed", "20.1 removed: do 'Paint it.'"]
    assert changes(good, bare, write())[-1] == "crating: added"
    assert changes(good, write(), bare)[-1] == "crating: removed"


def test_every_changed_definition_has_a_difference(shipped: dict[str, str], good: Good) -> None:
    """Whatever changes the digest is listed."""
    from traveler.definition.load import load
    from traveler.definition.model import definition_digest

    text = shipped["bobbin-winder"]
    base = load(text, "f", bool).definition
    assert base is not None
    told = 0
    for at, line in enumerate(text.splitlines()):
        lines = text.splitlines()
        lines[at] = line.replace("4", "5").replace("spindle", "spool").replace("0", "1")
        changed = load("\n".join(lines), "f", bool).definition
        if changed is not None and definition_digest(changed) != definition_digest(base):
            assert definition_changes(base, changed), line
            told += 1
    assert told > 40


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "not given"),
        (True, "true"),
        (False, "false"),
        ([], "none"),
        (["a", "b"], "a, b"),
        ({"x_y": ["a"]}, "x y a"),
        ({}, "no details"),
        ("5 kg", "5 kg"),
    ],
)
def test_values_read_as_a_person_would_write_them(value: object, text: str) -> None:
    assert _value_text(value) == text
