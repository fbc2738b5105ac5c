"""``traveler others`` and ``contain``: what complained units share, and what is done about it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.options import Json, Shop
from traveler.cli.present import CannotDo, answer, table
from traveler.cli.shop_at import session_at
from traveler.text import read_day

if TYPE_CHECKING:
    from traveler.jobs.contain import Contained
    from traveler.trace.common_causes import CommonCauses, RankedCause

FEW = 8
"""Ranks that are shown beyond the convincing ones."""

MOST_NAMES = 4
"""Factors of one rank that are named."""


def register(app: typer.Typer) -> None:
    """Add ``others`` and ``contain``."""
    app.command(name="others")(others)
    app.command(name="contain")(contain)


def others(
    name: Annotated[
        str, typer.Argument(metavar="SERIAL[/NUMBER]", help="The case, as 'traveler cases' lists it.")
    ],
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Rank what a complained unit shares with others complained about, against how common that is without.

    Lots, suppliers, gauges, people, week, revision, variant, carrier, readings near a limit; corrected for
    how many there are to compare. Where the numbers are too small to tell anything, it says so.

    Example: traveler others BW8-2639-0001N
    """
    from traveler.trace.common_causes import common_causes as job

    with session_at(shop) as session, session.store.reading() as records:
        found = job(session, records, name)
    return answer(found.as_dict(), text=others_text(found), json_wanted=json_wanted)


def others_text(found: CommonCauses) -> str:
    """The ranking as text: what it says, then the table of what this unit carries."""
    head = f"case {found.case.name}: {found.case.complaint.text}"
    alike = ", ".join(found.complained) or "none"
    lines = [head, f"complained of alike: {alike}", "", *found.sentences]
    shown = [serial for serial in found.ranked if serial.here or serial.shared.convincing]
    shown = [
        ranked_cause for ranked_cause in shown if ranked_cause.shared.carriers < ranked_cause.shared.units
    ]  # what all carry tells nothing
    shown = [
        ranked_cause for at, ranked_cause in enumerate(shown) if at < FEW or ranked_cause.shared.convincing
    ]
    if shown:
        columns = ("rank", "shared", "complained", "of units with it", "chance", "corrected", "")
        lines += ["", table(columns, [_row(ranked_cause) for ranked_cause in shown])]
        lines.append(f"next: traveler contain --rank {shown[0].shared.rank} --from {found.case.name}")
    return "\n".join(lines)


def _row(ranked_cause: RankedCause) -> tuple[str, ...]:
    from traveler.trace.stats.numbers import chance

    shared = ranked_cause.shared
    marks = ("BEYOND CHANCE" if shared.convincing else "", "" if ranked_cause.here else "not on this unit")
    return (
        str(shared.rank),
        _name(ranked_cause),
        f"{shared.hits} of {shared.complained}",
        str(shared.carriers),
        chance(shared.p),
        chance(shared.p_holm) if shared.compared else "too few",
        "; ".join(mark for mark in marks if mark),
    )


def _name(ranked_cause: RankedCause) -> str:
    """What is shared; of many factors that no count can tell apart the first few."""
    names = [str(factor) for factor in ranked_cause.shared.factors]
    more = f" = {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return " = ".join(names[:MOST_NAMES]) + more


def contain(
    case: Annotated[str, typer.Option("--from", metavar="SERIAL[/NUMBER]", help="The case it is done for.")],
    rank: Annotated[
        str | None, typer.Option("--rank", metavar="N", help="What 'traveler others' ranks there.")
    ] = None,
    lot: Annotated[
        str | None, typer.Option("--lot", metavar="LOT", help="A lot, bought or made here.")
    ] = None,
    gauge: Annotated[str | None, typer.Option("--gauge", metavar="ID", help="A gauge.")] = None,
    person: Annotated[str | None, typer.Option("--person", metavar="ID", help="A person.")] = None,
    week: Annotated[
        str | None, typer.Option("--week", metavar="WEEK", help="The week of issue, as 2026-W31.")
    ] = None,
    revision: Annotated[str | None, typer.Option("--revision", metavar="REV", help="A revision.")] = None,
    variant: Annotated[str | None, typer.Option("--variant", metavar="VARIANT", help="A variant.")] = None,
    since: Annotated[
        str | None,
        typer.Option("--since", metavar="DAY", help="With a lot, gauge or person: used from this day."),
    ] = None,
    until: Annotated[
        str | None,
        typer.Option("--until", metavar="DAY", help="With a lot, gauge or person: used to this day."),
    ] = None,
    stop: Annotated[bool, typer.Option("--stop", help="Stop the units that have not left.")] = False,
    by: Annotated[str | None, typer.Option("--by", metavar="ID", help="Who stops them.")] = None,
    letters: Annotated[
        Path | None,
        typer.Option("--letters", metavar="FILE", help="Write a CSV with a letter for each that left."),
    ] = None,
    text: Annotated[
        str | None,
        typer.Option(
            "--text",
            metavar="TEXT",
            help="The letter; {customer} {serial} {product} {day} {shop} are filled in.",
        ),
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """List the units that share a cause and where they are; stop those here, write letters for the others.

    Without --stop and --letters nothing is changed. Nothing is stopped twice; the case is told what was done.

    Example: traveler contain --lot P-2112/78 --from BW8-2639-0001N --stop --by qmoor --letters letters.csv
    """
    from traveler.jobs.contain import LETTER, ContainRequest
    from traveler.jobs.contain import contain as job
    from traveler.trace.common_causes import Cause

    said = {
        "rank": rank, "lot": lot, "gauge": gauge, "person": person, "week": week, "revision": revision,
        "variant": variant,
    }  # fmt: skip
    asked = [(kind, value) for kind, value in said.items() if value is not None]
    if len(asked) != 1:
        what = "name one cause: --rank, --lot, --gauge, --person, --week, --revision or --variant"
        raise CannotDo(what)
    ((kind, value),) = asked
    if (since or until) and kind not in ("lot", "gauge", "person"):
        what = f"--since and --until do not go with --{kind}"
        raise CannotDo(what)
    first, last = (None if day is None else read_day(day) for day in (since, until))
    cause = Cause(kind, value, first, last)
    with session_at(shop) as session:
        done = job(session, ContainRequest(case, cause, stop, by, letters, text or LETTER))
    return answer(done.as_dict(), done.findings, text=contained_text(done), json_wanted=json_wanted)


def contained_text(done: Contained) -> str:
    """The units as text, and what was done."""
    from traveler.text import plural

    now = {stopping.serial: stopping for stopping in done.stopped}
    rows = []
    for unit in done.units:
        stopping = now.get(unit.unit.serial)
        act = "letter" if unit.left else "" if unit.gone else "to be stopped"
        if stopping is not None and stopping.entry is not None:
            act = "stopped" if stopping.new else "stopped before"
        where = stopping.where if stopping is not None and stopping.where else unit.where
        rows.append((unit.unit.serial, where, "yes" if unit.complained else "", act))
    count = f"{plural(len(done.units), 'unit')}, {len(done.here)} here, {len(done.left)} with customers"
    lines = [
        f"{done.cause}: {count}",
        table(("serial", "where it is", "complained", "action"), rows),
    ]
    if done.file is not None:
        lines.append(f"{plural(done.letters, 'letter')} in {done.file}")
    return "\n".join(lines)
