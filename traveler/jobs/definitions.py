"""Definition files of a shop: found, loaded, checked and compared."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from traveler.definition.difference import definition_changes
from traveler.definition.expand import expand
from traveler.definition.load import Loaded, load
from traveler.definition.mass import ALONE, lifted_alone
from traveler.definition.model import Definition, definition_digest
from traveler.finding import CannotDo, Finding, Place
from traveler.measure.quantity import Quantity
from traveler.result import Result
from traveler.sheets.definition_pictures import picture
from traveler.sheets.pictures import MOST_BYTES, usable
from traveler.shop.folder import Shop
from traveler.text import did_you_mean

DEFINITION_ENDINGS = (".yaml", ".yml")


def product_files(shop: Shop) -> Mapping[str, Path]:
    """Product → its file: a definition is kept in a file named after its product."""
    folder = shop.product_defs
    found = (
        sorted(path for path in folder.glob("*") if path.suffix in DEFINITION_ENDINGS)
        if folder.is_dir()
        else []
    )
    return {path.stem: path for path in reversed(found)}


def product_file(shop: Shop, product: str) -> Path:
    """The file that defines the product.

    Raises:
        CannotDo: there is none.
    """
    files = product_files(shop)
    if product in files:
        return files[product]
    otherwise = "" if files else f"put one into {shop.product_defs}"
    what = f"there is no definition {product}.yaml in {shop.product_defs}"
    raise CannotDo(what, did_you_mean(product, sorted(files), otherwise))


def load_product(shop: Shop, file: Path) -> Loaded:
    """The definition in this file with everything that is wrong in it.

    Findings: those of :func:`traveler.definition.load.load`; DEF000 not text, or of another product than its
    file is named after.
    """
    loaded = load_beside(file, roles_ever_held(shop), lifted_alone(shop.settings.lift_alone))
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

    Finding DEF000: it is not text; else those of :func:`traveler.definition.load.load`.
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


def roles_ever_held(shop: Shop) -> Mapping[str, frozenset[str]]:
    """Id of each person → the roles ever held: the person who approved a revision may have left since."""
    return {person.id: frozenset(held.role for held in person.roles) for person in shop.people.people}


@dataclass(frozen=True, slots=True)
class CheckedFile(Result):
    """One file that has no blocking finding: what it defines, and how many slots each variant has."""

    json_keys: ClassVar[str] = "file product=definition.product revision=definition.revision digest variants"

    file: str
    definition: Definition
    digest: str
    slots: dict[str, int]

    @property
    def variants(self) -> dict[str, dict[str, int]]:
        """Variant → how many slots it has."""
        return {variant: {"slots": count} for variant, count in self.slots.items()}


@dataclass(frozen=True, slots=True)
class Checked:
    """The files that may be issued, and the findings of all."""

    files: tuple[CheckedFile, ...]
    findings: tuple[Finding, ...]


def shop_definitions(shop: Shop) -> tuple[Path, ...]:
    """The definition files of a shop.

    Raises:
        CannotDo: there are none.
    """
    files = tuple(product_files(shop).values())
    if not files:
        what = f"there is no definition in {shop.product_defs}"
        raise CannotDo(what, "name the files to check")
    return files


def check_definitions(files: Iterable[Path], shop: Shop | None = None) -> Checked:
    """Check definition files; with a shop, persons and roles too.

    Findings: those of :func:`traveler.definition.load.load`, DEF000 a file that is not text.

    Raises:
        CannotDo: a file is not there.
    """
    checked: list[CheckedFile] = []
    findings: list[Finding] = []
    for file in files:
        loaded = load_file(file, shop)
        findings += loaded.findings
        if loaded.definition is not None:
            checked.append(_checked(file, loaded.definition))
    return Checked(tuple(checked), tuple(findings))


def _checked(file: Path, definition: Definition) -> CheckedFile:
    mark = definition_digest(definition)
    plans = {variant: expand(definition, variant, mark) for variant in definition.variants}
    slots = {variant: sum(1 for _ in plan.slots()) for variant, plan in plans.items()}
    return CheckedFile(str(file), definition, mark, slots)


def load_file(file: Path, shop: Shop | None = None) -> Loaded:
    """The definition in a file; its pictures lie beside it, or in ``pictures/`` there.

    A file of the shop's own folder is checked as issuing would.

    Raises:
        CannotDo: the file is not there.
    """
    if not file.is_file():
        what = f"there is no file {file}"
        raise CannotDo(what, "name a definition file, like product_defs/bobbin-winder.yaml")
    if shop is not None and file.absolute().parent == shop.product_defs.absolute():
        return load_product(shop, file)
    return load_beside(file, None if shop is None else roles_ever_held(shop))


@dataclass(frozen=True, slots=True)
class Compared:
    """Both definitions (None where a finding blocks), the changes, and the findings of both files."""

    old: Definition | None
    new: Definition | None
    changes: tuple[str, ...]
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {"old": _head(self.old), "new": _head(self.new), "changes": list(self.changes)}


def compare_definitions(old: Path, new: Path) -> Compared:
    """What changed from one definition file to another.

    Findings: those of both files.

    Raises:
        CannotDo: a file is not there.
    """
    before, after = load_file(old), load_file(new)
    findings = tuple(dict.fromkeys((*before.findings, *after.findings)))
    if before.definition is None or after.definition is None:
        return Compared(before.definition, after.definition, (), findings)
    changes = tuple(definition_changes(before.definition, after.definition))
    return Compared(before.definition, after.definition, changes, findings)


def _head(definition: Definition | None) -> dict[str, str] | None:
    if definition is None:
        return None
    return {
        "product": definition.product,
        "revision": definition.revision,
        "digest": definition_digest(definition),
    }
