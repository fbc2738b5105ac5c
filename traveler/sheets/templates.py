"""Templates, style sheets, icons and fonts: the shop's own folder first, then what is shipped."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from markupsafe import Markup

PACKAGE = Path(__file__).resolve().parent.parent


def shipped_folder() -> Path:
    """The templates that come with the program: inside an installed package, or beside it in a checkout.

    Raises:
        FileNotFoundError: neither place holds them; the installation is broken.
    """
    for folder in (PACKAGE / "_shipped" / "templates", PACKAGE.parent / "templates"):
        if (folder / "sheets").is_dir():
            return folder
    raise FileNotFoundError(
        2, "the installation lacks its templates", str(PACKAGE / "_shipped" / "templates")
    )


@dataclass(frozen=True, slots=True)
class Templates:
    """Folders to look in, first match wins. Names are relative, with ``/``, and cannot leave the folders."""

    folders: tuple[Path, ...]

    def find(self, name: str) -> Path | None:
        """The file of this name, or None."""
        parts = name.split("/")
        if any(part in {"", ".", ".."} for part in parts):
            return None
        return next((path for folder in self.folders if (path := folder.joinpath(*parts)).is_file()), None)

    def read(self, name: str) -> bytes:
        """The content of the file of this name.

        Raises:
            FileNotFoundError: no folder holds it.
        """
        path = self.find(name)
        if path is None:
            raise FileNotFoundError(2, "no such template", name)
        return path.read_bytes()

    def icon(self, name: str, words: str) -> Markup:
        """The drawing ``icons/NAME.svg``, to be set into a page, with words for who cannot see it."""
        words = str(words)  # in two languages: as plain text, a title holds no runs
        head, sign, rest = self.read(f"icons/{name}.svg").decode("utf-8").partition(">")
        return Markup(head + sign) + Markup("<title>{}</title>").format(words) + Markup(rest)  # noqa: S704 - our own


@lru_cache(maxsize=8)
def templates(shop: Path | None = None) -> Templates:
    """The templates of a shop (its own ``templates/`` wins), or the shipped ones alone."""

    def folders() -> Iterator[Path]:
        if shop is not None and (shop / "templates").is_dir():
            yield (shop / "templates").resolve()
        yield shipped_folder()

    return Templates(tuple(folders()))
