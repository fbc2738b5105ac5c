"""The product definitions of a shop, as files."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from pathlib import Path

from traveler.definition.lifting import ALONE, lifted_alone
from traveler.definition.load import Loaded, load
from traveler.finding import Finding, Place
from traveler.jobs.cannot import CannotDo
from traveler.measure.quantity import Quantity
from traveler.sheets.photograph import MOST_BYTES
from traveler.sheets.pictures import usable
from traveler.shop.folder import Shop

ENDINGS = (".yaml", ".yml")


def product_files(shop: Shop) -> Mapping[str, Path]:
    """Product → its file: a definition is kept in a file named after its product."""
    folder = shop.product_defs
    found = sorted(path for path in folder.glob("*") if path.suffix in ENDINGS) if folder.is_dir() else []
    return {path.stem: path for path in reversed(found)}


def product_file(shop: Shop, product: str) -> Path:
    """The file that defines the product.

    Raises:
        CannotDo: there is none.
    """
    files = product_files(shop)
    if product in files:
        return files[product]
    close = get_close_matches(product, files, n=1)
    known = f"known are {', '.join(sorted(files))}" if files else f"put one into {shop.product_defs}"
    what = f"there is no definition {product}.yaml in {shop.product_defs}"
    raise CannotDo(what, f"did you mean {close[0]}?" if close else known)


def load_product(shop: Shop, file: Path) -> Loaded:
    """The definition in this file with everything that is wrong in it.

    Findings: those of :func:`traveler.definition.load.load`; DEF000 it is no text, or of another product than
    its file is named after.
    """
    loaded = load_beside(file, roles(shop), lifted_alone(shop.settings.lift_alone))
    definition = loaded.definition
    if definition is None or definition.product == file.stem:
        return loaded
    what = f"the file is named '{file.stem}', but its product is '{definition.product}'"
    finding = Finding(
        "DEF000", what, loaded.places[("product",)], hint=f"name the file {definition.product}.yaml"
    )
    return Loaded(None, (*loaded.findings, finding), loaded.places)


def load_beside(file: Path, known: Mapping[str, frozenset[str]] | None, alone: Quantity = ALONE) -> Loaded:
    """The definition in a file whose pictures lie beside it, or in ``pictures/`` there.

    Finding DEF000: it is no text; else those of :func:`traveler.definition.load.load`.
    """
    try:
        text = file.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        what = f"not text in UTF-8: byte {problem.start + 1} is {problem.object[problem.start]:#04x}"
        return Loaded(None, (Finding("DEF000", what, Place(str(file)), hint="save the file as UTF-8"),), {})
    return load(text, str(file), lambda name: printable(file.parent, name), known, alone)


def printable(folder: Path, name: str) -> bool | str:
    """Whether a picture is there; where it cannot be printed, why not."""
    path = picture(folder, name)
    if path is None:
        return False
    if path.stat().st_size > MOST_BYTES:  # not even read
        return f"has {path.stat().st_size:,} bytes, at most {MOST_BYTES:,} are taken"
    made = usable(path.read_bytes())
    return made if isinstance(made, str) else True


def read_picture(shop: Shop, name: str) -> bytes | None:
    """The content of a picture of a step: it lies beside the definitions, or in ``pictures/`` there.

    Of a file that is too large only so much is read that it is still refused as such.
    """
    path = picture(shop.product_defs, name)
    if path is None:
        return None
    with path.open("rb") as file:
        return file.read(MOST_BYTES + 1)


def picture(folder: Path, name: str) -> Path | None:
    """Where the picture of this name lies; a name that leads out of the folder is none."""
    if "\x00" in name or len(Path(name).parts) != 1 or name in (".", ".."):
        return None
    places = (folder / name, folder / "pictures" / name)
    return next((path for path in places if path.is_file()), None)


def roles(shop: Shop) -> Mapping[str, frozenset[str]]:
    """Id of each person → the roles ever held: whoever approved a revision may have left since."""
    return {one.id: frozenset(held.role for held in one.roles) for one in shop.people.people}
