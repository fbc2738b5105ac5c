"""``traveler issue``, ``print`` and ``blank``: serials are given, sheets printed, files to fill written."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Literal

import typer

from traveler.cli.batches import Collate, Duplex, apart, collated, together
from traveler.cli.options import By, Json, Language, Serial, Shop
from traveler.cli.present import CannotDo, answer
from traveler.cli.shop_at import session_at
from traveler.text import read_day


def register(app: typer.Typer) -> None:
    """Add ``issue``, ``print`` and ``blank``."""
    app.command(name="issue")(issue)
    app.command(name="print")(print_again)
    app.command(name="blank")(blank)


def issue(
    product: Annotated[str, typer.Argument(metavar="PRODUCT", help="As its definition's file is named.")],
    variant: Annotated[str, typer.Option("--variant", metavar="V", help="Which variant of it.")],
    by: By,
    count: Annotated[int, typer.Option("--count", metavar="N", help="How many units (or lots).")] = 1,
    order: Annotated[
        str | None, typer.Option("--order", metavar="REF", help="Customer order; without it: for stock.")
    ] = None,
    due: Annotated[
        str | None, typer.Option("--due", metavar="DAY", help="When it is wanted: 2026-11-30.")
    ] = None,
    option: Annotated[
        list[str] | None, typer.Option("--option", metavar="ID", help="An option ordered; may be repeated.")
    ] = None,
    quantity: Annotated[
        int | None, typer.Option("--quantity", metavar="N", min=1, help="Pieces of each lot, for parts.")
    ] = None,
    collate: Collate = False,
    duplex: Duplex = False,
    language: Language = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Issue units: give them serials, freeze the definition they are built to, print their travelers.

    A definition that was changed without raising its revision is refused, and the change is shown. Many
    travelers are printed by all cores; an interrupted batch leaves whole files only, and
    'traveler print --missing' goes on with it.

    Example: traveler issue bobbin-winder --variant 8 --count 2 --order 4471 --by rhale
    """
    from traveler.jobs import issue as job
    from traveler.jobs.print import collate_new, print_new

    together(collate, duplex)
    wanted_by = read_day(due) if due is not None else None
    wanted = job.IssueRequest(
        product, variant, by, count, order, wanted_by, tuple(option or ()), quantity
    )  # fmt: skip
    with session_at(shop, language) as session:
        done = job.issue(session, wanted)
        if collate and done.serials:
            batch = collated(collate_new(session, done.serials, duplex=duplex))
        else:
            batch = apart(print_new(session, done.serials), done.serials)
    printed = batch.units
    findings = dict.fromkeys([*done.findings, *(finding for unit in printed for finding in unit.findings)])
    result: dict[str, object] = {"product": product, "variant": variant, "order": order}
    if done.plan is not None:
        result |= {"revision": done.plan.revision, "digest": done.plan.digest}
    result |= {**batch.as_dict(), "changes": list(done.changes)}
    lines = [f"since it was issued, the definition changed:\n{line}" for line in done.changes[:1]]
    lines += done.changes[1:]
    if done.plan is not None:
        lines.append(f"issued {len(printed)} of {product} {variant}, revision {done.plan.revision}")
        lines += batch.told()
    return answer(result, findings, text="\n".join(lines), json_wanted=json_wanted)


def print_again(
    serials: Annotated[
        list[str] | None, typer.Argument(metavar="SERIAL", help="Serial numbers with check characters.")
    ] = None,
    order: Annotated[
        str | None, typer.Option("--order", metavar="REF", help="All units of this order.")
    ] = None,
    missing: Annotated[
        bool, typer.Option("--missing", help="All units whose first traveler was never written.")
    ] = False,
    sheet: Annotated[
        str, typer.Option("--sheet", metavar="NAME", help="Which sheet; 'certificate', 'unit-label', …")
    ] = "traveler",
    by: Annotated[str | None, typer.Option("--by", metavar="ID", help="Who prints again.")] = None,
    collate: Collate = False,
    duplex: Duplex = False,
    language: Language = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Print sheets again: each is marked with its copy number, and the reprint is recorded.

    Sheets: traveler, final-checklist, crating-sheet, certificate, arrival-check, packing-list, unit-label,
    crate-label, record. With --missing the first travelers are written that an interrupted issue left out.
    With --collate all go into one file for the printer, which has no fields to fill in.

    Example: traveler print BW8-2639-0001N --by rhale
    """
    from traveler.jobs.print import (
        collate_again,
        collate_new,
        first_copies_missing,
        print_new,
        reprint,
        units_to_print,
    )
    from traveler.record.plans import checked_serials
    from traveler.sheets.batch.catalog import SHEETS

    together(collate, duplex)
    asked = checked_serials(serials or ())
    if missing == bool(asked or order):
        what = "say which units: SERIAL…, --order REF, or --missing alone"
        raise CannotDo(what)
    if sheet not in SHEETS:
        what = f"there is no sheet '{sheet}'"
        raise CannotDo(what, f"there is {', '.join(SHEETS)}")
    with session_at(shop, language) as session:
        if missing:
            wanted = first_copies_missing(session)
            if collate:
                batch = collated(collate_new(session, wanted, duplex=duplex))
            else:
                batch = apart(print_new(session, wanted), wanted)
        else:
            if by is None and SHEETS[sheet].counted:
                what = "a reprint is recorded: who prints?"
                raise CannotDo(what, "give --by ID")
            if collate:
                batch = collated(collate_again(session, asked, order, by or "", sheet, duplex=duplex))
            else:
                batch = apart(
                    reprint(session, asked, order, by or "", sheet), units_to_print(session, asked, order)
                )
    findings = [finding for unit in batch.units for finding in unit.findings]
    lines = batch.told() or ["nothing to print"]
    return answer(batch.as_dict(), dict.fromkeys(findings), text="\n".join(lines), json_wanted=json_wanted)


def blank(
    serial: Serial,
    kind: Annotated[Literal["csv", "yaml"], typer.Option("--as", help="Kind of file.")] = "csv",
    to: Annotated[
        Path | None, typer.Option("--to", metavar="FILE", help="Write it there; without it: to stdout.")
    ] = None,
    language: Language = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Write a file to fill in with the results of a unit: a row for every slot, with its limits.

    Example: traveler blank BW8-2639-0001N --as csv --to results.csv
    """
    from traveler.files import write_whole
    from traveler.record.plans import checked_serial
    from traveler.sheets.batch.requests import blank_file

    asked = checked_serial(serial)
    with session_at(shop, language) as session:
        text = blank_file(session, asked, kind)
    if to is not None:
        if to.exists():
            what = f"{to} is there already"
            raise CannotDo(what, "name another file; it may hold results")
        write_whole(to, text.encode())
        said = f"wrote {to}: fill it in, then 'traveler record {to}'"
        return answer({"serial": asked, "file": str(to)}, text=said, json_wanted=json_wanted)
    if json_wanted:
        return answer({"serial": asked, "content": text.removeprefix("\ufeff")}, json_wanted=True)
    sys.stdout.write(text.removeprefix("\ufeff"))
    return 0
