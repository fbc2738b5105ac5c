"""The stage of the demonstration: the shop, its clock, and the floor at work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import TypeVar

from traveler.definition.plan import Plan
from traveler.demo.floor import Filling, Floor, as_csv, into_pdf
from traveler.demo.world import set_up_world
from traveler.files import write_whole
from traveler.finding import CannotDo, Finding, blocking
from traveler.jobs.open import open_session
from traveler.jobs.record import Recorded, record
from traveler.sheets.batch.print_job import TRAVELER
from traveler.sheets.batch.requests import sheet_file
from traveler.shop.session import Session
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
            "findings": [finding.as_dict() for finding in self.findings],
            "life": self.life.as_dict() if self.life is not None else None,
            "uses": [use.as_dict() for use in self.uses],
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


DAYS = 4
"""The story begins so many days before the present one."""


class Stage:
    """The shop of the demonstration. ``office.now`` moves on with the work; ``made`` are the files filled in.

    Raises:
        CannotDo: the folder is not empty.
        StoreError: its records cannot be opened.
        OSError: it cannot be written to.
    """

    def __init__(self, folder: Path, present: datetime) -> None:
        day = present.date() - timedelta(days=DAYS)
        self.files = set_up_world(folder, day)
        self.filled = folder / "filled"
        self.plans: dict[str, Plan] = {}
        self.made: list[Path] = []
        opened = open_session(folder, present)
        session = there(opened.session, "the shop's files have findings")
        expect(not opened.findings, "the shop's files have findings")
        self.session: Session = replace(session, now=datetime.combine(day, time(7, 30), session.shop.zone))

    @property
    def now(self) -> datetime:
        """The moment of the story, in the shop's zone."""
        return self.session.now.astimezone(self.session.shop.zone)

    def later(self, minutes: int) -> None:
        """Time passes."""
        self.session = replace(self.session, now=self.session.now + timedelta(minutes=minutes))

    def work(self, serial: str, operations: Sequence[str] | None = None) -> tuple[Filling, ...]:
        """Good results from now on; the clock moves past the last of them."""
        self.later(10)
        parts = 4100 + 10 * list(self.plans).index(serial)  # no two machines have the same motor
        floor = Floor(self.session.shop.gauges, "tkiln", parts)
        filled = floor.fillings(self.plans[serial], self.now, operations)
        self.session = replace(self.session, now=filled[-1].at + timedelta(minutes=5))
        return filled

    def record(self, serial: str, filled: Sequence[Filling], kind: str = "csv") -> Recorded:
        """Writes the results as a file and records it; the file must be taken."""
        content = self._content(serial, filled, kind)
        file = write_whole(self.filled / f"{serial}-{len(self.made) + 1}.{kind}", content)
        self.made.append(file)
        done = record(self.session, [(file, content)])
        held = blocking(done.files[0].findings)
        expect(
            done.files[0].added and not held, f"{file.name} was refused: {[str(finding) for finding in held]}"
        )
        return done

    def _content(self, serial: str, filled: Sequence[Filling], kind: str) -> bytes:
        if kind == "pdf":
            return into_pdf(sheet_file(self.session, serial, TRAVELER).read_bytes(), filled)
        return as_csv(filled, serial, self.plans[serial])

    def check(self, serial: str, filling: Filling) -> str | None:
        """The check a filling belongs to."""
        step = self.plans[serial].step_of.get(filling.slot.id)
        return step.check if step is not None else None
