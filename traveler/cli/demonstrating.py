"""``traveler demo``: a day of an invented shop, through the same jobs as the commands."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.clock import now
from traveler.cli.options import Json
from traveler.cli.present import answer, console

if TYPE_CHECKING:
    from rich.console import Console

    from traveler.demo.stage import Scene


def register(app: typer.Typer) -> None:
    """Add ``demo``."""
    app.command(name="demo")(demo)


def demo(
    folder: Annotated[
        Path | None, typer.Argument(metavar="DIR", help="A new folder; without it a temporary one.")
    ] = None,
    json_wanted: Json = False,
) -> int:
    """Show the whole job on an invented shop: issue, print, record, adjust, release, crate, ship, trace.

    The shop stays in its folder to be tried out further. The demonstration checks itself: it ends with exit
    code 0 only if everything went as told, the one refusal included.

    Example: traveler demo shop
    """
    import tempfile

    from traveler.demo.story import Story

    where = folder or Path(tempfile.mkdtemp(prefix="traveler-demo-"))
    scenes: list[Scene] = []
    screen = console()
    for number, scene in enumerate(Story(where, now()).scenes(), 1):
        scenes.append(scene)
        if not json_wanted:
            _show(screen, number, scene, where)
    result = {"folder": str(where), "scenes": [scene.as_dict() for scene in scenes]}
    text = f"\nEverything went as it should. The shop stays in {where}: go there and try 'traveler --help'"
    return answer(result, text=text, json_wanted=json_wanted)


def _show(screen: Console, number: int, scene: Scene, folder: Path) -> None:
    """One scene on the screen, files as they lie in the shop's folder."""
    from rich.text import Text

    from traveler.cli.tracing import life_table, uses_table

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
        screen.print(Text(life_table(scene.life, scene.zone)))
    if scene.uses:
        screen.print(Text(uses_table(scene.uses)))
