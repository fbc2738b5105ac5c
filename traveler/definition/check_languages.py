"""Check that a text given in several languages is given in all that the file uses."""

from __future__ import annotations

import re
from collections.abc import Iterator

from traveler.definition.facts import Facts
from traveler.definition.source import Mapping, Node, Scalar, Sequence
from traveler.finding import Finding, Weight

_LANGUAGE = re.compile(r"[a-z]{2}")


def languages(facts: Facts) -> Iterator[Finding]:
    """DEF315 (warning): a text is given in fewer languages than others of the file."""
    texts = list(_by_language(facts.root))
    used = sorted({key.text for text in texts for key, _ in text.items()})
    for text in texts:
        given = {key.text for key, _ in text.items()}
        if missing := [language for language in used if language not in given]:
            what = f"this text is not given in {', '.join(missing)}, other texts are"
            yield Finding(
                "DEF315", what, text.place, Weight.WARNING, hint="another language is printed instead"
            )


def _by_language(node: Node) -> Iterator[Mapping]:
    """The mappings from language to text below a node."""
    if isinstance(node, Sequence):
        for item in node.items:
            yield from _by_language(item)
    elif isinstance(node, Mapping):
        entries = list(node.items())
        if entries and all(
            isinstance(value, Scalar) and _LANGUAGE.fullmatch(key.text) for key, value in entries
        ):
            if {key.text for key, _ in entries} - {"at", "by", "do", "id"}:
                yield node
        else:
            for _, value in entries:
                yield from _by_language(value)
