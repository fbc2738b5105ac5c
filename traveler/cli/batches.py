"""What ``issue`` and ``print`` share: a batch on its way, watched, and told when it is done."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.present import CannotDo
from traveler.cli.progress import watched

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from traveler.jobs.print import Collating
    from traveler.sheets.batch.print_job import Printed

Collate = Annotated[
    bool,
    typer.Option("--collate", help="One file for the printer, in printing order, instead of one per unit."),
]
Duplex = Annotated[
    bool,
    typer.Option("--duplex", help="With --collate: a blank page where a unit would start on a back page."),
]


@dataclass(frozen=True, slots=True)
class Batch:
    """What was printed, in the order asked for; ``file`` is that of a collated batch, with its pages."""

    units: Sequence[Printed]
    file: Path | None = None
    pages: int = 0

    def as_dict(self) -> dict[str, object]:
        """For ``--json``; the findings are listed by the command."""
        told: dict[str, object] = {"units": [unit.as_dict() for unit in self.units]}
        return told | ({"file": str(self.file), "pages": self.pages} if self.file is not None else {})

    def told(self) -> list[str]:
        """The lines for a person."""
        if self.file is None:
            return [f"  {unit.serial}  {file}" for unit in self.units for file in unit.files]
        laid = sum(1 for unit in self.units if unit.files)
        return [f"  {laid} in printing order, {self.pages} pages  {self.file}"]


def together(collate: bool, duplex: bool) -> None:
    """Refuses what makes no sense together.

    Raises:
        CannotDo: ``--duplex`` without ``--collate``.
    """
    if duplex and not collate:
        what = "--duplex fills up the pages of units that share one file"
        raise CannotDo(what, "give --collate too; a file of one unit needs no filling up")


def apart(printed: Iterator[Printed], serials: Sequence[str]) -> Batch:
    """The batch, each unit in its file."""
    place = {serial: number for number, serial in enumerate(serials)}
    units = sorted(_watched(printed, len(serials)), key=lambda unit: place.get(unit.serial, len(place)))
    return Batch(units)


def collated(batch: Collating) -> Batch:
    """The batch, all units in one file; none is in it if it could not be written."""
    units = _watched(batch.printed, batch.total)
    if not batch.into.pages:
        return Batch([replace(unit, files=()) for unit in units])
    return Batch(units, batch.into.file, batch.into.pages)


def _watched(printed: Iterator[Printed], total: int) -> list[Printed]:
    done: list[Printed] = []
    try:
        for printout in watched(printed, total, "printing"):
            done.append(printout)  # noqa: PERF402 - how many there are is told when somebody interrupts
    except KeyboardInterrupt:
        what = f"interrupted after {len(done)} of {total} sheets; every file that is there is whole"
        raise CannotDo(what, "'traveler print --missing' goes on") from None
    return done
