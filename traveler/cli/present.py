"""How every command answers: findings, tables or JSON, and the exit code.

Exit codes: 0 fine, 1 findings, 2 could not do what was asked. Results go to stdout, findings and
failures to stderr; with ``--json`` one JSON document goes to stdout, whatever happens.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Mapping

from traveler.finding import Finding, blocking, order

FINE, FINDINGS, FAILED = 0, 1, 2


class CannotDo(Exception):  # noqa: N818 - it is an answer to a person, not a defect
    """What was asked cannot be done: bad usage, no such serial, store out of reach. Exit code 2."""

    def __init__(self, what: str, hint: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.hint = hint


def as_json(document: Mapping[str, object]) -> str:
    """The document as indented JSON text, non-ASCII characters as they are."""
    return json.dumps(document, ensure_ascii=False, indent=2, default=str)


def answer(
    result: Mapping[str, object],
    findings: Iterable[Finding] = (),
    *,
    text: str = "",
    json_wanted: bool = False,
) -> int:
    """Print a result with its findings and return the exit code (0, or 1 if a finding blocks)."""
    listed = order(findings)
    code = FINDINGS if blocking(listed) else FINE
    if json_wanted:
        print(as_json({**result, "findings": [one.as_dict() for one in listed], "exit": code}))
        return code
    if text:
        print(text)
    for one in listed:
        print(f"{one}" if one.weight == "blocking" else f"{one} ({one.weight})", file=sys.stderr)
    return code


def failure(problem: str, hint: str = "", *, json_wanted: bool = False) -> int:
    """Print why nothing could be done and return exit code 2."""
    if json_wanted:
        print(as_json({"error": problem, "hint": hint, "findings": [], "exit": FAILED}))
    else:
        print(f"traveler: {problem}" + (f"; {hint}" if hint else ""), file=sys.stderr)
    return FAILED
