"""``explain``: why a finding matters, what to do, and an example, as ``docs/findings.md`` lists them."""

from __future__ import annotations

import re
from typing import Annotated

from traveler.cli.answer import Answer
from traveler.cli.options import arg
from traveler.cli.request import Request, command
from traveler.finding import CannotDo, finding_codes
from traveler.text import did_you_mean

LINK = re.compile(r"\[([^]]+)\]\([^)]+\)|`")
"""Links and code marks of the page, of which the words are shown."""


@command("explain", shop=False)
def explain(
    request: Request,  # noqa: ARG001 - every command has one
    code: Annotated[str, arg("CODE", "Code of a finding, as REA001.")],
) -> Answer:
    """Explain a finding: why it matters, what to do, an example.

    Example: traveler explain REA001
    """
    wanted, codes = code.strip().upper(), finding_codes()
    found = codes.get(wanted)
    if found is None:
        what = f"there is no finding {code.strip()[:20]}"
        raise CannotDo(what, did_you_mean(wanted, codes, "write it as REA001"))
    to_do = LINK.sub(r"\1", found.do)
    firm = ", its weight cannot be lowered" if found.firm else ""
    result = {
        "code": wanted, "weight": str(found.weight), "firm": found.firm, "title": found.title,
        "why": found.why, "to_do": to_do, "example": found.example,
    }  # fmt: skip
    lines = [
        f"{wanted}  {found.title} ({found.weight}{firm})",
        f"  why      {found.why}",
        f"  to do    {to_do}",
        f"  example  {found.example}",
    ]
    return Answer(result, lines)
