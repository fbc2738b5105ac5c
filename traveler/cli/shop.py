"""The group ``shop``, and the first steps: ``demo`` and ``explain``."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from traveler.cli.answer import Answer, console
from traveler.cli.request import Request, arg, command, first_moment, flag, now, opt
from traveler.finding import CannotDo, finding_codes
from traveler.text import did_you_mean

if TYPE_CHECKING:
    from rich.console import Console

    from traveler.demo.stage import Scene
    from traveler.trace.watch import Watched


LINK = re.compile(r"\[([^]]+)\]\([^)]+\)|`")
"""Links and code marks of the page, of which the words are shown."""


@command("shop create", shop=False)
def create(
    request: Request,  # noqa: ARG001 - every command has one
    folder: Annotated[Path, arg("DIR", "The folder; made if it is not there.")],
    name: Annotated[str, opt("NAME", "The shop's name, as on its sheets.")],
    page_size: Annotated[Literal["A4", "Letter"], flag("Paper of the sheets.")] = "A4",
    time_zone: Annotated[str, opt("ZONE", "IANA name, such as Europe/Madrid.")] = "UTC",
) -> Answer:
    """Create the folder of a new shop.

    It holds settings, people, gauges and a place for product definitions, with comments that explain them.
    Existing files are not changed.

    Example: traveler shop create shop --name "Marrowby Machine Works" --time-zone Europe/Madrid
    """
    from zoneinfo import available_timezones

    from traveler.jobs.set_up import set_up
    from traveler.shop.settings import Settings

    if not name.strip():
        what = "the shop has no name"
        raise CannotDo(what, 'give it one with --name "…"')
    if time_zone not in available_timezones():
        what = f"there is no time zone '{time_zone}'"
        raise CannotDo(what, "give an IANA name, such as Europe/Madrid or UTC")
    made = set_up(folder, Settings(name=name.strip(), page_size=page_size, time_zone=time_zone))
    lines = [f"created a shop in {made.folder}", *(f"  {file}" for file in made.files)]
    lines.append("next: put people and gauges into these files, and definitions into product_defs/")
    return Answer({"folder": str(made.folder), "files": [str(file) for file in made.files]}, lines)


@command("shop watch")
def watch(
    request: Request,
    since: Annotated[str, opt("DAY", "First day, or the last 7d, 8w, 6m, 1y.")] = "7d",
    to: Annotated[Path | None, opt("FILE", "Write it as a PDF as well.")] = None,
) -> Answer:
    """List what needs attention, most pressing first.

    Checks that drift toward a limit, low capability, gauges due, units stopped or waiting too long, open
    complaints, concessions, repeated problems. Each comes with the command that shows more. Exit code 1 if
    somebody must act.

    Example: traveler shop watch --since 14d
    """
    from traveler.files import check_ending
    from traveler.trace.reports import write_watch
    from traveler.trace.watch import watch as job

    check_ending(to, ".pdf")
    with request.session() as session:
        found = job(session, first_moment(session, since))
        findings = write_watch(session, found, to) if to is not None else ()
    files = [] if to is None else [str(to)]
    lines = [*_watch_lines(found), *(f"wrote {file}" for file in files)]
    return Answer({**found.as_dict(), "files": files}, lines, findings, urgent=found.pressing)


def _watch_lines(found: Watched) -> Iterator[str]:
    """The notices under their headings; of many alike only the first few."""
    from traveler.trace.watch import HEADINGS, grouped

    if not found.notices:
        yield f"nothing needs attention since {found.since.date()}"
    level = None
    for group in grouped(found.notices):
        if group.level is not level:
            yield f"{HEADINGS[group.level]}:" if level is None else f"\n{HEADINGS[group.level]}:"
            level = group.level
        for notice in group.notices:
            yield f"  {notice.subject:<10}  {notice.what}"
            yield f"  {'':<10}  > {notice.look}"
        if group.more:
            yield f"  {'':<10}  and {group.more} more (--json lists all)"


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


@command("demo", shop=False)
def demo(
    request: Request,
    folder: Annotated[Path | None, arg("DIR", "A new folder; without it a temporary one.")] = None,
) -> Answer:
    """Play the whole job on an invented shop.

    Issue, print, record, adjust, release, crate, ship, trace. The shop stays in its folder to be tried out.
    Exit code 0 only if everything went as planned, the one refusal included.

    Example: traveler demo shop
    """
    import tempfile

    from traveler.demo.story import Story

    where = folder or Path(tempfile.mkdtemp(prefix="traveler-demo-"))
    scenes: list[Scene] = []
    screen = console()
    for number, scene in enumerate(Story(where, now()).scenes(), 1):
        scenes.append(scene)
        if not request.json_wanted:
            _show(screen, number, scene, where)
    end = f"\nEverything went as planned. The shop stays in {where}: go there and try 'traveler status'"
    return Answer({"folder": str(where), "scenes": [scene.as_dict() for scene in scenes]}, [end])


def _show(screen: Console, number: int, scene: Scene, folder: Path) -> None:
    """One scene on the screen, files as they lie in the shop's folder."""
    from rich.text import Text

    from traveler.cli.unit import life_table, uses_table

    screen.print()
    screen.print(Text(f"{number:2}  {scene.title}", style="bold"))
    for line in scene.lines:
        screen.print(Text(f"    {line}"), soft_wrap=True)
    for finding in scene.findings:
        screen.print(Text(f"    ! {finding}", style="red"), soft_wrap=True)
    for file in scene.files:
        shown = file.relative_to(folder.absolute()) if file.is_relative_to(folder.absolute()) else file
        screen.print(Text(f"    → {shown}", style="cyan"), soft_wrap=True)
    if scene.life is not None:
        screen.print(Text(life_table(scene.life, scene.zone)), soft_wrap=True)
    if scene.uses:
        screen.print(Text(uses_table(scene.uses)), soft_wrap=True)
