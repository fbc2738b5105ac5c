"""What happened in the weeks before the demonstration: winders were built, shipped, complained about.

Their story lies in ``data/past.yaml``; everything goes through the same jobs as the commands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, time, timedelta
from fractions import Fraction
from typing import Any

import yaml

from traveler.definition.plan import SlotKind
from traveler.demo.floor import Filling, Floor
from traveler.demo.stage import DATA, Scene, Stage, taken, there
from traveler.jobs.adjust import Done, advice_for, keep_adjustment
from traveler.jobs.append import Appended, strike
from traveler.jobs.attach import GivenFile, attach
from traveler.jobs.complain import Complaint, complain
from traveler.jobs.issue import IssueRequest
from traveler.jobs.shipping import crate, place, release, ship
from traveler.jobs.stop import Disposition, decide, stop
from traveler.measure.number import format_number
from traveler.record.entry import Shipped

PAST: dict[str, Any] = yaml.safe_load((DATA / "past.yaml").read_text(encoding="utf-8"))
BAD, NEXT = PAST["lots"]["bad"], PAST["lots"]["next"]
"""Lots of bearings. The floor of the demonstration fits the first unless told otherwise."""

PECULIAR: dict[str, Any] = PAST["peculiar"]


class Past:
    """Builds the past on a stage; afterwards the clock of the stage stands where it stood."""

    def __init__(self, stage: Stage) -> None:
        self.stage = stage
        self.today = stage.now.date()
        self.winders: list[str] = []
        self.plates = ""

    def happen(self) -> Scene:
        """All of it, in the order of time; told in one scene.

        Raises:
            CannotDo: something went otherwise than told.
        """
        present, batch = self.stage.session.now, PAST["batch"]
        self.plates = self._plates(self._day(batch["weeks_back"] * 7 + 7))
        for first in range(0, len(PAST["bins"]), batch["size"]):
            back = batch["weeks_back"] * 7 - batch["days_apart"] * (first // batch["size"])
            self.stage.at(self._day(back))
            wanted = IssueRequest("bobbin-winder", "4", "rhale", count=batch["size"], order=PAST["order"])
            self.winders += self.stage.issue(wanted)
            for number, serial in enumerate(self.winders[first:], first):
                self._build(serial, number)
        self._calls()
        self.stage.at(present)
        called = ", ".join(self.winders[number] for number in PAST["calls"])
        lines = (
            f"{len(self.winders)} winders were built and shipped, with end plates of lot {self.plates}",
            f"bearings came from {PAST['lots']['good']} and {BAD}, two bins side by side",
            f"{len(PAST['calls'])} customers called: {called}",
        )
        return Scene("In the weeks before", lines)

    def peculiar(self) -> str:
        """The serial of the winder about which somebody will call."""
        number: int = PECULIAR["number"]
        return self.winders[number]

    def _day(self, back: int) -> datetime:
        day = self.today - timedelta(days=back)
        return datetime.combine(day, time(7, 0), self.stage.session.shop.zone)

    def _record(self, serial: str, filled: Sequence[Filling]) -> None:
        """What was filled in is recorded once the last of it is written."""
        self.stage.at(filled[-1].at + timedelta(minutes=5))
        self.stage.record(serial, filled)

    def _plates(self, day: datetime) -> str:
        """A lot of end plates, made here of one heat of steel."""
        self.stage.at(day)
        (serial,) = self.stage.issue(IssueRequest("end-plate", "std", "rhale", quantity=60))
        self.stage.later(10)
        floor = Floor(self.stage.session.shop.gauges, "mchip", pieces=60)
        filled = floor.fillings(self.stage.plans[serial], self.stage.now)
        steel = (
            replace(made, value=PAST["heat"]) if made.slot.kind is SlotKind.PART else made for made in filled
        )
        self._record(serial, list(steel))
        return serial

    def _build(self, serial: str, number: int) -> None:
        """One winder from its first screw to the customer."""
        self.stage.later(10)
        builder = PAST["builders"][number % len(PAST["builders"])]
        floor = Floor(self.stage.session.shop.gauges, builder, 1000 + 10 * number)
        good = floor.fillings(self.stage.plans[serial], self.stage.now)
        filled = [self._as_it_was(serial, filling, number) for filling in good]
        if number == PECULIAR["number"]:
            self._build_the_peculiar(serial, filled)
        else:
            self._record(serial, filled)
        self._step(serial, "released", release(self.stage.session, serial, "qmoor"))
        packed = self.stage.work(serial, ["C"])
        self.stage.record(serial, packed)
        if number == PECULIAR["number"]:
            self._photograph(serial, packed)
        customer = PAST["customers"][number % len(PAST["customers"])]
        sent = Shipped(customer=customer, carrier="own van", reference=f"DN-00{60 + number}")
        self._step(serial, "crated", crate(self.stage.session, serial, "pstrap"))
        self.stage.later(5)
        self._step(serial, "placed", place(self.stage.session, serial, f"Bay {number % 6 + 1}", "pstrap"))
        self.stage.later(20)
        self._step(serial, "shipped", ship(self.stage.session, serial, sent, "sdock"))

    def _step(self, serial: str, what: str, done: Appended) -> None:
        self.stage.later(5)
        taken(done, f"{serial} was to be {what}")

    def _as_it_was(self, serial: str, filling: Filling, number: int) -> Filling:
        """What was written: the lot at hand, and further run-out with the bearings that hum."""
        step = self.stage.plans[serial].step_of.get(filling.slot.id)
        if step is None:
            return filling
        bin_name = PAST["bins"][number]
        if step.part_number == "P-1041":
            return replace(filling, value=self.plates)
        if step.part_number == "P-2112":
            return replace(filling, value=PAST["lots"][bin_name])
        if step.check == "runout" and not filling.slot.repeats:
            further = Fraction(number % 3 + (7 if bin_name == "bad" else -4), 1000)
            return replace(filling, value=format_number(Fraction(filling.value) + further, 3))
        return _scattered(filling, number) if filling.gauge else filling

    def _build_the_peculiar(self, serial: str, filled: Sequence[Filling]) -> None:
        """One with events: adjusted, misread, under concession, part of it recorded a day late."""
        late = [filling for filling in filled if filling.slot.id.startswith(("40", "Q"))]
        first = [filling for filling in filled if filling not in late]
        read = {
            check: [filling for filling in first if self.stage.check(serial, filling) == check][said["place"]]
            for check, said in PECULIAR["first"].items()
        }
        changed = {
            read[check].slot.id: replace(
                read[check], value=said["value"], as_found=said.get("as_found", False)
            )
            for check, said in PECULIAR["first"].items()
        }
        self._record(serial, [changed.get(filling.slot.id, filling) for filling in first])
        height, gap, worst = read["guide-height"], read["guard-gap"], read["runout"]
        self._adjust(serial, height)
        self._misread(serial, worst)
        self._concede(serial, gap)
        self.stage.later(30 * 60)
        started = height.at + timedelta(hours=1, minutes=30)
        self.stage.record(
            serial, [replace(made, at=started + timedelta(minutes=2 * n)) for n, made in enumerate(late)]
        )

    def _adjust(self, serial: str, height: Filling) -> None:
        slot, session = height.slot.id, self.stage.session
        advised = advice_for(self.stage.judged(serial), slot)[0]
        done = keep_adjustment(session, serial, slot, Done(advised.text, "tkiln", followed=True))
        taken(done, "the adjustment was to be recorded")
        self.stage.later(10)
        self.stage.record(serial, [replace(height, value=PECULIAR["left"], at=self.stage.now)])

    def _misread(self, serial: str, worst: Filling) -> None:
        """A reading written at the wrong spindle, and struck out."""
        said = PECULIAR["misread"]
        self.stage.later(5)
        done = self.stage.record(serial, [replace(worst, value=said["value"], at=self.stage.now)])
        wrong = done.files[0].entries[-1].seq
        struck = strike(self.stage.session, serial, wrong, said["reason"], worst.by)
        taken(struck, f"#{wrong} was to be struck")

    def _concede(self, serial: str, gap: Filling) -> None:
        """A gap that is a little too wide, used as it is."""
        session, said = self.stage.session, PECULIAR["concession"]
        stopped = stop(session, serial, PECULIAR["stop"], "iwren", slot=gap.slot.id)
        seq = there(stopped.entry, "the gap was to be stopped", stopped.findings).seq
        asked = Disposition("use_as_is", concession=said["number"], text=said["reason"])
        taken(decide(session, serial, seq, asked, "qmoor"), "it was to get a concession")

    def _photograph(self, serial: str, packed: Sequence[Filling]) -> None:
        """The open crate, kept with the records."""
        slot = next(filling.slot.id for filling in packed if filling.slot.kind is SlotKind.PHOTO)
        given = [GivenFile("crate.png", (DATA / "crate.png").read_bytes())]
        done = attach(self.stage.session, serial, given, "pstrap", slot=slot)
        there(done.files, "the photograph was to be kept", done.findings)

    def _calls(self) -> None:
        """The customers who called before."""
        for at, number in enumerate(PAST["calls"]):
            self.stage.at(self._day(16 - 2 * at) + timedelta(hours=3))
            said = Complaint(PAST["said"][at % len(PAST["said"])], ("noise",))
            done = complain(self.stage.session, self.winders[number], said, "sdock")
            there(done.case, "a complaint was refused", done.findings)


def _scattered(filling: Filling, number: int) -> Filling:
    """The reading a few steps off: no two winders are the same."""
    decimals = len(filling.value.partition(".")[2])
    steps = 2 * ((number * 7 + len(filling.slot.id) + number // 3) % 5 - 2)
    moved = Fraction(filling.value) + Fraction(steps, 10**decimals)
    return replace(filling, value=format_number(moved, decimals))
