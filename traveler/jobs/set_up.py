"""Setting up the folder of a new shop."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from traveler.files import write_whole
from traveler.finding import CannotDo
from traveler.shop.settings import Settings
from traveler.verdict.authority import PIN_FOR, authority_comment

TEXTS = Path(__file__).parent / "new_shop"
"""The files of a new shop; those of people and gauges hold nothing but examples, as comments."""


@dataclass(frozen=True, slots=True)
class NewShop:
    """The folder and the files that were written, in the order of writing."""

    folder: Path
    files: tuple[Path, ...]


def set_up(folder: Path, settings: Settings) -> NewShop:
    """An empty shop: ``shop.yaml``, ``people.yaml``, ``gauges.yaml`` and a folder for product definitions.

    Raises:
        CannotDo: there is a shop in the folder already.
        OSError: the folder cannot be written to.
    """
    if (folder / "shop.yaml").exists():
        what = f"there is a shop in {folder} already"
        raise CannotDo(what, "choose another folder; nothing was changed")
    names = ("people.yaml", "gauges.yaml", "shop.yaml")
    texts = {name: (TEXTS / name).read_text(encoding="utf-8") for name in names}
    texts["shop.yaml"] = texts["shop.yaml"].format(
        name=json.dumps(settings.name, ensure_ascii=False),  # a JSON text is a YAML text
        page_size=settings.page_size,
        time_zone=settings.time_zone,
        authority=authority_comment().rstrip("\n"),
        pin_for=", ".join(PIN_FOR),
    )
    (folder / settings.product_defs).mkdir(parents=True, exist_ok=True)
    files = [
        write_whole(folder / name, text.encode())
        for name, text in texts.items()
        if not (folder / name).exists()
    ]
    return NewShop(folder, tuple(files))
