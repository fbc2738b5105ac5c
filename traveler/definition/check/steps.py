"""Checks of the steps: that what they refer to is there, the order of the work, what lots need."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import PurePosixPath

from traveler.definition import source
from traveler.definition.check.facts import FileFacts, StepNode, all_texts, items, names, scalar, texts
from traveler.definition.setting import PLACEHOLDER
from traveler.definition.source import Scalar
from traveler.definition.steps import WORDS
from traveler.finding import Finding, Place
from traveler.text import did_you_mean

PICTURES = (".svg", ".png", ".jpg", ".jpeg")


def _unknown(code: str, kind: str, name: Scalar, known: list[str]) -> Finding:
    return Finding(
        code, f"{kind} '{name.text}' is not defined", name.place, hint=did_you_mean(name.text, known)
    )


def gauge_kinds(facts: FileFacts) -> Iterator[Finding]:
    """DEF101: a check asks for a kind of gauge that is not under ``gauges``."""
    known = names(facts.root, "gauges")
    for step in facts.steps:
        gauge = step.text("gauge")
        if gauge is not None and gauge.text not in known:
            yield _unknown("DEF101", "gauge kind", gauge, known)


def pictures(facts: FileFacts) -> Iterator[Finding]:
    """DEF105: a picture that is not there, cannot be printed, or lies outside the folder."""
    for step in facts.steps:
        picture = step.text("picture")
        if picture is None:
            continue
        path = PurePosixPath(picture.text)
        if path.is_absolute() or ".." in path.parts or "\\" in picture.text:
            what = f"picture '{picture.text}' lies outside the folder of the definition"
            yield Finding(
                "DEF105", what, picture.place, hint="put it beside the definition and name it alone"
            )
        elif path.suffix.lower() not in PICTURES:
            what = f"picture '{picture.text}' is of no kind that can be printed"
            yield Finding("DEF105", what, picture.place, hint=f"it must end in {', '.join(PICTURES)}")
        elif isinstance(there := facts.exists(picture.text), str):
            what = f"picture '{picture.text}' {there}"
            yield Finding("DEF105", what, picture.place, hint="save it anew as SVG, PNG or JPEG")
        elif not there:
            what = f"picture '{picture.text}' is not there"
            yield Finding(
                "DEF105", what, picture.place, hint="put it beside the definition, or correct its name"
            )


def known_roles(facts: FileFacts) -> Iterator[Finding]:
    """DEF106: a role that nobody has."""
    if facts.people is None:
        return
    known = sorted({role for held in facts.people.values() for role in held})
    written = [step.text("by") for step in facts.steps]
    written += [scalar(operation, "sign") for operation in facts.operations]
    written.append(scalar(facts.crating, "sign"))
    for role in written:
        if role is not None and role.text not in known:
            yield _vacant(role.text, role.place, known)
    final = facts.root.key("final_checks")
    if final is not None and items(facts.root, "final_checks") and "inspector" not in known:
        yield _vacant("inspector", final.place, known)
    if facts.crating is not None and scalar(facts.crating, "sign") is None and "packer" not in known:
        yield _vacant("packer", facts.crating.place, known)


def _vacant(role: str, place: Place, known: list[str]) -> Finding:
    return Finding("DEF106", f"nobody has the role '{role}'", place, hint=did_you_mean(role, known))


def conditions(facts: FileFacts) -> Iterator[Finding]:
    """DEF108 unknown variant in ``only_for``, DEF109 unknown option in ``only_with``."""
    options = names(facts.root, "options")
    holders = [step.node for step in facts.steps]
    holders += [item for item in items(facts.crating, "packing_list") if isinstance(item, source.Mapping)]
    for node in holders:
        for variant in texts(node, "only_for"):
            if variant.text not in facts.variants:
                yield _unknown("DEF108", "variant", variant, list(facts.variants))
        for option in texts(node, "only_with"):
            if option.text not in options:
                yield _unknown("DEF109", "option", option, options)


def referred_checks(facts: FileFacts) -> Iterator[Finding]:
    """DEF104: a check that is not there; DEF312: one that comes later, or is not there for every variant."""
    for step in facts.steps:
        if (again := step.text("again")) is not None:
            yield from _check(facts, again, step, ("measure", "confirm"))
        for name in _sources(step.node):
            yield from _check(facts, name, step, ("measure",))
    for name in texts(facts.root, "arrival_check"):
        if name.text not in facts.ids:
            yield _unknown("DEF104", "check", name, list(facts.ids))
        elif facts.ids[name.text].word not in ("measure", "work_out", "confirm"):
            what = f"'{name.text}' is nothing that a customer could measure or confirm"
            yield Finding("DEF104", what, name.place, hint="name a measure, work_out or confirm step")


def _sources(step: source.Mapping) -> list[Scalar]:
    """The check that a ``how`` works from; a mapping under ``how`` holds it under the function's name."""
    from traveler.measure.geometry.functions import FUNCTIONS

    how = step.get("how")
    named = [scalar(how, function) for function in FUNCTIONS]
    return [name for name in named if name is not None]


def _check(facts: FileFacts, name: Scalar, user: StepNode, words: tuple[str, ...]) -> Iterator[Finding]:
    """A check that another step uses: there, of these kinds, earlier, for the same variants and options."""
    step = facts.ids.get(name.text)
    if step is None:
        yield _unknown("DEF104", "check", name, list(facts.ids))
        return
    if step.word not in words:
        what = f"'{name.text}' is a '{step.word}' step, which '{user.word}' cannot take"
        hint = f"name a {' or '.join(words)} step" + (", its readings" if step.word == "work_out" else "")
        yield Finding("DEF104", what, name.place, hint=hint)
    if facts.steps.index(step) >= facts.steps.index(user):
        what = f"check '{name.text}' comes later, in {step.id}"
        yield Finding("DEF312", what, name.place, hint="put it before the step that uses it")
    missing = sorted(set(facts.variants_of(user.node)) - set(facts.variants_of(step.node)))
    if missing:
        what = f"check '{name.text}' is not there for variant {', '.join(missing)}"
        yield Finding("DEF312", what, name.place, hint="give this step the same only_for")
    if {text.text for text in texts(step.node, "only_with")} - {
        text.text for text in texts(user.node, "only_with")
    }:
        what = f"check '{name.text}' is there only with an option"
        yield Finding("DEF312", what, name.place, hint="give this step the same only_with")


def doubled_ids(facts: FileFacts) -> Iterator[Finding]:
    """DEF201: two steps with one id."""
    for step in facts.steps:
        name = step.text("id")
        if name is not None and facts.ids[name.text] is not step:
            first = facts.ids[name.text]
            what = f"id '{name.text}' is given twice, first in {first.id} (line {first.node.place.line})"
            yield Finding("DEF201", what, name.place, hint="every id names one step")


def variables(facts: FileFacts) -> Iterator[Finding]:
    """DEF103: ``{name}`` in a text where no variant sets a variable of that name."""
    for key, node in facts.root.items():
        if key.text == "serials":
            continue
        for text in all_texts(node):
            for found in PLACEHOLDER.finditer(text.text):
                if found[1] not in facts.variables:
                    what = f"variable '{found[1]}' is not set by the variants"
                    yield Finding("DEF103", what, text.place, hint=did_you_mean(found[1], facts.variables))


IN_LOTS = ("first_piece", "every")
CHECKING = ("measure", "work_out", "confirm")


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
            yield Finding("DEF202", what, number.place, hint="number the operations in the order of the work")
        last = number


def one_word(facts: FileFacts) -> Iterator[Finding]:
    """DEF004: a step that starts with two words."""
    for step in facts.steps:
        said = [word for word in WORDS if step.node.get(word) is not None]
        if len(said) > 1:
            what = f"this step is '{said[0]}' and '{said[1]}' at once"
            yield Finding("DEF004", what, step.node.place, hint="make two steps of it")


def lot_words(facts: FileFacts) -> Iterator[Finding]:
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


def _is_lot(facts: FileFacts) -> bool:
    track = scalar(facts.root, "track")
    return track is not None and track.text == "lot"


def lot_counts(facts: FileFacts) -> Iterator[Finding]:
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


def first_pieces(facts: FileFacts) -> Iterator[Finding]:
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


def both_pieces(facts: FileFacts) -> Iterator[Finding]:
    """DEF309: one check on the first piece and on every n-th at once."""
    for step in facts.steps:
        first, every = step.text("first_piece"), step.text("every")
        if first is not None and first.text == "true" and every is not None:
            what = "this check is for the first piece and for every n-th at once"
            yield Finding(
                "DEF309", what, every.place, hint="make two steps of it, the hold point between them"
            )


def repeats(facts: FileFacts) -> Iterator[Finding]:
    """DEF319: ``again`` outside the final checks."""
    for step in facts.steps:
        if step.word == "again" and step.operation != "Q":
            what = "'again' repeats a check in the final checks, and this is none"
            yield Finding("DEF319", what, step.node.place, hint="move it to final_checks, or measure anew")
