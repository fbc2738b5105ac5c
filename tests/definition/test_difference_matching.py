"""Which step of one definition is which of another."""

from __future__ import annotations

from collections.abc import Callable

from traveler.definition.difference import numbered_steps, pair_steps
from traveler.definition.model import Definition

Write = Callable[..., str]
Good = Callable[[str], Definition]


def test_steps_are_numbered_as_in_the_plan(write: Write, good: Good) -> None:
    assert [step.where for step in numbered_steps(good(write()))] == ["10.1", "Q.1", "C.1"]


def test_each_step_is_paired_once(operation: Write, good: Good) -> None:
    old = numbered_steps(good(operation("- do: Wipe.\n- do: Wipe.\n- do: Oil.\n")))
    new = numbered_steps(good(operation("- do: Wipe.\n- do: Oil.\n- do: Wipe.\n- do: Wipe.\n")))
    pairs, gone = pair_steps(old, new)
    assert [numbered_step.where if numbered_step else None for numbered_step, _ in pairs] == [
        "10.1",
        "10.3",
        "10.2",
        None,
    ]
    assert gone == []


def test_a_step_keeps_its_identity_in_another_operation(write: Write, good: Good) -> None:
    work = "title: Work, sign: assembler"
    plans = [
        f"operations:\n  - {{number: 10, {work}, steps: [{a}]}}\n  - {{number: 20, {work}, steps: [{b}]}}\n"
        for a, b in (("{do: A.}, {do: Oil.}", "{do: B.}"), ("{do: A.}", "{do: B.}, {do: Oil.}"))
    ]
    old, new = (numbered_steps(good(write(operations=plan, final="", crating=""))) for plan in plans)
    pairs, gone = pair_steps(old, new)
    assert [(a.where if a else None, b.where) for a, b in pairs][-1] == ("10.2", "20.2")
    assert gone == []


def test_different_kinds_are_different_steps(operation: Write, good: Good) -> None:
    old, new = (numbered_steps(good(operation(f"- {word}: Clean."))) for word in ("do", "confirm"))
    pairs, gone = pair_steps(old, new)
    assert pairs[0][0] is None
    assert [numbered_step.where for numbered_step in gone] == ["10.1"]
