"""The group ``readings``: statistics of all readings, judging one of them, tables for other tools."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, TypeVar

from traveler.cli.answer import Answer, Column, table, watched
from traveler.cli.definition import read
from traveler.cli.request import (
    Product,
    Reports,
    Request,
    Since,
    Until,
    arg,
    command,
    first_moment,
    flag,
    last_moment,
    opt,
)
from traveler.finding import CannotDo

if TYPE_CHECKING:
    from traveler.finding import Finding
    from traveler.measure.judge import Judgement
    from traveler.trace.stats.product_report import ProductReport

_Item = TypeVar("_Item")

NARROWED = {"op": 6, "n": 5, "limits": 4, "first time": 3, "drift": 2, "worst reading": 1}
"""Columns of the statistics that a narrow terminal leaves out, the greatest first."""


@command("readings statistics")
def statistics(
    request: Request,
    product: Product,
    check: Annotated[str | None, arg("CHECK", "Id of one check, for the full picture.")] = None,
    variant: Annotated[str | None, opt("V", "Only units of this variant.")] = None,
    revision: Annotated[str | None, opt("R", "Only units built to this revision.")] = None,
    position: Annotated[list[str] | None, opt("NAME=VALUE", "Only there: spindle=3; may repeat.")] = None,
    since: Since = None,
    until: Until = None,
    last: Annotated[int, opt("N", "Without a window: the N units issued last; 0: all.", min=0)] = 1000,
    findings: Annotated[
        bool, flag("Judge every unit as well, and count its findings.", "--findings")
    ] = False,
    to: Reports = None,
) -> Answer:
    """Show statistics of readings.

    Without CHECK: one line for each check and position, with capability, drift and right the first time.
    With it: control chart, tolerance interval, normality, gauges and people compared, effect of adjusting.
    --to writes a report (.pdf, .html) or a folder of pictures.

    Example: traveler readings statistics bobbin-winder runout --position end=far --since 6m --to runout.pdf
    """
    from traveler.trace.stats.product_report import StatisticsRequest
    from traveler.trace.stats.product_report import statistics as job
    from traveler.trace.stats.report_pages import write_report

    pdf, html, pictures = _reports(to or ())
    with request.session() as session:
        first = first_moment(session, since) if since is not None else None
        until_moment = last_moment(session, until) if until is not None else None
        where = _positions(position or ())
        asked = StatisticsRequest(
            product, check, variant, revision, where, first, until_moment, last, findings
        )
        report = job(session, asked, _reading)
        written = write_report(session, report, pdf=pdf, html=html, png=pictures)
    result = {**report.as_dict(), "files": [str(file) for file in written.files]}
    lines = [*_report_lines(report), *(f"wrote {file}" for file in written.files)]
    return Answer(result, lines, written.findings)


def _reports(to: Iterable[Path]) -> tuple[Path | None, Path | None, Path | None]:
    """The PDF, the HTML page and the folder among the files named.

    Raises:
        CannotDo: one has another ending, or two are of one kind.
    """
    found: dict[str, Path] = {}
    for file in to:
        ending = file.suffix.lower().replace(".html", ".htm")
        if ending not in (".pdf", ".htm", "") or ending in found:
            what = f"--to {file}: no such kind of file, or the second of its kind"
            raise CannotDo(what, "name it .pdf or .html, or name a folder for pictures")
        found[ending] = file
    return found.get(".pdf"), found.get(".htm"), found.get("")


def _reading(items: Iterable[_Item], total: int) -> Iterator[_Item]:
    return watched(items, total, "reading")


def _positions(given: Iterable[str]) -> dict[str, str]:
    """``spindle=3,end=far`` or each by itself."""
    found: dict[str, str] = {}
    for pair in (part for text in given for part in text.split(",")):
        name, equals, value = (part.strip() for part in pair.partition("="))
        if not (name and equals and value):
            what = f"'{pair}' is not a position"
            raise CannotDo(what, "write it as spindle=3")
        found[name] = value
    return found


def _report_lines(report: ProductReport) -> Iterator[str]:
    from traveler.trace.stats.report_pages import overall, title_of
    from traveler.trace.stats.series_report import HEADS, series_cells

    yield f"{title_of(report)}: {report.units} units"
    columns = [Column(head, drop=NARROWED.get(head, 0)) for head in HEADS]
    yield table(columns, list(map(series_cells, report.series))) if report.series else "no reading"
    for series in report.series if report.narrowed.check is not None else ():
        yield f"\n{series.series.label}, {series.series.limits_text}"
        yield from (f"  {about}: {text}" for about, text in series.sentences())
    yield ""
    yield from (f"{about}: {text}" for about, text in overall(report))
    yield from (f"note: {note}" for note in report.notes)


@command("readings judge", shop=False)
def judge(
    request: Request,  # noqa: ARG001 - every command has one
    limits: Annotated[str, opt("LIMITS", "As in a definition.")],
    reading: Annotated[str, opt("READING", "With its unit of measure: '0.049 mm'.")],
    uncertainty: Annotated[str | None, opt("U", "Expanded uncertainty: '0.003 mm'.")] = None,
    k: Annotated[str, opt("K", "Coverage factor of the uncertainty.")] = "2",
    rule: Annotated[
        Literal["simple", "guarded"],
        flag("guarded: the tolerance is reduced by the uncertainty (ISO 14253-1)."),
    ] = "simple",
    guard_factor: Annotated[str, opt("R", "Guard band as a multiple of the uncertainty.")] = "1",
    rounding: Annotated[
        Literal["absolute", "rounding"], flag("How a reading is compared with a limit (ASTM E29).")
    ] = "absolute",
) -> Answer:
    """Judge one reading: in, out, or doubtful.

    Doubtful is inside the guard band. Exit code 0 for in, 1 for out and doubtful, 2 if limits or reading
    cannot be read.

    Example: traveler readings judge --limits "max 0.05 mm" --reading "0.049 mm" --uncertainty "0.003 mm"
    """
    from traveler.measure.judge import judge_reading as judged
    from traveler.measure.limits import parse_limits
    from traveler.measure.number import parse_number
    from traveler.measure.quantity import parse_quantity

    found = read(
        lambda: judged(
            parse_limits(limits),
            parse_quantity(reading),
            uncertainty=None if uncertainty is None else parse_quantity(uncertainty),
            rule=rule,
            guard_factor=parse_number(guard_factor).value,
            rounding=rounding,
            k=parse_number(k).value,
        )
    )
    return Answer(found.as_dict(), _judgement_lines(found), _judgement_findings(found))


def _judgement_lines(found: Judgement) -> Iterator[str]:
    words = {"in": "within limits", "out": "outside limits"}
    yield f"{words.get(found.state, found.state)}: {found.reading} against {found.limits.describe()}"
    if found.rule == "guarded" and found.acceptance is not None:
        yield f"accept       {found.acceptance.describe()}"
    if found.probability is not None:
        yield f"probability  {found.probability} that the true value is within the limits"
    if found.ratio is not None:
        yield f"ratio        {found.as_dict()['ratio']} of tolerance to uncertainty"


def _judgement_findings(found: Judgement) -> Iterator[Finding]:
    from traveler.finding import Finding
    from traveler.verdict.rows import JUDGED_CODES

    listed = [(JUDGED_CODES[problem.code], problem.what, problem.hint) for problem in found.problems]
    if found.state == "out":
        listed.append((JUDGED_CODES["out"], f"{found.reading} is outside {found.limits.describe()}", ""))
    elif found.state == "doubtful" and found.acceptance is not None:
        inside, accepted = found.limits.describe(), found.acceptance.describe()
        what = f"{found.reading} is inside {inside}, not inside {accepted}"
        listed.append((JUDGED_CODES["doubtful"], what, "read again with a better gauge, or adjust further"))
    for code, what, hint in listed:
        yield Finding(code, what, hint=hint)


@command("readings export")
def export(
    request: Request,
    to: Annotated[Path, opt("FILE", "A .csv (one table) or a .sqlite (all of them).")],
    product: Annotated[str | None, opt("PRODUCT", "Only units of this product.")] = None,
    since: Since = None,
    of: Annotated[str, opt("TABLE", "Which table a CSV holds.", "--table")] = "readings",
    findings: Annotated[
        bool, flag("Judge every unit, so that the table of findings is filled.", "--findings")
    ] = False,
) -> Answer:
    """Write tables for a spreadsheet or a database tool.

    Numbers are exact decimal text with their unit of measure beside them, times ISO 8601 in UTC. A CSV
    holds one table: readings, units, worked, adjustments, fitted or findings; a SQLite file all of them.

    Example: traveler readings export --product bobbin-winder --since 1y --to readings.csv
    """
    from traveler.trace.export import ExportRequest, export_readings

    with request.session() as session:
        first = first_moment(session, since) if since is not None else None
        wanted = ExportRequest(to, product, first, of, findings)
        done = export_readings(session, wanted, _reading)
    rows = ", ".join(f"{count} {name}" for name, count in done.rows.items())
    return Answer(done.as_dict(), [f"wrote {done.file}: {rows} of {done.units} units"])
