"""Options and arguments, each that several commands have defined once, and what the shell completes."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from traveler.shop.folder import Shop as OpenShop

MOST = 200
"""So many serials are offered for completion."""


def arg(metavar: str, help: str, **more: Any) -> Any:
    """An argument: how the help page names it, and what it is."""
    return typer.Argument(metavar=metavar, help=help, **more)


def opt(metavar: str, help: str, *names: str, **more: Any) -> Any:
    """An option with a value; its name is that of the parameter unless it is given."""
    return typer.Option(*names, metavar=metavar, help=help, **more)


def flag(help: str, *names: str) -> Any:
    """An option without a value."""
    return typer.Option(*names, help=help)


def _offered(listed: Callable[[OpenShop, str], Iterable[str]]) -> Callable[[str], list[str]]:
    """Offers what ``listed`` finds in the shop at hand; nothing where there is none or anything is wrong."""

    def offer(incomplete: str) -> list[str]:
        from traveler.shop.folder import find_folder, open_shop

        try:
            named = os.environ.get("TRAVELER_SHOP")
            folder = Path(named) if named else find_folder(Path.cwd())
            shop = open_shop(folder).shop if folder is not None else None
            return (
                [] if shop is None else [text for text in listed(shop, incomplete) if _fits(text, incomplete)]
            )
        except Exception:  # noqa: BLE001 - while somebody types, no answer is the answer to any trouble
            return []

    return offer


def _fits(text: str, incomplete: str) -> bool:
    return text.lower().startswith(incomplete.lower())


def _serials(shop: OpenShop, incomplete: str) -> Iterable[str]:
    from traveler.record.store import Store

    address = os.environ.get("TRAVELER_DATABASE") or shop.settings.database
    with Store.open(address, folder=shop.folder, create=False) as store, store.reading() as records:
        found = (unit.serial for unit in records.units())
        return [serial for serial in found if _fits(serial, incomplete)][:MOST]


complete_serials = _offered(_serials)
complete_people = _offered(
    lambda shop, _: (person.id for person in shop.people.people if person.left is None)
)
complete_gauges = _offered(lambda shop, _: (gauge.id for gauge in shop.gauges.gauges))
complete_products = _offered(lambda shop, _: (file.stem for file in shop.product_defs.glob("*.yaml")))

Shop = Annotated[
    Path | None,
    opt(
        "DIR",
        "The shop's folder. Without it: the nearest folder from here upwards that has a shop.yaml.",
        "--shop",
        envvar="TRAVELER_SHOP",
        show_envvar=True,
    ),
]
Json = Annotated[bool, flag("Answer with one JSON document.", "--json")]
By = Annotated[
    str | None, opt("ID", "Who does it: an id from people.yaml.", "--by", autocompletion=complete_people)
]
At = Annotated[str | None, opt("TIME", "When it was done: 2026-11-02T14:30. Without it: now.", "--at")]
Language = Annotated[
    str | None,
    opt(
        "L",
        "Language of the sheets: en, es, or two on one sheet: es+en. Without it: as in shop.yaml.",
        "--language",
    ),
]
PinFile = Annotated[
    Path | None,
    opt("FILE", "File with the PIN (- is standard input). Without it: asked on the terminal.", "--pin-file"),
]
SHARED = {"by": By, "at": At, "pin_file": PinFile, "language": Language, "json_wanted": Json, "shop": Shop}
"""Name of a parameter → the option that many commands share."""

# ---- arguments and options that mean the same in every command that has them

_SERIAL = "Serial number, or its last characters where no other unit ends so."
Serial = Annotated[str, arg("SERIAL", _SERIAL, autocompletion=complete_serials)]
Serials = Annotated[list[str], arg("SERIAL", _SERIAL, autocompletion=complete_serials)]
SomeSerials = Annotated[list[str] | None, arg("SERIAL", _SERIAL, autocompletion=complete_serials)]
Slot = Annotated[str | None, opt("SLOT", "Slot id, as in 'unit blank'.", "--slot")]
Product = Annotated[str, arg("PRODUCT", "Product: name of its definition.", autocompletion=complete_products)]
Gauge = Annotated[str | None, opt("ID", "Gauge, as on its label.", "--gauge", autocompletion=complete_gauges)]
Since = Annotated[str | None, opt("DAY", "First day, as 2026-09-14, or the last 7d, 8w, 6m, 1y.", "--since")]
Until = Annotated[str | None, opt("DAY", "Last day, as 2026-09-30.", "--until")]
All = Annotated[bool, flag("Leave nothing out.", "--all")]
Reason = Annotated[str, opt("TEXT", "Why.", "--reason")]
Reports = Annotated[
    list[Path] | None,
    opt("FILE", "Write it into this file as well; its ending says how. May repeat.", "--to"),
]
