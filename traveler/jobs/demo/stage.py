"""The stage of the demonstration: the shop, its clock, and the floor at work."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, time, timedelta
from pathlib import Path

from traveler.definition.plan import Plan
from traveler.finding import blocking
from traveler.jobs.demo.floor import Filling, Floor, as_csv, into_pdf
from traveler.jobs.demo.scene import expect, there
from traveler.jobs.demo.world import set_up_world
from traveler.jobs.face_sheet import TRAVELER
from traveler.jobs.office import Office
from traveler.jobs.opening import open_office
from traveler.jobs.printing import sheet_file
from traveler.jobs.record import Recorded, record
from traveler.jobs.whole_file import write_whole

DAYS = 4
"""The story begins so many days before the present one."""


class Stage:
    """The shop of the demonstration. ``office.now`` moves on with the work; ``made`` are the files filled in.

    Raises:
        CannotDo: the folder is not empty.
        StoreTrouble: its records cannot be opened.
        OSError: it cannot be written to.
    """

    def __init__(self, folder: Path, present: datetime) -> None:
        day = present.date() - timedelta(days=DAYS)
        self.files = set_up_world(folder, day)
        self.filled = folder / "filled"
        self.plans: dict[str, Plan] = {}
        self.made: list[Path] = []
        opened = open_office(folder, present)
        office = there(opened.office, "the shop's files have findings")
        expect(not opened.findings, "the shop's files have findings")
        self.office: Office = replace(office, now=datetime.combine(day, time(7, 30), office.shop.zone))

    @property
    def now(self) -> datetime:
        """The moment of the story, in the shop's zone."""
        return self.office.now.astimezone(self.office.shop.zone)

    def later(self, minutes: int) -> None:
        """Time passes."""
        self.office = replace(self.office, now=self.office.now + timedelta(minutes=minutes))

    def work(self, serial: str, operations: Sequence[str] | None = None) -> tuple[Filling, ...]:
        """Good results from now on; the clock moves past the last of them."""
        self.later(10)
        parts = 4100 + 10 * list(self.plans).index(serial)  # no two machines have the same motor
        floor = Floor(self.office.shop.gauges, "tkiln", parts)
        filled = floor.fillings(self.plans[serial], self.now, operations)
        self.office = replace(self.office, now=filled[-1].at + timedelta(minutes=5))
        return filled

    def record(self, serial: str, filled: Sequence[Filling], kind: str = "csv") -> Recorded:
        """Writes the results as a file and records it; the file must be taken."""
        content = self._content(serial, filled, kind)
        file = write_whole(self.filled / f"{serial}-{len(self.made) + 1}.{kind}", content)
        self.made.append(file)
        done = record(self.office, [(file, content)])
        held = blocking(done.files[0].findings)
        expect(done.files[0].added and not held, f"{file.name} was refused: {[str(one) for one in held]}")
        return done

    def _content(self, serial: str, filled: Sequence[Filling], kind: str) -> bytes:
        if kind == "pdf":
            return into_pdf(sheet_file(self.office, serial, TRAVELER).read_bytes(), filled)
        return as_csv(filled, serial, self.plans[serial])

    def check(self, serial: str, one: Filling) -> str | None:
        """The check a filling belongs to."""
        step = self.plans[serial].step_of.get(one.slot.id)
        return step.check if step is not None else None
