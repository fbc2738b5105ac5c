"""``explain``: why a finding matters, what to do, and an example, as ``traveler/findings.yaml`` says."""

from __future__ import annotations

from typing import Annotated

from traveler.cli.answer import Answer
from traveler.cli.options import arg
from traveler.cli.request import Request, command
from traveler.finding import CannotDo, finding_codes
from traveler.text import did_you_mean


@command("explain", shop=False)
def explain(
    request: Request,  # noqa: ARG001 - every command has one
    code: Annotated[str, arg("CODE", "Code of a finding, as REA001.")],
) -> Answer:
    """Explain a finding: why it matters, what to do, an example.

    Example: traveler explain REA001
    """
    code = code.strip().upper()
    found = finding_codes().get(code)
    if found is None:
        what = f"there is no finding {code}"
        raise CannotDo(what, did_you_mean(code, finding_codes(), "codes are as REA001"))
    lines = [
        f"{code}  {found.title} ({found.weight})",
        f"  why      {found.why}",
        f"  to do    {found.do}",
        *([f"  example  {found.example}"] if found.example else []),
    ]
    names = ("title", "why", "do", "example")
    told = {"code": code, "weight": str(found.weight)} | {name: getattr(found, name) for name in names}
    return Answer(told, lines)
