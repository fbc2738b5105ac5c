"""``traveler watch``: what a director should know this week."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.options import Json, Shop
from traveler.cli.present import FINDINGS, FINE, answer, as_json
from traveler.cli.shop_at import session_at

if TYPE_CHECKING:
    from traveler.trace.watch import Watched


def register(app: typer.Typer) -> None:
    """Add ``watch``."""
    app.command(name="watch")(watch)


def watch(
    since: Annotated[
        str,
        typer.Option("--since", metavar="WHEN", help="From this day on, or the last 7d, 8w, 6m, 1y."),
    ] = "7d",
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE", help="Write it as a PDF to print as well.")
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """List what a director should know this week, most pressing first, each with the command to look further.

    Checks drifting toward a limit, capability under the shop's minimum, gauges due, units stopped or waiting
    too long, open complaints, concessions, troubles that repeat. Exit code 1 where something is to be acted
    on, else 0.

    Example: traveler watch --since 14d
    """
    from traveler.cli.windows import day_begins
    from traveler.files import check_ending
    from traveler.trace.reports import write_watch
    from traveler.trace.watch import watch as look

    check_ending(pdf, ".pdf")
    with session_at(shop) as session:
        found = look(session, day_begins(session, since))
        findings = write_watch(session, found, pdf) if pdf is not None else ()
    files = [] if pdf is None else [str(pdf)]
    code = max(FINDINGS if found.pressing else FINE, answer({}, findings) if findings else FINE)
    if json_wanted:
        told = [finding.as_dict() for finding in findings]
        print(as_json({**found.as_dict(), "files": files, "findings": told, "exit": code}))
        return code
    print("\n".join([watch_text(found), *(f"wrote {file}" for file in files)]))
    return code


def watch_text(found: Watched) -> str:
    """The notices as text, under their headings; of many alike only the first few."""
    from traveler.trace.watch import HEADINGS, grouped

    if not found.notices:
        return f"nothing to tell since {found.since.date()}"
    lines: list[str] = []
    told = None
    for group in grouped(found.notices):
        if group.level is not told:
            lines.append(f"{HEADINGS[group.level]}:" if told is None else f"\n{HEADINGS[group.level]}:")
            told = group.level
        for notice in group.notices:
            lines += [f"  {notice.subject:<10}  {notice.what}", f"  {'':<10}  > {notice.look}"]
        if group.more:
            lines.append(f"  {'':<10}  and {group.more} more (--json lists all)")
    return "\n".join(lines)
