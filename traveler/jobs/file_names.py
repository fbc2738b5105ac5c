"""Files a person names for us to write: their endings have to say what will be in them."""

from __future__ import annotations

from pathlib import Path

from traveler.jobs.cannot import CannotDo


def named_as(path: Path | None, *endings: str) -> None:
    """Nothing, if no file is named or its name ends as it should.

    So a slip of the hand does not put a PDF in the place of ``shop.yaml``.

    Raises:
        CannotDo: it ends otherwise.
    """
    if path is not None and path.suffix.casefold() not in endings:
        what = f"{path} does not end in {' or '.join(endings)}"
        raise CannotDo(what, f"name it {path.with_suffix(endings[0]).name}" if path.name else "name a file")
