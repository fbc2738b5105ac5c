"""The stage of the demonstration: Marrowby Machine Works, its clock, and the floor at work.

The files of the shop lie in ``data/``. Every name, gauge and number in them is invented.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from string import Template
from typing import TypeVar

from traveler.definition.plan import Plan
from traveler.demo.floor import Filling, Floor, as_csv, into_pdf
from traveler.files import write_whole
from traveler.finding import CannotDo, Finding, blocking
from traveler.jobs.append import Appended
from traveler.jobs.issue import IssueRequest, issue
from traveler.jobs.open import open_session
from traveler.jobs.record import Recorded, record
from traveler.result import Result
from traveler.sheets.batch.print_job import TRAVELER
from traveler.sheets.batch.requests import sheet_file
from traveler.shop.session import Session
from traveler.trace.history import History
from traveler.trace.judging import judge
from traveler.trace.where_used import Use
from traveler.verdict.judge import Judged

PACKAGE = Path(__file__).parents[1]
DATA = PACKAGE / "demo" / "data"
OVERDUE = "IND-07"
"""The gauge whose calibration ran out, which the demonstration uses by mistake."""

DAYS = 4
"""The story begins so many days before the present one."""

_There = TypeVar("_There")


@dataclass(frozen=True, slots=True)
class Scene(Result):
    """One thing that happened: headline, lines, files written, findings shown, a life or uses told."""

    json_keys = "title lines files findings life uses"

    title: str
    lines: tuple[str, ...] = ()
    files: tuple[Path, ...] = ()
    findings: tuple[Finding, ...] = ()
    life: History | None = None
    zone: str = "UTC"
    uses: tuple[Use, ...] = ()


def there(value: _There | None, what: str, findings: Iterable[Finding] = ()) -> _There:
    """The value; the demonstration stops where it is empty, because the story did not happen.

    Raises:
        CannotDo: it is empty.
    """
    if not value:
        why = f": {[str(finding) for finding in findings]}" if findings else ""
        problem = f"the demonstration went wrong: {what}{why}"
        raise CannotDo(problem, "this is a defect of traveler")
    return value


def gauges_yaml(day: date) -> str:
    """The text of ``gauges.yaml``: all calibrated 100 days before, but one long ago."""
    days = {"calibrated": day - timedelta(days=100), "long_ago": day - timedelta(days=400)}
    return Template((DATA / "gauges.yaml").read_text(encoding="utf-8")).substitute(days)


def shipped_product_defs() -> Path:
    """The folder of shipped definitions: inside an installed package, or beside it in a checkout.

    Raises:
        FileNotFoundError: neither place holds them; the installation is broken.
    """
    for folder in (PACKAGE / "_shipped" / "product_defs", PACKAGE.parent / "product_defs"):
        if any(folder.glob("*.yaml")):
            return folder
    raise FileNotFoundError(2, "the installation lacks its product definitions", str(PACKAGE / "_shipped"))


def set_up_world(folder: Path, day: date) -> tuple[Path, ...]:
    """Writes the shop's files and copies the shipped definitions; ``day`` is the first of the story.

    Raises:
        CannotDo: something is in the folder already.
        OSError: the folder cannot be written to.
    """
    if folder.exists() and any(folder.iterdir()):
        what = f"{folder} is not empty"
        raise CannotDo(what, "name a new folder; the demonstration changes nothing that is there")
    contents = {Path(name): (DATA / name).read_bytes() for name in ("shop.yaml", "people.yaml")}
    contents[Path("gauges.yaml")] = gauges_yaml(day).encode()
    shipped = shipped_product_defs()
    for file in sorted(shipped.rglob("*")):
        if file.is_file():
            contents["product_defs" / file.relative_to(shipped)] = file.read_bytes()
    return tuple(write_whole(folder / name, content) for name, content in contents.items())


class Stage:
    """The shop of the demonstration. ``session.now`` moves on with the work; ``made`` are the filled files.

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
        self.session: Session = there(opened.session, "the shop's files have findings", opened.findings)
        self.at(datetime.combine(day, time(7, 30), self.session.shop.zone))

    @property
    def now(self) -> datetime:
        """The moment of the story, in the shop's zone."""
        return self.session.now.astimezone(self.session.shop.zone)

    def at(self, moment: datetime) -> None:
        """The clock of the shop is set."""
        self.session = replace(self.session, now=moment)

    def later(self, minutes: int) -> None:
        """Time passes."""
        self.at(self.session.now + timedelta(minutes=minutes))

    def issue(self, wanted: IssueRequest) -> list[str]:
        """New units; they must be issued."""
        done = issue(self.session, wanted)
        plan = there(done.plan, f"{wanted.product} was not issued", done.findings)
        self.plans |= dict.fromkeys(done.serials, plan)
        return list(done.serials)

    def work(self, serial: str, operations: Sequence[str] | None = None) -> tuple[Filling, ...]:
        """Good results from now on; the clock moves past the last of them."""
        self.later(10)
        parts = 4100 + 10 * list(self.plans).index(serial)  # no two machines have the same motor
        floor = Floor(self.session.shop.gauges, "tkiln", parts)
        filled = floor.fillings(self.plans[serial], self.now, operations)
        self.at(filled[-1].at + timedelta(minutes=5))
        return filled

    def record(self, serial: str, filled: Sequence[Filling], kind: str = "csv") -> Recorded:
        """Writes the results as a file and records it; the file must be taken."""
        if kind == "pdf":
            content = into_pdf(sheet_file(self.session, serial, TRAVELER).read_bytes(), filled)
        else:
            content = as_csv(filled, serial, self.plans[serial])
        file = write_whole(self.filled / f"{serial}-{len(self.made) + 1}.{kind}", content)
        self.made.append(file)
        done = record(self.session, [(file, content)])
        held = blocking(done.files[0].findings)
        there(done.files[0].added and not held, f"{file.name} was refused", held)
        return done

    def judged(self, serial: str) -> Judged:
        """The unit as it stands."""
        with self.session.store.reading() as records:
            return judge(self.session, records, serial)

    def check(self, serial: str, filling: Filling) -> str | None:
        """The check a filling belongs to."""
        step = self.plans[serial].step_of.get(filling.slot.id)
        return step.check if step is not None else None


def taken(done: Appended, what: str) -> Appended:
    """What was done; it must have been taken, see :func:`there`."""
    there(done.taken and done.entries, what, done.findings)
    return done
