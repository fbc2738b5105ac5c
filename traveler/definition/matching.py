"""Which step of one definition is which step of another: by id, by text, by a text much alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from difflib import SequenceMatcher
from fractions import Fraction

from traveler.definition.model import CRATING, FINAL, Definition
from traveler.definition.steps import AnyStep
from traveler.definition.words import said

ALIKE = Fraction(3, 5)
"""Share of equal text from which a step counts as the same step, reworded."""


@dataclass(frozen=True, slots=True)
class NumberedStep:
    """A step with its operation and its number there."""

    operation: str
    number: int
    step: AnyStep

    @property
    def where(self) -> str:
        """``30.2``."""
        return f"{self.operation}.{self.number}"

    @property
    def text(self) -> str:
        """What the step says, in one language."""
        return said(self.step.text)


def numbered_steps(definition: Definition) -> list[NumberedStep]:
    """All steps of a definition in the order of the work."""
    parts = [(one.number, one.steps) for one in definition.operations]
    parts.append((FINAL, definition.final_checks))
    parts.append((CRATING, definition.crating.steps if definition.crating else ()))
    return [NumberedStep(name, n, step) for name, steps in parts for n, step in enumerate(steps, start=1)]


def pair_steps(
    before: list[NumberedStep], after: list[NumberedStep]
) -> tuple[list[tuple[NumberedStep | None, NumberedStep]], list[NumberedStep]]:
    """Each new step with the old one it was (None: it is new), and the old ones that are gone."""
    left = list(before)
    found: dict[int, NumberedStep] = {}
    for same in (_same_id, _same_place_and_text, _same_text, _alike):
        for at, new in enumerate(after):
            if at not in found and (old := _first(left, new, same)) is not None:
                found[at] = old
                left.remove(old)
    return [(found.get(at), new) for at, new in enumerate(after)], left


def _first(
    left: list[NumberedStep], new: NumberedStep, same: Callable[[NumberedStep, NumberedStep], bool]
) -> NumberedStep | None:
    return next((old for old in left if same(old, new)), None)


def _same_id(old: NumberedStep, new: NumberedStep) -> bool:
    return old.step.id is not None and old.step.id == new.step.id


def _same_text(old: NumberedStep, new: NumberedStep) -> bool:
    return old.step.word == new.step.word and old.text == new.text and not _other_id(old, new)


def _same_place_and_text(old: NumberedStep, new: NumberedStep) -> bool:
    return old.operation == new.operation and _same_text(old, new)


def _alike(old: NumberedStep, new: NumberedStep) -> bool:
    if old.operation != new.operation or old.step.word != new.step.word or _other_id(old, new):
        return False
    return SequenceMatcher(None, old.text, new.text).ratio() >= ALIKE


def _other_id(old: NumberedStep, new: NumberedStep) -> bool:
    """Whether both have ids, and different ones: then they are different checks."""
    return None not in (old.step.id, new.step.id) and old.step.id != new.step.id
