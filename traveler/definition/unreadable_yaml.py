"""What to tell somebody whose file is not YAML: where it breaks, and what usually causes that."""

from __future__ import annotations

import re

import yaml

from traveler.finding import Finding, Place

_STRAY = re.compile(
    "[^\t\n\r\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)

_USUAL = (
    ("mapping values are not allowed", "put the text in quotes if it holds a colon, or mend the indentation"),
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
    said = str(getattr(problem, "problem", None) or "cannot be read")
    context = getattr(problem, "context", None)
    place = Place(file, mark.line + 1, mark.column + 1) if mark else Place(file, text.count("\n") + 1, 1)
    hint = next((cure for sign, cure in _USUAL if sign in said), "compare with the lines above")
    what = f"not YAML: {said}" + (f" ({context})" if context else "")
    return Finding("YML001", what, place, hint=hint)
