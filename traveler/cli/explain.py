"""``explain``: why a finding matters, what to do, and an example, as ``docs/findings.md`` says."""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path
from typing import Annotated

from traveler.cli.answer import Answer
from traveler.cli.options import arg
from traveler.cli.request import Request, command
from traveler.finding import CannotDo

PACKAGE = Path(__file__).resolve().parent.parent
ROW = re.compile(r"^\| (?P<code>[A-Z]{3}\d{3}) \| (?P<cells>.+) \|$", re.MULTILINE)
LINK = re.compile(r"\[([^]]+)\]\([^)]+\)")


@dataclass(frozen=True, slots=True)
class Explained:
    """A finding as the page of findings explains it."""

    code: str
    weight: str
    title: str
    why: str
    to_do: str
    example: str = ""


@cache
def findings() -> dict[str, Explained]:
    """Code → what the page of findings says of it.

    Raises:
        FileNotFoundError: the installation lacks the page.
    """
    places = (PACKAGE / "_shipped" / "findings.md", PACKAGE.parent / "docs" / "findings.md")
    page = next((place for place in places if place.is_file()), places[0]).read_text(encoding="utf-8")
    rows = ((row["code"], LINK.sub(r"\1", row["cells"]).split(" | ")) for row in ROW.finditer(page))
    return {code: Explained(code, *(cell.replace("`", "").strip() for cell in cells)) for code, cells in rows}


@command("explain", shop=False)
def explain(
    request: Request,  # noqa: ARG001 - every command has one
    code: Annotated[str, arg("CODE", "Code of a finding, as REA001.")],
) -> Answer:
    """Explain a finding: why it matters, what to do, an example.

    Example: traveler explain REA001
    """
    from difflib import get_close_matches

    found = findings().get(code.strip().upper())
    if found is None:
        close = get_close_matches(code.strip().upper(), findings(), n=1)
        what = f"there is no finding {code.strip()}"
        raise CannotDo(what, f"did you mean {close[0]}?" if close else "codes are as REA001")
    lines = [
        f"{found.code}  {found.title} ({found.weight})",
        f"  why      {found.why}",
        f"  to do    {found.to_do}",
        f"  example  {found.example}",
    ]
    return Answer(asdict(found), lines)
