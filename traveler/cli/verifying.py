"""``traveler verify`` and ``seal``: whether records are what was written, and what was sealed elsewhere."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.options import Json, Shop
from traveler.cli.present import CannotDo, answer
from traveler.cli.progress import watched
from traveler.cli.shop_at import session_at

if TYPE_CHECKING:
    from traveler.record.audit import Audited

Some = Annotated[
    list[str] | None, typer.Argument(metavar="SERIAL", help="Serial numbers with check characters.")
]


def register(app: typer.Typer) -> None:
    """Add ``verify`` and ``seal``."""
    app.command(name="verify")(verify)
    app.command(name="seal")(seal)


def verify(
    serials: Some = None,
    seals: Annotated[
        list[Path] | None,
        typer.Option(
            "--seals", metavar="FILE", help="A seal file kept elsewhere. Without it: the shop's own."
        ),
    ] = None,
    head: Annotated[
        str | None, typer.Option("--head", metavar="HEX", help="The head that a certificate shows.")
    ] = None,
    count: Annotated[
        int | None, typer.Option("--count", metavar="N", help="The number of entries that it shows.")
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Verify that records are what was written and sealed: nothing changed, removed, swapped or cut off.

    Without serials: every unit of the shop, and every definition it was issued with. With --head and --count
    a certificate is held against the record of its one unit.

    Example: traveler verify --seals /mnt/stick/seals.jsonl
    """
    from traveler.record.plans import checked_serials
    from traveler.trace.verify import verify_records as job

    asked = checked_serials(serials or ())
    if head is not None or count is not None:
        if head is None or count is None or len(asked) != 1 or seals:
            what = "a certificate needs one SERIAL, --head and --count, and no --seals"
            raise CannotDo(what, "copy all three from the certificate")
        return _certificate(asked[0], head, count, shop, json_wanted=json_wanted)
    with session_at(shop) as session:
        done = job(session, asked, seals or None, lambda some, total: watched(some, total, "verifying"))
    sound = [unit for unit in done.units if not unit.findings]
    lines = [f"{unit.serial}  entries {unit.count}, head {unit.head[:12]}" for unit in sound]
    lines.append(f"{len(sound)} of {len(done.units)} records are what was written")
    lines += [f"held against the seals in {file}" for file in done.seals]
    result = {"units": [_unit(unit) for unit in done.units], "seals": list(done.seals)}
    return answer(result, done.findings, text="\n".join(lines), json_wanted=json_wanted)


def _certificate(serial: str, head: str, count: int, shop: Path | None, *, json_wanted: bool) -> int:
    from traveler.trace.verify import check_certificate

    with session_at(shop) as session:
        audited, findings = check_certificate(session, serial, head, count)
    said = "" if findings else f"{serial}: the record is the one this certificate was printed from"
    return answer({"units": [_unit(audited)]}, findings, text=said, json_wanted=json_wanted)


def _unit(audited: Audited) -> dict[str, object]:
    return {
        "serial": audited.serial,
        "count": audited.count,
        "head": audited.head,
        "sound": not audited.findings,
    }


def seal(
    to: Annotated[
        Path | None,
        typer.Option("--to", metavar="FILE", help="A further copy of the seal file, or the folder for one."),
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Note where every record ends now in the shop's seal file, and bring its copies up to date.

    Each release does so for its unit. What is sealed cannot be cut off or taken out unseen.

    Example: traveler seal --to /mnt/stick
    """
    from traveler.jobs.seal import seal as job

    with session_at(shop) as session:
        done = job(session, to)
    counted = "1 record was" if done.units == 1 else f"{done.units} records were"
    lines = [f"{counted} sealed"] if done.files else []
    lines += [f"  {file}" for file in done.files]
    result = {"units": done.units, "files": [str(file) for file in done.files]}
    return answer(result, done.findings, text="\n".join(lines), json_wanted=json_wanted)
