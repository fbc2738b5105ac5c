"""What happened in the weeks before the demonstration: winders were built, shipped, complained about.

Two bins of spindle bearings stood open side by side. In one of them something is wrong with the cage: its
bearings hum, and the spindles run out a little further, though inside the limit. Everything goes through the
same jobs as the commands.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, time, timedelta
from fractions import Fraction

from traveler.definition.plan import SlotKind
from traveler.demo.floor import Filling, Floor, crate_picture
from traveler.demo.stage import Scene, Stage, expect, there
from traveler.jobs.adjust import Done, advice_for, keep_adjustment
from traveler.jobs.append import Appended, strike
from traveler.jobs.attach import GivenFile, attach
from traveler.jobs.complain import Complaint, complain
from traveler.jobs.issue import IssueRequest, issue
from traveler.jobs.shipping import crate, place, release, ship
from traveler.jobs.stop import Disposition, decide, stop
from traveler.measure.number import format_number
from traveler.record.entry import Shipped
from traveler.trace.judging import judge

GOOD, BAD, NEXT = "P-2112/76", "P-2112/77", "P-2112/78"
"""Lots of bearings. The floor of the demonstration fits the second unless told otherwise."""

LOT_OF = (
    GOOD,
    BAD,
    BAD,
    GOOD,
    BAD,
    GOOD,
    GOOD,
    BAD,
    GOOD,
    BAD,
    BAD,
    GOOD,
    GOOD,
    BAD,
    GOOD,
    BAD,
    GOOD,
    BAD,
    BAD,
    GOOD,
)
"""Which lot each winder got, in the order of issue: whichever bin was nearer."""

BUILDERS = ("tkiln", "awick", "awick", "tkiln", "awick", "tkiln", "tkiln")
HUMS = (1, 4, 7, 10, 13, 15)
"""The winders whose customers had called before the demonstration begins."""

PECULIAR = 17
"""The winder about which somebody calls during the demonstration."""

BATCH, WEEKS_BACK, DAYS_APART = 10, 9, 16
CUSTOMERS = ("Aldermoor Weavers", "Brackwater Looms", "Collin Thread Hall", "Dunmere Rugs", "Elder Silk Yard")

SAID = (
    "Hums at full speed, louder each week.",
    "A humming from the spindles.",
    "Too loud for the shop floor, spindles 2 and 3.",
)
HEAT = "H-88214"
"""The heat of the steel that the end plates were cut from."""


class Past:
    """Builds the past on a stage; afterwards the clock of the stage stands where it stood."""

    def __init__(self, stage: Stage) -> None:
        self.stage = stage
        self.today = stage.now.date()

    def happen(self) -> Scene:
        """All of it, in the order of time; told in one scene.

        Raises:
            CannotDo: something went otherwise than told.
        """
        session = self.stage.session
        plates = self._plates(self._day(WEEKS_BACK * 7 + 7))
        serials: list[str] = []
        for batch in range(len(LOT_OF) // BATCH):
            self._clock(self._day(WEEKS_BACK * 7 - DAYS_APART * batch))
            serials += self._issue(BATCH)
            for serial in serials[-BATCH:]:
                self._build(serial, serials.index(serial), plates)
        self._call(serials)
        self.stage.session = session
        lines = (
            f"{len(serials)} winders were built and shipped, with end plates of lot {plates}",
            f"bearings came from {GOOD} and {BAD}, two bins side by side",
            f"{len(HUMS)} customers called: {', '.join(serials[at] for at in HUMS)}",
        )
        return Scene("In the weeks before", lines)

    def peculiar(self) -> str:
        """The serial of the winder about which somebody will call."""
        winders = [serial for serial, plan in self.stage.plans.items() if plan.product == "bobbin-winder"]
        return winders[PECULIAR]

    def _day(self, back: int) -> datetime:
        day = self.today - timedelta(days=back)
        return datetime.combine(day, time(7, 0), self.stage.session.shop.zone)

    def _clock(self, moment: datetime) -> None:
        self.stage.session = replace(self.stage.session, now=moment)

    def _issue(self, count: int) -> tuple[str, ...]:
        done = issue(
            self.stage.session, IssueRequest("bobbin-winder", "4", "rhale", count=count, order="4466")
        )
        expect(len(done.serials) == count, f"no past: {[str(finding) for finding in done.findings]}")
        self.stage.plans |= dict.fromkeys(done.serials, there(done.plan, "the winder has no plan"))
        return done.serials

    def _plates(self, day: datetime) -> str:
        """A lot of end plates, made here of one heat of steel."""
        self._clock(day)
        done = issue(self.stage.session, IssueRequest("end-plate", "std", "rhale", quantity=60))
        expect(len(done.serials) == 1, f"no end plates: {[str(finding) for finding in done.findings]}")
        (serial,) = done.serials
        plan = there(done.plan, "the end plate has no plan")
        self.stage.plans[serial] = plan
        self.stage.later(10)
        filled = Floor(self.stage.session.shop.gauges, "mchip", pieces=60).fillings(plan, self.stage.now)
        steel = [
            replace(filling, value=HEAT) if filling.slot.kind is SlotKind.PART else filling
            for filling in filled
        ]
        self._clock(filled[-1].at + timedelta(minutes=5))
        self.stage.record(serial, steel)
        return serial

    def _build(self, serial: str, number: int, plates: str) -> None:
        """One winder from its first screw to the customer."""
        self.stage.later(10)
        floor = Floor(self.stage.session.shop.gauges, BUILDERS[number % len(BUILDERS)], 1000 + 10 * number)
        filled = floor.fillings(self.stage.plans[serial], self.stage.now)
        filled = tuple(self._as_it_was(serial, filling, number, plates) for filling in filled)
        if number == PECULIAR:
            self._peculiar(serial, filled)
        else:
            self._clock(filled[-1].at + timedelta(minutes=5))
            self.stage.record(serial, filled)
        self._took(release(self.stage.session, serial, "qmoor"))
        packed = self.stage.work(serial, ["C"])
        self.stage.record(serial, packed)
        if number == PECULIAR:
            self._photograph(serial, packed)
        for leave in self._leave(serial, number):
            self._took(leave)

    def _leave(self, serial: str, number: int) -> Iterator[Appended]:
        customer = CUSTOMERS[number % len(CUSTOMERS)]
        sent = Shipped(customer=customer, carrier="own van", reference=f"DN-00{60 + number}")
        yield crate(self.stage.session, serial, "pstrap")
        self.stage.later(5)
        yield place(self.stage.session, serial, f"Bay {number % 6 + 1}", "pstrap")
        self.stage.later(20)
        yield ship(self.stage.session, serial, sent, "sdock")

    def _took(self, taken: Appended) -> None:
        self.stage.later(5)
        found = [str(finding) for finding in taken.findings]
        expect(taken.taken, f"a step of {taken.judged.unit.serial} was to be taken: {found}")

    def _as_it_was(self, serial: str, filling: Filling, number: int, plates: str) -> Filling:
        """What was written: the lot at hand, and further run-out with the bearings that hum."""
        step = self.stage.plans[serial].step_of.get(filling.slot.id)
        if step is None:
            return filling
        if step.part_number == "P-1041":
            return replace(filling, value=plates)
        if step.part_number == "P-2112":
            return replace(filling, value=LOT_OF[number])
        if step.check == "runout" and not filling.slot.repeats:
            where = Fraction(filling.value) + Fraction(number % 3, 1000)
            further = Fraction(7, 1000) if LOT_OF[number] == BAD else Fraction(-4, 1000)
            return replace(filling, value=format_number(where + further, 3))
        return _scattered(filling, number) if filling.gauge else filling

    def _peculiar(self, serial: str, filled: Sequence[Filling]) -> None:
        """One that was not plain sailing: adjusted, misread, conceded, part of it written a day late."""
        late = [filling for filling in filled if filling.slot.id.startswith(("40", "Q"))]
        first = [filling for filling in filled if filling not in late]
        height = next(filling for filling in first if self.stage.check(serial, filling) == "guide-height")
        gap = [filling for filling in first if self.stage.check(serial, filling) == "guard-gap"][1]
        worst = [filling for filling in first if self.stage.check(serial, filling) == "runout"][5]
        changed = {
            height.slot.id: replace(height, value="42.31", as_found=True),
            gap.slot.id: replace(gap, value="0.86"),
            worst.slot.id: replace(worst, value="0.049"),
        }
        first = [changed.get(filling.slot.id, filling) for filling in first]
        self._clock(first[-1].at + timedelta(minutes=5))
        self.stage.record(serial, first)
        self._adjust(serial, height)
        self._misread(serial, worst)
        self._concede(serial, gap)
        self.stage.later(30 * 60)
        started = height.at + timedelta(hours=1, minutes=30)
        self.stage.record(
            serial,
            [replace(filling, at=started + timedelta(minutes=2 * at)) for at, filling in enumerate(late)],
        )

    def _adjust(self, serial: str, height: Filling) -> None:
        with self.stage.session.store.reading() as records:
            advised = advice_for(judge(self.stage.session, records, serial), height.slot.id)[0]
        kept = keep_adjustment(
            self.stage.session, serial, height.slot.id, Done(advised.text, "tkiln", followed=True)
        )
        expect(kept.entries, "the adjustment was to be recorded")
        self.stage.later(10)
        self.stage.record(serial, [replace(height, value="42.03", at=self.stage.now)])

    def _misread(self, serial: str, worst: Filling) -> None:
        """A reading written at the wrong spindle, and struck out."""
        self.stage.later(5)
        self.stage.record(serial, [replace(worst, value="0.031", at=self.stage.now)])
        with self.stage.session.store.reading() as records:
            wrong = records.entries(serial)[-1].seq
        done = strike(self.stage.session, serial, wrong, "Read at spindle 4.", worst.by)
        expect(done.entry, f"#{wrong} was to be struck: {[str(finding) for finding in done.findings]}")

    def _concede(self, serial: str, gap: Filling) -> None:
        """A gap that is a little too wide, used as it is."""
        what = "gap 0.86 mm, guard plate slightly bowed"
        stopped = stop(self.stage.session, serial, what, "iwren", slot=gap.slot.id)
        seq = there(stopped.entry, "the gap was to be stopped").seq
        asked = Disposition("use_as_is", concession="C-0117", text="no finger reaches it")
        done = decide(self.stage.session, serial, seq, asked, "qmoor")
        expect(done.entry, f"it was to be conceded: {[str(finding) for finding in done.findings]}")

    def _photograph(self, serial: str, packed: Sequence[Filling]) -> None:
        """The open crate, kept with the records."""
        slot = next(filling.slot.id for filling in packed if filling.slot.kind is SlotKind.PHOTO)
        given = [GivenFile("crate.png", crate_picture())]
        done = attach(self.stage.session, serial, given, "pstrap", slot=slot)
        expect(done.files, f"the photograph was to be kept: {[str(finding) for finding in done.findings]}")

    def _call(self, serials: Sequence[str]) -> None:
        """The customers who called before."""
        for at, number in enumerate(HUMS):
            self._clock(self._day(16 - 2 * at) + timedelta(hours=3))
            said = Complaint(SAID[at % len(SAID)], ("noise",))
            done = complain(self.stage.session, serials[number], said, "sdock")
            expect(done.case, f"a complaint was refused: {[str(finding) for finding in done.findings]}")


def _scattered(filling: Filling, number: int) -> Filling:
    """The reading a few steps off: no two winders are the same."""
    decimals = len(filling.value.partition(".")[2])
    steps = 2 * ((number * 7 + len(filling.slot.id) + number // 3) % 5 - 2)
    return replace(
        filling, value=format_number(Fraction(filling.value) + Fraction(steps, 10**decimals), decimals)
    )
