"""Checks of the steps: that what they refer to is there, the order of the work, what lots need."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import PurePosixPath

from traveler.definition.check.facts import (
    FileFacts,
    StepNode,
    all_texts,
    finding_at,
    items,
    names,
    says,
    scalar,
    texts,
    unknown,
)
from traveler.definition.fields import FINAL
from traveler.definition.setting import PLACEHOLDER
from traveler.definition.source import Node, Scalar
from traveler.definition.steps import WORDS
from traveler.finding import Finding
from traveler.measure.geometry.functions import FUNCTIONS
from traveler.text import did_you_mean

PICTURES = (".svg", ".png", ".jpg", ".jpeg")
IN_LOTS = ("first_piece", "every")
CHECKING = ("measure", "work_out", "confirm")


def _undefined(code: str, kind: str, name: Scalar, known: Iterable[str]) -> Finding:
    return unknown(name, code, f"{kind} '{name.text}' is not defined", known)


def gauge_kinds(facts: FileFacts) -> Iterator[Finding]:
    """DEF101: a check asks for a kind of gauge that is not under ``gauges``."""
    known = names(facts.root, "gauges")
    for step in facts.steps:
        gauge = step.text("gauge")
        if gauge is not None and gauge.text not in known:
            yield _undefined("DEF101", "gauge kind", gauge, known)


def pictures(facts: FileFacts) -> Iterator[Finding]:
    """DEF105: a picture that is not there, cannot be printed, or lies outside the folder."""
    for step in facts.steps:
        picture = step.text("picture")
        if picture is not None and (problem := _picture_problem(facts, picture.text)):
            what, hint = problem
            yield finding_at(picture, "DEF105", f"picture '{picture.text}' {what}", hint)


def _picture_problem(facts: FileFacts, name: str) -> tuple[str, str] | None:
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or "\\" in name:
        return "lies outside the folder of the definition", "put it beside the definition and name it alone"
    if path.suffix.lower() not in PICTURES:
        return "cannot be printed", f"it must end in {', '.join(PICTURES)}"
    there = facts.exists(name)
    if isinstance(there, str):
        return there, "save it again as SVG, PNG or JPEG"
    return None if there else ("is not there", "put it beside the definition, or correct its name")


def known_roles(facts: FileFacts) -> Iterator[Finding]:
    """DEF106: a role that nobody has."""
    if facts.people is None:
        return
    known = sorted({role for held in facts.people.values() for role in held})
    holders = [(step.node, "by") for step in facts.steps]
    holders += [(operation, "sign") for operation in (*facts.operations, facts.crating) if operation]
    asked: list[tuple[str, Node]] = []
    asked += [(role.text, role) for node, key in holders if (role := scalar(node, key)) is not None]
    final = facts.root.key("final_checks")
    if final is not None and items(facts.root, "final_checks"):
        asked.append(("inspector", final))
    if facts.crating is not None and scalar(facts.crating, "sign") is None:
        asked.append(("packer", facts.crating))
    for name, node in asked:
        if name not in known:
            yield finding_at(node, "DEF106", f"nobody has the role '{name}'", did_you_mean(name, known))


def conditions(facts: FileFacts) -> Iterator[Finding]:
    """DEF108 unknown variant in ``only_for``, DEF109 unknown option in ``only_with``."""
    options = names(facts.root, "options")
    for node in (*(step.node for step in facts.steps), *items(facts.crating, "packing_list")):
        for variant in texts(node, "only_for"):
            if variant.text not in facts.variants:
                yield _undefined("DEF108", "variant", variant, facts.variants)
        for option in texts(node, "only_with"):
            if option.text not in options:
                yield _undefined("DEF109", "option", option, options)


def referred_checks(facts: FileFacts) -> Iterator[Finding]:
    """DEF104: a check that is not there; DEF312: one that comes later, or is not there for every variant."""
    for step in facts.steps:
        if (again := step.text("again")) is not None:
            yield from _check(facts, again, step, ("measure", "confirm"))
        for function in FUNCTIONS:
            if (name := scalar(step.node, "how", function)) is not None:
                yield from _check(facts, name, step, ("measure",))
    for name in texts(facts.root, "arrival_check"):
        if name.text not in facts.ids:
            yield _undefined("DEF104", "check", name, facts.ids)
        elif facts.ids[name.text].word not in CHECKING:
            what = f"a customer cannot measure or confirm '{name.text}'"
            yield finding_at(name, "DEF104", what, "name a measure, work_out or confirm step")


def _check(facts: FileFacts, name: Scalar, user: StepNode, words: tuple[str, ...]) -> Iterator[Finding]:
    """A check that another step uses: there, of these kinds, earlier, for the same variants and options."""
    step = facts.ids.get(name.text)
    if step is None:
        yield _undefined("DEF104", "check", name, facts.ids)
        return
    if step.word not in words:
        what = f"'{name.text}' is a '{step.word}' step, which '{user.word}' cannot take"
        hint = f"name a {' or '.join(words)} step" + (", its readings" if step.word == "work_out" else "")
        yield finding_at(name, "DEF104", what, hint)
    if facts.steps.index(step) >= facts.steps.index(user):
        what = f"check '{name.text}' comes later, in {step.id}"
        yield finding_at(name, "DEF312", what, "put it before the step that uses it")
    if missing := sorted(set(facts.variants_of(user.node)) - set(facts.variants_of(step.node))):
        what = f"check '{name.text}' is not there for variant {', '.join(missing)}"
        yield finding_at(name, "DEF312", what, "give this step the same only_for")
    needed, asked = ({text.text for text in texts(node, "only_with")} for node in (step.node, user.node))
    if needed - asked:
        what = f"check '{name.text}' is there only with an option"
        yield finding_at(name, "DEF312", what, "give this step the same only_with")


def doubled_ids(facts: FileFacts) -> Iterator[Finding]:
    """DEF201: two steps with one id."""
    for step in facts.steps:
        name = step.text("id")
        if name is not None and facts.ids[name.text] is not step:
            first = facts.ids[name.text]
            what = f"id '{name.text}' is given twice, first in {first.id} (line {first.node.place.line})"
            yield finding_at(name, "DEF201", what, "every id names one step")


def variables(facts: FileFacts) -> Iterator[Finding]:
    """DEF103: ``{name}`` in a text where no variant sets a variable of that name."""
    for key, node in facts.root.items():
        for text in all_texts(node) if key.text != "serials" else ():
            for found in PLACEHOLDER.finditer(text.text):
                if found[1] not in facts.variables:
                    what = f"variable '{found[1]}' is not set by the variants"
                    yield finding_at(text, "DEF103", what, did_you_mean(found[1], facts.variables))


def operation_numbers(facts: FileFacts) -> Iterator[Finding]:
    """DEF202: numbers that do not rise in the order of the work."""
    last: Scalar | None = None
    for operation in facts.operations:
        number = scalar(operation, "number")
        if number is None or not (number.text.isascii() and number.text.isdecimal()):
            continue
        if last is not None and int(number.text) <= int(last.text):
            same = int(number.text) == int(last.text)
            what = f"operation {number.text} comes {'twice' if same else f'after operation {last.text}'}"
            yield finding_at(number, "DEF202", what, "number the operations in the order of the work")
        last = number


def one_word(facts: FileFacts) -> Iterator[Finding]:
    """DEF004: a step that starts with two words."""
    for step in facts.steps:
        given = [word for word in WORDS if step.node.get(word) is not None]
        if len(given) > 1:
            what = f"this step is '{given[0]}' and '{given[1]}' at once"
            yield finding_at(step.node, "DEF004", what, "make two steps of it")


def _is_lot(facts: FileFacts) -> bool:
    return says(facts.root, "track", "lot")


def lot_words(facts: FileFacts) -> Iterator[Finding]:
    """DEF308: words of lots in a product that is built one at a time."""
    if _is_lot(facts):
        return
    places = [(operation, word) for operation in facts.operations for word in IN_LOTS]
    places += [(step.node, word) for step in facts.steps for word in (*IN_LOTS, "count")]
    for node, word in places:
        if (found := scalar(node, word)) is not None:
            what = f"'{word}' is for parts made in lots, and this is built one at a time"
            yield finding_at(found, "DEF308", what, "write 'track: lot', or delete it")


def lot_counts(facts: FileFacts) -> Iterator[Finding]:
    """DEF308: a lot's operation must end with one ``count`` step; a lot names its material."""
    if not _is_lot(facts):
        return
    for operation in facts.operations:
        own = facts.steps_of(operation)
        counts = [step for step in own if step.word == "count"]
        if len(counts) != 1 or own[-1] is not counts[0]:
            what = "good, rework and scrap are counted once, at the end of an operation of a lot"
            node = counts[-1].node if counts else operation
            yield finding_at(node, "DEF308", what, "end the operation with one '- count: …' step")
    if not any(step.word == "fit" and step.says("trace", "lot") for step in facts.steps):
        what = "no step says which material lot this lot is made from"
        hint = "add '- fit: …' with 'trace: lot' to the first operation"
        yield finding_at(facts.root, "DEF308", what, hint)


def first_pieces(facts: FileFacts) -> Iterator[Finding]:
    """DEF309: a first piece that nobody approves, or an approval without a check of it."""
    for operation in facts.operations if _is_lot(facts) else ():
        own = facts.steps_of(operation)
        hold = next((at for at, step in enumerate(own) if step.word == "witness"), None)
        unapproved = [
            step.node
            for at, step in enumerate(own)
            if step.says("first_piece", "true") and (hold is None or at > hold)
        ]
        if says(operation, "first_piece", "true"):
            if hold is None:
                unapproved.append(operation)
            elif not any(step.word in CHECKING for step in own[:hold]):
                what = "the first piece is approved without a check of it"
                yield finding_at(own[hold].node, "DEF309", what, "put its checks before the hold point")
        for node in unapproved:
            what = "the first piece is checked, and no hold point after it approves it before the run"
            hint = "add '- witness: First piece approved.' with 'by: …' after it"
            yield finding_at(scalar(node, "first_piece") or node, "DEF309", what, hint)


def both_pieces(facts: FileFacts) -> Iterator[Finding]:
    """DEF309: one check on the first piece and on every n-th at once."""
    for step in facts.steps:
        every = step.text("every")
        if every is not None and step.says("first_piece", "true"):
            what = "this check is for the first piece and for every n-th at once"
            yield finding_at(every, "DEF309", what, "make two steps of it, the hold point between them")


def repeats(facts: FileFacts) -> Iterator[Finding]:
    """DEF319: ``again`` outside the final checks."""
    for step in facts.steps:
        if step.word == "again" and step.operation != FINAL:
            what = "'again' repeats a check in the final checks, and this is another place"
            yield finding_at(step.node, "DEF319", what, "move it to final_checks, or write a measure step")
