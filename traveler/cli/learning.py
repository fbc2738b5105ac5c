"""``traveler stats``: what the readings of all units say about a product and its checks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from traveler.cli.options import Json, Shop
from traveler.cli.present import CannotDo, answer, table
from traveler.cli.progress import watched
from traveler.cli.shop_at import session_at

if TYPE_CHECKING:
    from traveler.shop.session import Session
    from traveler.trace.stats.product_report import ProductReport

_Item = TypeVar("_Item")

Since = Annotated[
    str | None,
    typer.Option(
        "--since", metavar="WHEN", help="From this day on (2026-09-14), or the last 7d, 8w, 6m, 1y."
    ),
]
Until = Annotated[
    str | None, typer.Option("--until", metavar="DAY", help="Up to and with this day: 2026-09-30.")
]


def register(app: typer.Typer) -> None:
    """Add ``stats``."""
    app.command(name="stats")(stats)


def stats(
    product: Annotated[str, typer.Argument(metavar="PRODUCT", help="As its definition's file is named.")],
    check: Annotated[
        str | None, typer.Argument(metavar="[CHECK]", help="Id of one check, for the full picture.")
    ] = None,
    variant: Annotated[
        str | None, typer.Option("--variant", metavar="V", help="Only units of this variant.")
    ] = None,
    revision: Annotated[
        str | None, typer.Option("--revision", metavar="R", help="Only units built to this revision.")
    ] = None,
    position: Annotated[
        list[str] | None,
        typer.Option("--position", metavar="NAME=VALUE", help="Only there: spindle=3; may be repeated."),
    ] = None,
    since: Since = None,
    until: Until = None,
    last: Annotated[
        int,
        typer.Option("--last", metavar="N", min=0, help="Without a window: the N units issued last; 0: all."),
    ] = 1000,
    findings: Annotated[
        bool, typer.Option("--findings", help="Judge every unit as well and count what stands against them.")
    ] = False,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE", help="Write it as a PDF to print.")
    ] = None,
    html: Annotated[
        Path | None, typer.Option("--html", metavar="FILE", help="Write it as one HTML page, pictures in it.")
    ] = None,
    png: Annotated[
        Path | None, typer.Option("--png", metavar="DIR", help="Write every picture into this folder.")
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Say what the readings say: capability with intervals, drift, right the first time, what goes wrong.

    Without CHECK one line for each check and position; with it control chart, tolerance interval,
    normality, gauges and people compared, and what adjusting did. Units are judged by what they were issued
    with, struck entries never count, and readings against other limits stand in lines of their own.

    Example: traveler stats bobbin-winder runout --position end=far --since 6m --pdf runout.pdf
    """
    from traveler.files import check_ending
    from traveler.trace.stats.product_report import StatisticsRequest, statistics
    from traveler.trace.stats.report_pages import write_report

    check_ending(pdf, ".pdf")  # before the long reading, not after it
    check_ending(html, ".html", ".htm")
    with session_at(shop) as session:
        asked = StatisticsRequest(
            product, check, variant, revision, _positions(position or ()), start_of(session, since),
            end_of(session, until), last, findings,
        )  # fmt: skip
        report = statistics(session, asked, _shown)
        written = write_report(session, report, pdf=pdf, html=html, png=png)
    result = {**report.as_dict(), "files": [str(file) for file in written.files]}
    text = "\n".join([report_text(report), *(f"wrote {file}" for file in written.files)])
    return answer(result, written.findings, text=text, json_wanted=json_wanted)


def _shown(items: Iterable[_Item], total: int) -> Iterator[_Item]:
    return watched(items, total, "reading")


def _positions(given: Iterable[str]) -> dict[str, str]:
    """``spindle=3,end=far`` or each by itself."""
    found: dict[str, str] = {}
    for pair in (word for text in given for word in text.split(",")):
        name, equals, value = (part.strip() for part in pair.partition("="))
        if not (name and equals and value):
            what = f"'{pair}' is not a position"
            raise CannotDo(what, "write it as spindle=3")
        found[name] = value
    return found


def start_of(session: Session, text: str | None) -> datetime | None:
    """The moment ``--since`` begins at: a day in the shop's zone, or so long before now."""
    from traveler.cli.windows import day_begins

    return None if text is None else day_begins(session, text)


def end_of(session: Session, text: str | None) -> datetime | None:
    """The last moment of the day of ``--until``."""
    from traveler.cli.windows import day_ends

    return None if text is None else day_ends(session, text)


def report_text(report: ProductReport) -> str:
    """The report as text for the screen."""
    from traveler.trace.stats.report_pages import overall, title_of
    from traveler.trace.stats.series_report import HEADS, series_rows

    lines = [f"{title_of(report)}: {report.units} units"]
    lines.append(
        table(HEADS, [row.cells for row in series_rows(report.series)]) if report.series else "no reading"
    )
    for check_series in report.series if report.narrowed.check is not None else ():
        lines.append(f"\n{check_series.series.label}, {check_series.series.limits_text}")
        lines += [f"  {about}: {text}" for about, text in check_series.sentences()]
    lines.append("")
    lines += [f"{about}: {text}" for about, text in overall(report)]
    lines += [f"note: {note}" for note in report.notes]
    return "\n".join(lines)
