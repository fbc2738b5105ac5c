"""The product definitions that come with the program."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent.parent


def shipped_product_defs() -> Path:
    """The folder of shipped definitions: inside an installed package, or beside it in a checkout.

    Raises:
        FileNotFoundError: neither place holds them; the installation is broken.
    """
    for folder in (PACKAGE / "_shipped" / "product_defs", PACKAGE.parent / "product_defs"):
        if any(folder.glob("*.yaml")):
            return folder
    raise FileNotFoundError(2, "the installation lacks its product definitions", str(PACKAGE / "_shipped"))
