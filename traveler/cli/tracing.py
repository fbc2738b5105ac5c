"""``traveler trace``: the whole life of a unit, or the units that share something."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.clock import shown
from traveler.cli.options import Json, Shop
from traveler.cli.present import CannotDo, answer, table
from traveler.cli.shop_at import session_at
from traveler.text import duration_text

if TYPE_CHECKING:
    from traveler.shop.session import Session
    from traveler.trace.history import History, HistoryLine
    from traveler.trace.where_used import Use


def register(app: typer.Typer) -> None:
    """Add ``trace``."""
    app.command(name="trace")(trace)


def trace(
    serial: Annotated[
        str | None, typer.Argument(metavar="SERIAL", help="Serial number with its check character.")
    ] = None,
    lot: Annotated[str | None, typer.Option("--lot", metavar="LOT", help="Units with this lot.")] = None,
    part_serial: Annotated[
        str | None, typer.Option("--part-serial", metavar="NUMBER", help="Units with this part.")
    ] = None,
    gauge: Annotated[
        str | None, typer.Option("--gauge", metavar="ID", help="Units measured with this gauge.")
    ] = None,
    person: Annotated[
        str | None, typer.Option("--person", metavar="ID", help="Units this person wrote about.")
    ] = None,
    customer: Annotated[
        str | None, typer.Option("--customer", metavar="NAME", help="Units shipped to this customer.")
    ] = None,
    order: Annotated[
        str | None, typer.Option("--order", metavar="REF", help="Units issued for this order.")
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Show the whole life of a unit, or which units share a lot, part, gauge, person, customer or order.

    Nothing is left out of a life: what was struck out is marked and stays legible.

    Example: traveler trace BW8-2639-0001N, or: traveler trace --lot 4711
    """
    from traveler.record.plans import checked_serial

    shared = {
        "lot": lot, "part_serial": part_serial, "gauge": gauge, "person": person, "customer": customer,
        "order": order,
    }  # fmt: skip
    asked = {kind: value for kind, value in shared.items() if value is not None}
    if len(asked) + (serial is not None) != 1:
        what = "ask for one thing: SERIAL, --lot, --part-serial, --gauge, --person, --customer or --order"
        raise CannotDo(what)
    if serial is not None:
        checked = checked_serial(serial)
        with session_at(shop) as session:
            return _life(session, checked, json_wanted=json_wanted)
    ((kind, value),) = asked.items()
    with session_at(shop) as session:
        return _shared(session, kind, value, json_wanted=json_wanted)


def _life(session: Session, serial: str, *, json_wanted: bool) -> int:
    from traveler.record.plans import known_unit, plan_of
    from traveler.trace.history import history

    with session.store.reading() as records:
        unit = known_unit(records, serial)
        found = history(unit, records.entries(serial), plan_of(records, unit), session.shop.settings)
    return answer(
        found.as_dict(), text=life_table(found, session.shop.settings.time_zone), json_wanted=json_wanted
    )


def life_table(found: History, zone: str) -> str:
    """The life of a unit as text; times as the shop's wall clock showed them."""
    unit = found.unit
    head = f"{unit.serial}  {unit.product} {unit.variant}, revision {unit.revision}: {found.where}"
    rows = [_row(line, zone) for line in found.lines]
    tail = f"{unit.entries} entries, chain head {unit.head}"
    return "\n".join((head, table(("#", "when", "who", "slot", "what"), rows), tail))


def _row(line: HistoryLine, zone: str) -> tuple[str, ...]:
    from traveler.trace.history import signer

    entry = line.entry
    text = line.text if line.struck_by is None else f"STRUCK OUT by #{line.struck_by}: {line.text}"
    if line.late is not None:
        text = f"{text} (LATE: recorded {duration_text(line.late)} afterwards)"
    label = f"{line.label.rstrip('.')}: " if line.label else ""
    return str(entry.seq), shown(entry.at, zone), signer(entry), entry.slot or "", label + text


def _shared(session: Session, kind: str, value: str, *, json_wanted: bool) -> int:
    from traveler.trace.where_used import where_used

    with session.store.reading() as records:
        uses = where_used(records, kind, value)
    word = kind.replace("_", " ")
    result = {"kind": kind, "value": value, "units": [use.as_dict() for use in uses]}
    if not uses:
        return answer(result, text=f"no unit has the {word} {value}", json_wanted=json_wanted)
    text = f"{word} {value}: {len(uses)} unit{'s' if len(uses) > 1 else ''}\n{uses_table(uses)}"
    return answer(result, text=text, json_wanted=json_wanted)


def uses_table(uses: Sequence[Use]) -> str:
    """The units as text: serial, what they were built as, where they are, in which steps."""
    return table(("serial", "built as", "where it is", "steps"), [_use(use) for use in uses])


def _use(use: Use) -> tuple[str, ...]:
    unit = use.unit
    steps = dict.fromkeys(slot.split("/")[0] for slot in use.slots)
    return (
        unit.serial,
        f"{unit.product} {unit.variant} {unit.revision}",
        use.where if use.stands else f"{use.where} (only in entries struck out)",
        ", ".join(steps),
    )
