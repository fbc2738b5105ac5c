"""``traveler check``, ``schema`` and ``diff``: product definitions before anything is issued to them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.options import Json, Shop
from traveler.cli.present import Found, answer

if TYPE_CHECKING:
    from traveler.jobs.definitions import CheckedFile
    from traveler.shop.folder import Shop as OpenShop

_Files = Annotated[
    list[Path] | None,
    typer.Argument(
        metavar="FILE", help="Definition files. Without any: all of the shop.", show_default=False
    ),
]


def register(app: typer.Typer) -> None:
    """Add ``check``, ``schema`` and ``diff``."""
    app.command(name="check")(check)
    app.command(name="schema")(schema)
    app.command(name="diff")(diff)


def check(files: _Files = None, shop: Shop = None, json_wanted: Json = False) -> int:
    """Check product definitions: every problem of every file, with line and column.

    Persons and roles are checked where the files lie in a shop, or --shop names one.

    Example: traveler check product_defs/bobbin-winder.yaml
    """
    from traveler.jobs.definitions import check_definitions, shop_definitions

    opened = _shop(shop, required=not files)
    named = files or ([_from_here(path) for path in shop_definitions(opened)] if opened else [])
    found = check_definitions(named, opened)
    text = "\n".join(_line(serial) for serial in found.files)
    result = {"files": [serial.as_dict() for serial in found.files]}
    return answer(result, found.findings, text=text, json_wanted=json_wanted)


def schema(json_wanted: Json = False) -> int:
    """Print the JSON Schema of a definition, for editors that complete and check while typing.

    It is JSON either way; --json adds findings and exit as every command does.

    Example: traveler schema > definition.schema.json
    """
    from traveler.cli.present import FINE, as_json
    from traveler.definition.model import definition_schema

    if json_wanted:
        return answer({"schema": definition_schema()}, json_wanted=True)
    print(as_json(definition_schema()))
    return FINE


def diff(
    old: Annotated[Path, typer.Argument(metavar="OLD", help="The earlier definition file.")],
    new: Annotated[Path, typer.Argument(metavar="NEW", help="The later definition file.")],
    json_wanted: Json = False,
) -> int:
    """Tell what changed between two definition files.

    Exit code 0 whether or not something changed, 1 if a file has findings.

    Example: traveler diff bobbin-winder-C.yaml bobbin-winder.yaml
    """
    from traveler.jobs.definitions import compare_definitions

    found = compare_definitions(old, new)
    both = found.old is not None and found.new is not None
    text = "\n".join(found.changes) or ("nothing changed in what they say" if both else "")
    return answer(found.as_dict(), found.findings, text=text, json_wanted=json_wanted)


def _line(checked_file: CheckedFile) -> str:
    variants = ", ".join(f"{variant} ({count} slots)" for variant, count in checked_file.slots.items())
    made = checked_file.definition
    return (
        f"{checked_file.file}: {made.product} revision {made.revision}, variants {variants}, "
        f"digest {checked_file.digest[:12]}"
    )


def _shop(given: Path | None, *, required: bool) -> OpenShop | None:
    """The shop named, or the nearest one; None where there is none and none is needed.

    Raises:
        CannotDo: there is no shop, and one is named or needed.
        Found: its files have blocking findings.
    """
    from traveler.cli.shop_at import shop_folder
    from traveler.shop.folder import find_folder, open_shop

    if given is None and not required and find_folder(Path.cwd()) is None:
        return None
    opened = open_shop(shop_folder(given))
    if opened.shop is None:
        raise Found(opened.findings)
    return opened.shop


def _from_here(path: Path) -> Path:
    """The path from the present folder where it lies below it, as a person would type it."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path
