"""What the demonstration tells: scenes, each with the files it left and the findings it met."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from traveler.finding import Finding
from traveler.jobs.cannot import CannotDo
from traveler.trace.history import History
from traveler.trace.where_used import Use

_There = TypeVar("_There")


@dataclass(frozen=True, slots=True)
class Scene:
    """One thing that happened: headline, lines, files written, findings shown, a life or uses told."""

    title: str
    lines: tuple[str, ...] = ()
    files: tuple[Path, ...] = ()
    findings: tuple[Finding, ...] = ()
    life: History | None = None
    zone: str = "UTC"
    uses: tuple[Use, ...] = ()

    def as_dict(self) -> dict[str, object]:
        """For ``--json``."""
        return {
            "title": self.title,
            "lines": list(self.lines),
            "files": [str(file) for file in self.files],
            "findings": [one.as_dict() for one in self.findings],
            "life": self.life.as_dict() if self.life is not None else None,
            "uses": [one.as_dict() for one in self.uses],
        }


def expect(true: object, what: str) -> None:
    """Stops the demonstration unless what it told did happen.

    Raises:
        CannotDo: it did not.
    """
    if not true:
        raise wrong(what)


def wrong(what: str) -> CannotDo:
    """What stops the demonstration."""
    return CannotDo(f"the demonstration went wrong: {what}", "this is a defect of traveler")


def there(value: _There | None, what: str) -> _There:
    """The value, which has to be there; see :func:`expect`."""
    if value is None:
        raise wrong(what)
    return value
