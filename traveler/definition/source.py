"""YAML as written: a tree of nodes that keeps line, column and every digit.

Every scalar is text: ``0.10`` keeps two decimals, ``010`` is not eight, ``12:30`` is not 750, ``no`` is not
false. An empty value and ``~`` mean that the value is absent. Duplicate keys, anchors, aliases, merge keys
and tags are findings: what a reader sees in the file is what it says.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import yaml

from traveler.finding import Finding, Place, Weight

_STRAY = re.compile(
    "[^\t\n\r\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)

_USUAL = (
    (
        "mapping values are not allowed",
        "put the text in quotes if it holds a colon, or correct the indentation",
    ),
    ("cannot start any token", "indent with spaces, and quote a text that starts with a special character"),
    ("could not find expected ':'", "a key needs a colon and a space after it"),
    ("expected <block end>", "the indentation does not fit the lines above"),
    ("did not find expected", "the indentation does not fit the lines above"),
    ("unexpected end of stream", "a quote or bracket is not closed"),
    ("expected ',' or", "a bracket is not closed, or a comma is missing"),
    ("unknown escape character", "use single quotes around a text with a backslash"),
)


def unprintable(text: str, file: str) -> Finding | None:
    """YML009 for the first control character or half a character, None for clean text."""
    start = 1 if text.startswith("\ufeff") else 0
    stray = _STRAY.search(text, start)
    if stray is None:
        return None
    line = text.count("\n", 0, stray.start()) + 1
    column = stray.start() - (text.rfind("\n", 0, stray.start()) + 1) + 1
    what = f"character U+{ord(stray.group()):04X} cannot be printed"
    return Finding("YML009", what, Place(file, line, column), hint="delete it and save the file as UTF-8")


def syntax_finding(problem: yaml.YAMLError, text: str, file: str) -> Finding:
    """YML001 with the line the parser stopped at and the usual cause."""
    mark = getattr(problem, "problem_mark", None) or getattr(problem, "context_mark", None)
    reason = str(getattr(problem, "problem", None) or "cannot be read")
    context = getattr(problem, "context", None)
    place = Place(file, mark.line + 1, mark.column + 1) if mark else Place(file, text.count("\n") + 1, 1)
    hint = next((cure for sign, cure in _USUAL if sign in reason), "compare with the lines above")
    what = f"not YAML: {reason}" + (f" ({context})" if context else "")
    return Finding("YML001", what, place, hint=hint)


DEEPEST = 24
LARGEST = 1_000_000
"""Characters of one file; the largest real definitions are a twentieth of that."""

Plain = str | list["Plain"] | dict[str, "Plain"] | None
Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Scalar:
    """One value as written. ``absent`` where nothing, or ``~``, is written."""

    place: Place
    text: str
    absent: bool = False


@dataclass(frozen=True, slots=True)
class Sequence:
    """A list."""

    place: Place
    items: tuple[Node, ...] = ()


@dataclass(frozen=True, slots=True)
class Mapping:
    """Keys with values, in the order written; of a duplicate key only the first is kept."""

    place: Place
    entries: tuple[tuple[Scalar, Node], ...] = ()

    def get(self, key: str) -> Node | None:
        """The value of a key; None where the key or its value is absent."""
        return next((value for name, value in self.items() if name.text == key), None)

    def key(self, key: str) -> Scalar | None:
        """The key itself, for its place."""
        return next((name for name, _ in self.entries if name.text == key), None)

    def items(self) -> Iterator[tuple[Scalar, Node]]:
        """The entries whose value is there."""
        return ((name, value) for name, value in self.entries if not is_absent(value))


Node = Scalar | Sequence | Mapping


def is_absent(node: Node) -> bool:
    """Whether nothing is written there."""
    return isinstance(node, Scalar) and node.absent


@dataclass(frozen=True, slots=True)
class Source:
    """What a file says: its root (None where it cannot be read at all) and what is wrong with the writing."""

    root: Node | None
    findings: tuple[Finding, ...]


def read_source(text: str, file: str) -> Source:
    """The tree of one YAML document.

    Findings: YML001 not YAML, YML002 duplicate key, YML003 anchor or alias, YML004 tag, YML005 merge key,
    YML006 nothing in the file, YML007 a second document, YML008 too large or nested too deep, YML009 a
    character that cannot be printed, YML010 a key that is not plain text, YML011 text lost to a comment.
    """
    if len(text) > LARGEST:
        what = f"the file has {len(text)} characters, at most {LARGEST} are read"
        return Source(None, (Finding("YML008", what, Place(file, 1, 1)),))
    if (stray := unprintable(text, file)) is not None:
        return Source(None, (stray,))
    composer = _Composer(text, file)
    try:
        root = composer.document()
    except yaml.YAMLError as problem:
        composer.findings.append(syntax_finding(problem, text, file))
        root = None
    except _TooDeep:
        root = None
    return Source(root, tuple(composer.findings))


class _TooDeep(Exception):
    """Nesting deeper than any definition needs."""


class _Composer:
    """Turns the parser's events into nodes and collects what is wrong with the writing."""

    def __init__(self, text: str, file: str) -> None:
        self.file = file
        self.lines = text.splitlines()
        self.findings: list[Finding] = []
        self.events = iter(yaml.parse(text, Loader=yaml.BaseLoader))

    def document(self) -> Node | None:
        """The first document; a further one is a finding."""
        root: Node | None = None
        documents = 0
        for event in self.events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self.report("YML007", "a second document starts here", event, "keep one in a file")
                    break
                root = self.node(next(self.events), 0)
        if root is None or is_absent(root):
            self.findings.append(Finding("YML006", "nothing is written here", Place(self.file, 1, 1)))
            return None
        return root

    def place(self, event: yaml.Event) -> Place:
        """Where an event starts, counted from 1."""
        mark = event.start_mark
        return Place(self.file, mark.line + 1, mark.column + 1) if mark else Place(self.file)

    def report(self, code: str, what: str, event: yaml.Event, hint: str) -> None:
        self.findings.append(Finding(code, what, self.place(event), hint=hint))

    def node(self, event: yaml.Event, depth: int) -> Node:
        if depth > DEEPEST:
            self.report("YML008", f"nested more than {DEEPEST} deep", event, "write it flatter")
            raise _TooDeep
        self.refuse_specials(event)
        if isinstance(event, yaml.MappingStartEvent):
            return self.mapping(event, depth)
        if isinstance(event, yaml.SequenceStartEvent):
            items = []
            while not isinstance(follower := next(self.events), yaml.SequenceEndEvent):
                items.append(self.node(follower, depth + 1))
            return Sequence(self.place(event), tuple(items))
        if isinstance(event, yaml.ScalarEvent):
            self.warn_of_comment(event)
            plain = event.style in (None, "")
            return Scalar(self.place(event), event.value, absent=plain and event.value in ("", "~"))
        return Scalar(self.place(event), "", absent=True)

    def mapping(self, event: yaml.Event, depth: int) -> Mapping:
        entries: list[tuple[Scalar, Node]] = []
        seen: dict[str, int] = {}
        while not isinstance(follower := next(self.events), yaml.MappingEndEvent):
            key = self.node(follower, depth + 1)
            value = self.node(next(self.events), depth + 1)
            if not isinstance(key, Scalar):
                self.report("YML010", "a key must be plain text", follower, "write one word before the colon")
            elif key.text == "<<":
                self.report("YML005", "merge keys are not read", follower, "write the values out here")
            elif key.text in seen:
                what = f"key '{key.text}' is given twice, first in line {seen[key.text]}"
                self.report("YML002", what, follower, "keep one of the two")
            else:
                seen[key.text] = key.place.line or 0
                entries.append((key, value))
        return Mapping(self.place(event), tuple(entries))

    def refuse_specials(self, event: yaml.Event) -> None:
        anchor, tag = getattr(event, "anchor", None), getattr(event, "tag", None)
        if anchor is not None:
            what = f"anchors and aliases are not read: '{anchor}'"
            self.report("YML003", what, event, "write the values out here")
        if tag not in (None, "!"):
            self.report("YML004", f"tags are not read: '{tag}'", event, "every value is text as written")

    def warn_of_comment(self, event: yaml.ScalarEvent) -> None:
        """`Bolt #8 screws` loses its end to a comment; a comment of ours has a space after the sign."""
        end = event.end_mark
        if event.style not in (None, "") or end is None or end.line >= len(self.lines):
            return
        if lost := re.match(r"\s+(#[^\s#]\S*)", self.lines[end.line][end.column :]):
            place = Place(self.file, end.line + 1, end.column + 1 + lost.start(1))
            what = f"'{lost.group(1)}' and what follows is a comment, not part of the text"
            hint = "put the text in quotes, or write a space after the #"
            self.findings.append(Finding("YML011", what, place, Weight.WARNING, hint=hint))


def plain_content(node: Node) -> Plain:
    """The tree as text, lists and mappings; keys with an absent value are left out."""
    if isinstance(node, Mapping):
        return {key.text: plain_content(value) for key, value in node.items()}
    if isinstance(node, Sequence):
        return [plain_content(item) for item in node.items]
    return None if node.absent else node.text


def node_places(node: Node, path: Path = ()) -> dict[Path, Place]:
    """Path → place of every value: ``("operations", 0, "title")`` → line and column."""
    found: dict[Path, Place] = {path: node.place}
    if isinstance(node, Mapping):
        for key, value in node.items():
            found |= node_places(value, (*path, key.text))
    elif isinstance(node, Sequence):
        for index, item in enumerate(node.items):
            found |= node_places(item, (*path, index))
    return found
