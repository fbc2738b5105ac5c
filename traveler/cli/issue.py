"""Units are issued and sheets printed: ``issue`` and ``print``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from traveler.cli.answer import Answer, unless, watched
from traveler.cli.request import Product, Request, SomeSerials, command, flag, maybe_day, opt
from traveler.cli.unit import all_named
from traveler.finding import CannotDo, Finding

if TYPE_CHECKING:
    from traveler.jobs.print import Collating
    from traveler.sheets.batch.print_job import Printed
    from traveler.shop.session import Session

Collate = Annotated[
    bool, flag("One file for the printer, in printing order, instead of one per unit.", "--collate")
]
Duplex = Annotated[
    bool, flag("With --collate: a blank page where a unit would start on a back page.", "--duplex")
]


@dataclass(frozen=True, slots=True)
class Batch:
    """What was printed, in the order asked for; ``file`` is that of a collated batch, with its pages."""

    units: Sequence[Printed]
    file: Path | None = None
    pages: int = 0

    def as_dict(self) -> dict[str, object]:
        """For ``--json``; the findings are listed by the command."""
        units: dict[str, object] = {"units": [unit.as_dict() for unit in self.units]}
        return units | ({"file": str(self.file), "pages": self.pages} if self.file is not None else {})

    def lines(self) -> Iterator[str]:
        """The lines for a person."""
        if self.file is None:
            yield from (f"  {unit.serial}  {file}" for unit in self.units for file in unit.files)
            return
        laid = sum(1 for unit in self.units if unit.files)
        yield f"  {laid} in printing order, {self.pages} pages  {self.file}"


@command("issue", by="needed", language=True)
def issue(
    request: Request,
    product: Product,
    variant: Annotated[str, opt("V", "Which variant of it.")],
    count: Annotated[int, opt("N", "How many units (or lots).")] = 1,
    order: Annotated[str | None, opt("REF", "Customer order; without it: for stock.")] = None,
    due: Annotated[str | None, opt("DAY", "When it is wanted: 2026-11-30.")] = None,
    option: Annotated[list[str] | None, opt("ID", "An option ordered; may repeat.")] = None,
    quantity: Annotated[int | None, opt("N", "Pieces of each lot, for parts.", min=1)] = None,
    collate: Collate = False,
    duplex: Duplex = False,
) -> Answer:
    """Issue units: serials, frozen definition, travelers.

    A definition that changed without a new revision is refused, and the change is shown. If the command is
    interrupted, every file that is there is whole, and 'traveler print --missing' prints the rest.

    Example: traveler issue bobbin-winder --variant 8 --count 2 --order 4471 --by rhale
    """
    from traveler.jobs import issue as job
    from traveler.jobs.print import collate_new, print_new

    _together(collate, duplex)
    options, day = tuple(option or ()), maybe_day(due)
    wanted = job.IssueRequest(product, variant, request.person, count, order, day, options, quantity)
    with request.session() as session:
        done = job.issue(session, wanted)
        if collate and done.serials:
            batch = _collated(collate_new(session, done.serials, duplex=duplex))
        else:
            batch = _apart(print_new(session, done.serials), done.serials)
    result: dict[str, object] = {"product": product, "variant": variant, "order": order}
    if done.plan is not None:
        result |= {"revision": done.plan.revision, "digest": done.plan.digest}
    result |= {**batch.as_dict(), "changes": list(done.changes)}
    lines = ["the definition changed since it was issued:", *done.changes] if done.changes else []
    if done.plan is not None:
        lines.append(f"issued {len(batch.units)} of {product} {variant}, revision {done.plan.revision}")
        lines += batch.lines()
    undone = unless(done.serials, "Nothing was issued.")
    return Answer(result, lines, [*done.findings, *_findings(batch)], undone=undone)


@command("print", by="optional", language=True)
def print_again(
    request: Request,
    serials: SomeSerials = None,
    order: Annotated[str | None, opt("REF", "All units of this order.")] = None,
    missing: Annotated[bool, flag("All units whose first traveler was not printed.", "--missing")] = False,
    sheet: Annotated[str, opt("NAME", "Which sheet.")] = "traveler",
    collate: Collate = False,
    duplex: Duplex = False,
) -> Answer:
    """Print sheets again, with their copy number.

    Each reprint is recorded. Sheets: traveler, final-checklist, crating-sheet, certificate, arrival-check,
    packing-list, unit-label, crate-label, record. --missing prints the first travelers that an interrupted
    issue left out.

    Example: traveler print BW8-2639-0001N --by rhale
    """
    from traveler.sheets.batch.catalog import SHEETS

    _together(collate, duplex)
    if missing == bool(serials or order):
        what = "the units to print must be named in one way"
        raise CannotDo(what, "give SERIAL, --order REF, or --missing alone")
    if sheet not in SHEETS:
        what = f"there is no sheet '{sheet}'"
        raise CannotDo(what, f"there is {', '.join(SHEETS)}")
    if not missing and SHEETS[sheet].counted:
        _ = request.person
    with request.session() as session:
        if missing:
            batch = _print_missing(session, collate=collate, duplex=duplex)
        else:
            asked = all_named(session, serials or ())
            batch = _print_again(request, session, asked, order, sheet, collate=collate, duplex=duplex)
    return Answer(batch.as_dict(), list(batch.lines()) or ["nothing to print"], _findings(batch))


def _print_missing(session: Session, *, collate: bool, duplex: bool) -> Batch:
    from traveler.jobs.print import collate_new, first_copies_missing, print_new

    wanted = first_copies_missing(session)
    if collate:
        return _collated(collate_new(session, wanted, duplex=duplex))
    return _apart(print_new(session, wanted), wanted)


def _print_again(
    request: Request,
    session: Session,
    serials: Sequence[str],
    order: str | None,
    sheet: str,
    *,
    collate: bool,
    duplex: bool,
) -> Batch:
    from traveler.jobs.print import collate_again, reprint, units_to_print

    person = request.by or ""
    if collate:
        return _collated(collate_again(session, serials, order, person, sheet, duplex=duplex))
    return _apart(reprint(session, serials, order, person, sheet), units_to_print(session, serials, order))


def _findings(batch: Batch) -> Iterator[Finding]:
    return (finding for unit in batch.units for finding in unit.findings)


def _together(collate: bool, duplex: bool) -> None:
    """Refuses ``--duplex`` without ``--collate``.

    Raises:
        CannotDo: it is so.
    """
    if duplex and not collate:
        what = "--duplex needs --collate"
        raise CannotDo(what, "a file of one unit needs no blank pages")


def _apart(printed: Iterator[Printed], serials: Sequence[str]) -> Batch:
    """The batch, each unit in its file."""
    place = {serial: number for number, serial in enumerate(serials)}
    units = _watched(printed, len(serials))
    return Batch(sorted(units, key=lambda unit: place.get(unit.serial, len(place))))


def _collated(batch: Collating) -> Batch:
    """The batch, all units in one file; none is in it if it could not be written."""
    units = _watched(batch.printed, batch.total)
    if not batch.into.pages:
        return Batch([replace(unit, files=()) for unit in units])
    return Batch(units, batch.into.file, batch.into.pages)


def _watched(printed: Iterator[Printed], total: int) -> list[Printed]:
    done: list[Printed] = []
    try:
        for unit in watched(printed, total, "printing"):
            done.append(unit)  # noqa: PERF402 - how many there are is reported after an interrupt
    except KeyboardInterrupt:
        what = f"interrupted after {len(done)} of {total} sheets; every file that is there is whole"
        raise CannotDo(what, "'traveler print --missing' prints the rest") from None
    return done
