"""Checks of the order of the work: operation numbers, hold points, what lots need."""

from __future__ import annotations

from collections.abc import Iterator

from traveler.definition.facts import Facts, StepNode, scalar
from traveler.definition.source import Scalar
from traveler.definition.steps import WORDS
from traveler.finding import Finding

IN_LOTS = ("first_piece", "every")
CHECKING = ("measure", "work_out", "confirm")


def operation_numbers(facts: Facts) -> Iterator[Finding]:
    """DEF202: numbers that do not rise in the order of the work."""
    last: Scalar | None = None
    for operation in facts.operations:
        number = scalar(operation, "number")
        if number is None or not (number.text.isascii() and number.text.isdecimal()):
            continue
        if last is not None and int(number.text) <= int(last.text):
            same = int(number.text) == int(last.text)
            what = f"operation {number.text} comes {'twice' if same else f'after operation {last.text}'}"
            yield Finding("DEF202", what, number.place, hint="number the operations in the order of the work")
        last = number


def one_word(facts: Facts) -> Iterator[Finding]:
    """DEF004: a step that starts with two words."""
    for step in facts.steps:
        said = [word for word in WORDS if step.node.get(word) is not None]
        if len(said) > 1:
            what = f"this step is '{said[0]}' and '{said[1]}' at once"
            yield Finding("DEF004", what, step.node.place, hint="make two steps of it")


def lot_words(facts: Facts) -> Iterator[Finding]:
    """DEF308: words of lots in a product that is built singly."""
    if _is_lot(facts):
        return
    for operation in facts.operations:
        for word in IN_LOTS:
            if (found := scalar(operation, word)) is not None:
                yield _only_in_lots(word, found)
    for step in facts.steps:
        for word in (*IN_LOTS, "count"):
            if (found := step.text(word)) is not None:
                yield _only_in_lots(word, found)


def _only_in_lots(word: str, found: Scalar) -> Finding:
    what = f"'{word}' is for parts made in lots, and this is built one at a time"
    return Finding("DEF308", what, found.place, hint="write 'track: lot', or delete it")


def _is_lot(facts: Facts) -> bool:
    track = scalar(facts.root, "track")
    return track is not None and track.text == "lot"


def lot_counts(facts: Facts) -> Iterator[Finding]:
    """DEF308: a lot's operation must end with one ``count`` step; a lot names its material."""
    if not _is_lot(facts):
        return
    for operation in facts.operations:
        own = [step for step in facts.steps if step.within is operation]
        counts = [step for step in own if step.word == "count"]
        if len(counts) != 1 or own[-1] is not counts[0]:
            what = "good, rework and scrap are counted once, at the end of an operation of a lot"
            place = counts[-1].node.place if counts else operation.place
            yield Finding("DEF308", what, place, hint="end the operation with one '- count: …' step")
    if not any(step.word == "fit" and _trace(step) == "lot" for step in facts.steps):
        what = "nothing says which material lot this lot is made from"
        hint = "add '- fit: …' with 'trace: lot' to the first operation"
        yield Finding("DEF308", what, facts.root.place, hint=hint)


def _trace(step: StepNode) -> str:
    trace = step.text("trace")
    return trace.text if trace else ""


def first_pieces(facts: Facts) -> Iterator[Finding]:
    """DEF309: a first piece that nobody approves, or an approval without a check of it."""
    if not _is_lot(facts):
        return
    for operation in facts.operations:
        own = [step for step in facts.steps if step.within is operation]
        hold = next((at for at, step in enumerate(own) if step.word == "witness"), None)
        asked = scalar(operation, "first_piece")
        written = [
            (at, found) for at, step in enumerate(own) if (found := step.text("first_piece")) is not None
        ]
        for at, found in written:
            if found.text == "true" and (hold is None or at > hold):
                yield _unapproved(found)
        if asked is not None and asked.text == "true":
            if hold is None:
                yield _unapproved(asked)
            elif not any(step.word in CHECKING for step in own[:hold]):
                what = "the first piece is approved without a check of it"
                yield Finding(
                    "DEF309", what, own[hold].node.place, hint="put its checks before the hold point"
                )


def _unapproved(found: Scalar) -> Finding:
    what = "the first piece is checked, and no hold point after it approves it before the run"
    return Finding(
        "DEF309", what, found.place, hint="add '- witness: First piece approved.' with 'by: …' after it"
    )


def both_pieces(facts: Facts) -> Iterator[Finding]:
    """DEF309: one check on the first piece and on every n-th at once."""
    for step in facts.steps:
        first, every = step.text("first_piece"), step.text("every")
        if first is not None and first.text == "true" and every is not None:
            what = "this check is for the first piece and for every n-th at once"
            yield Finding(
                "DEF309", what, every.place, hint="make two steps of it, the hold point between them"
            )


def repeats(facts: Facts) -> Iterator[Finding]:
    """DEF319: ``again`` outside the final checks."""
    for step in facts.steps:
        if step.word == "again" and step.operation != "Q":
            what = "'again' repeats a check in the final checks, and this is none"
            yield Finding("DEF319", what, step.node.place, hint="move it to final_checks, or measure anew")
