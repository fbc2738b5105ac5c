"""What a file says about itself, gathered from its nodes for the checks.

The checks read nodes, not the model, so that they speak even where the shape is wrong elsewhere in the file,
and every finding has its place. What has the wrong shape is passed over here: ``shape.py`` reports it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from traveler.definition import source
from traveler.definition.fields import CRATING, FINAL, one_spelling
from traveler.definition.mass import ALONE
from traveler.definition.setting import fill_variables, variables_of
from traveler.definition.source import Node, Scalar, Sequence
from traveler.definition.steps import WORDS
from traveler.finding import Finding, Weight
from traveler.measure.number import Unreadable
from traveler.measure.quantity import Quantity
from traveler.text import did_you_mean

OWN_VARIANT_KEYS = ("title", "mass", "gtin")
"""What a variant says besides variables."""


def finding_at(node: Node, code: str, what: str, hint: str = "", weight: Weight = Weight.BLOCKING) -> Finding:
    """A finding at the place of a node."""
    return Finding(code, what, node.place, weight, hint=hint)


def unknown(name: Scalar, code: str, what: str, known: Iterable[str]) -> Finding:
    """A finding about a name that is not known, with the nearest known one."""
    return finding_at(name, code, what, did_you_mean(name.text, known))


def problem_at(problem: Unreadable, node: Node, about: str = "") -> Finding:
    """The finding for a text that could not be read; ``about`` says for which variant."""
    return finding_at(node, problem.code, f"{problem.what}{about}", problem.hint)


def unreadable(read: Callable[[str], object], written: Scalar) -> Iterator[Finding]:
    """What a reader says against a text; nothing where it can read it."""
    try:
        read(written.text)
    except Unreadable as problem:
        yield problem_at(problem, written)


def scalar(node: Node | None, *keys: str) -> Scalar | None:
    """The text at the end of a path of keys; None where there is none."""
    for key in keys:
        node = node.get(key) if isinstance(node, source.Mapping) else None
    return node if isinstance(node, Scalar) and not node.absent else None


def says(node: Node | None, key: str, value: str) -> bool:
    """Whether this text is under a key."""
    found = scalar(node, key)
    return found is not None and found.text == value


def mapping(node: Node | None, key: str) -> source.Mapping | None:
    """The mapping under a key; None where there is none."""
    found = node.get(key) if isinstance(node, source.Mapping) else None
    return found if isinstance(found, source.Mapping) else None


def items(node: Node | None, key: str) -> list[Node]:
    """The entries of the list under a key; empty where there is none. One text counts as a list of one."""
    found = node.get(key) if isinstance(node, source.Mapping) else None
    if isinstance(found, Sequence):
        return list(found.items)
    return [found] if isinstance(found, Scalar) else []


def texts(node: Node | None, key: str) -> list[Scalar]:
    """The texts of the list under a key."""
    return [item for item in items(node, key) if isinstance(item, Scalar) and not item.absent]


def entries(node: Node | None, key: str) -> list[tuple[Scalar, Node]]:
    """The entries of the mapping under a key; empty where there is none."""
    found = mapping(node, key)
    return list(found.items()) if found else []


def names(node: Node | None, key: str) -> list[str]:
    """The keys of the mapping under a key."""
    return [name.text for name, _ in entries(node, key)]


@dataclass(frozen=True, slots=True)
class StepNode:
    """One step in the file: its operation, its number there, the word it starts with, its node."""

    operation: str
    number: int
    word: str
    node: source.Mapping
    within: source.Mapping
    """The operation (or crating) it belongs to; the whole file for final checks."""

    @property
    def id(self) -> str:
        """The step's id, as in the plan."""
        return f"{self.operation}-{self.number}"

    def text(self, key: str) -> Scalar | None:
        """The text of a key of the step."""
        return scalar(self.node, key)

    def says(self, key: str, value: str) -> bool:
        """Whether the step has this value under a key."""
        return says(self.node, key, value)


@dataclass(frozen=True)
class FileFacts:
    """The nodes of a file with what they name, and what is known around the file."""

    root: source.Mapping
    exists: Callable[[str], bool | str]
    people: Mapping[str, Collection[str]] | None = None
    alone: Quantity = ALONE
    """What one person may lift."""

    @cached_property
    def operations(self) -> list[source.Mapping]:
        """The operations, in order."""
        return [item for item in items(self.root, "operations") if isinstance(item, source.Mapping)]

    @cached_property
    def crating(self) -> source.Mapping | None:
        """The crating, if there is any."""
        return mapping(self.root, "crating")

    @cached_property
    def steps(self) -> list[StepNode]:
        """All steps, in the order of the work."""
        found: list[StepNode] = []
        for operation in self.operations:
            number = scalar(operation, "number")
            found += _steps(number.text if number else "?", items(operation, "steps"), operation)
        found += _steps(FINAL, items(self.root, "final_checks"), self.root)
        if self.crating is not None:
            found += _steps(CRATING, items(self.crating, "steps"), self.crating)
        return found

    def steps_of(self, operation: source.Mapping) -> list[StepNode]:
        """The steps of an operation."""
        return [step for step in self.steps if step.within is operation]

    @cached_property
    def ids(self) -> dict[str, StepNode]:
        """Check id → the first step that has it."""
        found: dict[str, StepNode] = {}
        for step in self.steps:
            if (name := step.text("id")) is not None:
                found.setdefault(name.text, step)
        return found

    @cached_property
    def variants(self) -> dict[str, dict[str, str]]:
        """Variant → its variables by name, as written."""
        found = {}
        for name, node in entries(self.root, "variants"):
            if isinstance(node, source.Mapping):
                further = {
                    key.text: one_spelling(value.text)
                    for key, value in node.items()
                    if key.text not in OWN_VARIANT_KEYS and isinstance(value, Scalar)
                }
                mass = scalar(node, "mass")
                found[name.text] = variables_of(name.text, mass.text if mass else None, further)
        return found

    @cached_property
    def variables(self) -> list[str]:
        """Every variable that some variant sets."""
        return sorted({name for variables in self.variants.values() for name in variables})

    def variants_of(self, node: source.Mapping) -> list[str]:
        """The variants that a step or packing item is there for."""
        only = [text.text for text in texts(node, "only_for")]
        return [variant for variant in self.variants if not only or variant in only]

    def values(self, written: str, variants: list[str] | None = None) -> dict[str, list[str]]:
        """What a text with variables comes to → the variants where it does (one entry without any)."""
        found: dict[str, list[str]] = {}
        for variant, variables in self.variants.items():
            if variants is None or variant in variants:
                value = variables.get(written) or fill_variables(one_spelling(written), variables)
                found.setdefault(value, []).append(variant)
        return found or {written: []}


def _steps(operation: str, nodes: list[Node], within: source.Mapping) -> Iterator[StepNode]:
    for number, node in enumerate(nodes, start=1):
        if isinstance(node, source.Mapping):
            word = next((word for word in WORDS if node.get(word) is not None), "")
            yield StepNode(operation, number, word, node, within)


def all_texts(node: Node) -> Iterator[Scalar]:
    """Every text below a node."""
    if isinstance(node, Scalar):
        yield node
    elif isinstance(node, Sequence):
        for item in node.items:
            yield from all_texts(item)
    else:
        for entry in node.items():
            yield from all_texts(entry[1])
