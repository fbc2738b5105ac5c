"""``traveler gauge study``: how much of the spread of readings is the gauge and who holds it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from traveler.cli.clock import now
from traveler.cli.gauge_group import gauge_group
from traveler.cli.options import Json, Shop
from traveler.cli.present import CannotDo, Found, answer
from traveler.cli.shop_at import shop_folder

if TYPE_CHECKING:
    from traveler.jobs.gauges import InRegister


def register(app: typer.Typer) -> None:
    """Add ``gauge study``."""
    gauge_group(app).command(name="study")(study)


def study(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="CSV with part, operator, trial, value.")],
    method: Annotated[
        Literal["anova", "average-range"], typer.Option("--method", help="How the spread is divided.")
    ] = "anova",
    interaction: Annotated[
        Literal["auto", "with", "without"],
        typer.Option("--interaction", help="Of part and operator; auto pools one that may be chance."),
    ] = "auto",
    unit: Annotated[
        str | None, typer.Option("--unit", metavar="UNIT", help="Of values that have none in the file.")
    ] = None,
    tolerance: Annotated[
        str | None,
        typer.Option("--tolerance", metavar="WIDTH", help="Its width, or two-sided limits: '25 ± 0.05 mm'."),
    ] = None,
    resolution: Annotated[
        str | None, typer.Option("--resolution", metavar="STEP", help="Step of the display: '0.001 mm'.")
    ] = None,
    k: Annotated[str, typer.Option("--k", metavar="K", help="Coverage factor of the uncertainty.")] = "2",
    plot: Annotated[
        Path | None, typer.Option("--plot", metavar="FILE", help="Draw it: .png, .svg or .pdf.")
    ] = None,
    gauge: Annotated[
        str | None,
        typer.Option(
            "--gauge", metavar="ID", help="Gauge of the register, for its resolution and calibration."
        ),
    ] = None,
    write: Annotated[
        bool, typer.Option("--set", help="Write the expanded uncertainty into gauges.yaml (needs --gauge).")
    ] = False,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Divide the spread of readings into gauge, people and parts: several people measure several parts.

    Gives repeatability, reproducibility, the gauge's share (%GRR), the number of distinct categories, and the
    expanded uncertainty to put into the register.

    Example: traveler gauge study indicator.csv --tolerance "0.05 mm" --plot indicator.png --gauge IND-03
    --set
    """
    from traveler.cli.study_text import study_json, study_text
    from traveler.jobs.gauges import gauge_study
    from traveler.trace.gauge_study import StudyRequest

    if write and gauge is None:
        what = "--set needs the gauge"
        raise CannotDo(what, "name it with --gauge ID")
    register = _in_register(shop, gauge, write=write) if gauge is not None else None
    asked = StudyRequest(method, interaction, unit, tolerance, resolution, k)
    done = gauge_study(file, asked, register=register, plot=plot)
    return answer(study_json(done), done.result.findings, text=study_text(done), json_wanted=json_wanted)


def _in_register(shop: Path | None, gauge: str, *, write: bool) -> InRegister:
    """The gauge's place in the shop's register.

    Raises:
        CannotDo: there is no shop.
        Found: its files have blocking findings.
    """
    from traveler.jobs.gauges import InRegister
    from traveler.shop.folder import open_shop

    opened = open_shop(shop_folder(shop))
    if opened.shop is None:
        raise Found(opened.findings)
    return InRegister(opened.shop, gauge, now().astimezone(opened.shop.zone).date(), write)
