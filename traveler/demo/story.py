"""A day at Marrowby Machine Works, told through the same jobs as the commands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from traveler.definition.plan import SlotKind
from traveler.demo.floor import Filling
from traveler.demo.past import BAD, NEXT, Past
from traveler.demo.stage import Scene, Stage, expect, there
from traveler.demo.world import OVERDUE
from traveler.finding import Weight, blocking
from traveler.jobs.adjust import Done, advice_for, keep_adjustment
from traveler.jobs.append import Appended
from traveler.jobs.case import CaseStep, follow_up
from traveler.jobs.complain import Complaint, complain
from traveler.jobs.contain import ContainRequest, contain
from traveler.jobs.issue import IssueRequest, issue
from traveler.jobs.print import print_new
from traveler.jobs.record import Recorded
from traveler.jobs.shipping import crate, place, release, ship
from traveler.record.entry import Shipped
from traveler.sheets.batch.catalog import step_sheets
from traveler.sheets.batch.print_job import Printed
from traveler.shop.session import Session
from traveler.trace.common_causes import Cause, common_causes
from traveler.trace.dossier.files import write_dossier
from traveler.trace.history import history
from traveler.trace.judging import judge
from traveler.trace.verify import verify_records
from traveler.trace.where_used import where_used
from traveler.verdict.advice import advice_lines

WHERE, FOUND = "runout/spindle=3,end=far", "0.071 mm ± 0.005 mm"
"""What the customer measured."""


def somebody_calls(stage: Stage, serial: str) -> Iterator[Scene]:
    """The complaint, which others, the containment, the dossier: one scene each.

    Raises:
        CannotDo: something went otherwise than told.
    """
    stage.later(20)
    case, scene = complained(stage, serial)
    yield scene
    yield ranked(stage, case)
    yield contained(stage, case)
    yield on_paper(stage, serial)


def complained(stage: Stage, serial: str) -> tuple[str, Scene]:
    """A customer calls, with a value from the arrival check."""
    said = Complaint(
        "Hums at full speed; spindle 3 is hot to the touch.", ("noise",), ((WHERE, FOUND),),
        contact="the foreman, before noon",
    )  # fmt: skip
    done = complain(stage.session, serial, said, "sdock")
    case = there(done.case, f"the complaint was refused: {[str(finding) for finding in done.findings]}")
    expect(done.values[0].changed and done.values[0].inside is False, "the value was to have changed")
    lines = (
        f"case {case.name}: {case.complaint.text}",
        *(arrival_value.sentence for arrival_value in done.values),
    )
    return case.name, Scene(f"{serial}: a customer calls", lines)


def ranked(stage: Stage, case: str) -> Scene:
    """What the complained winders share."""
    with stage.session.store.reading() as records:
        found = common_causes(stage.session, records, case)
    first = found.ranked[0]
    expect(first.shared.convincing and BAD in first.name, "the lot of bearings was to come first")
    return Scene("Which others? What the complained winders share is ranked", found.sentences)


def contained(stage: Stage, case: str) -> Scene:
    """The winders with the lot: stopped here, a letter for those that left."""
    letters = stage.session.shop.folder / "letters.csv"
    done = contain(
        stage.session, ContainRequest(case, Cause("lot", BAD), stop=True, by="qmoor", letters=letters)
    )
    expect(done.here and len(done.stopped) == len(done.here), "those in stock were to be stopped")
    expect(done.letters == len(done.left), "a letter was to be written for each that left")
    again = contain(stage.session, ContainRequest(case, Cause("lot", BAD), stop=True, by="qmoor"))
    expect(not any(stopping.new for stopping in again.stopped), "nothing was to be stopped twice")
    cause = CaseStep("cause", "The cage of the bearings of one lot hums.", (f"lot {BAD}",))
    expect(not follow_up(stage.session, case, [cause], "qmoor").findings, "the cause was to be recorded")
    lines = [f"{stopping.serial}: {stopping.was} → {stopping.where}" for stopping in done.stopped]
    lines.append(f"{done.letters} letters to customers")
    return Scene(f"Lot {BAD} is contained", tuple(lines), (letters,))


def on_paper(stage: Stage, serial: str) -> Scene:
    """The dossier, and what stands on its first page."""
    done = write_dossier(stage.session, serial)
    strong = [remark for remark in done.found.remarks if remark.strong]
    expect(strong and BAD in strong[0].head, "the dossier was to name the lot first")
    kinds = {remark.kind for remark in done.found.remarks}
    wanted = {"shared", "changed", "near", "conceded", "struck", "late", "adjusted"}
    expect(kinds >= wanted, f"the dossier lacks {sorted(wanted - kinds)}")
    lines = tuple(f"{remark.head}. {remark.text}" for remark in done.found.remarks)
    files: tuple[Path, ...] = done.files
    return Scene(f"{serial}: everything about it on paper, the cause first", lines, files)


WINDER, WHEEL = ("bobbin-winder", "4"), ("potters-wheel", "230")
"""Product and variant of the units that are built."""

ADJUSTED = "guide-height"
"""The check of the winder that is out and adjusted: one screw with a known effect."""


class Story:
    """The scenes in their order; ``present`` is the moment the demonstration is given at."""

    def __init__(self, folder: Path, present: datetime) -> None:
        self.present = present
        self.stage = Stage(folder, present)

    @property
    def session(self) -> Session:
        """The office at the moment of the story."""
        return self.stage.session

    def scenes(self) -> Iterator[Scene]:
        """Everything that happens; the last scene lists where every unit is and every PDF lies.

        Raises:
            CannotDo: something went otherwise than told, or the folder is not empty.
            StoreError, OSError: the folder cannot be written to.
        """
        yield self.set_up()
        past = Past(self.stage)
        yield past.happen()
        winders, wheels = self.issue(*WINDER, "4471"), self.issue(*WHEEL, None)
        yield self.issued([*winders, *wheels])
        yield self.typed(winders[0])
        yield self.filled_pdf(wheels[0])
        yield self.read_out(winders[1])
        yield self.adjusted(winders[1])
        yield self.read_again(winders[1])
        yield self.refused(wheels[1])
        built = [winders[0], wheels[0], winders[1]]
        for serial in built:
            yield self.step(serial, "released", release(self.session, serial, "qmoor"))
        yield self.packed(built)
        for serial in built:
            yield self.step(serial, "crated", crate(self.session, serial, "pstrap"))
        for number, serial in enumerate(built, 1):
            yield self.step(serial, "placed", place(self.session, serial, f"Bay {number}", "pstrap"))
        yield self.shipped(winders[0])
        yield self.traced(winders[0])
        yield self.shared("gauge", "IND-03")
        yield from somebody_calls(self.stage, past.peculiar())
        yield self.verified([*winders, *wheels])
        yield self.left()
        self.session.store.close()

    def set_up(self) -> Scene:
        """The shop's folder."""
        shop = self.stage.session.shop
        lines = (
            f"{shop.settings.name}: {len(shop.people.people)} people, {len(shop.gauges.gauges)} gauges",
            f"its clock stands at {self.stage.now:%Y-%m-%d %H:%M} and moves with the story",
        )
        files = tuple(file for file in self.stage.files if file.suffix == ".yaml")
        return Scene(f"A shop is set up in {shop.folder}", lines, files)

    def issue(self, product: str, variant: str, order: str | None) -> list[str]:
        """Two units of a product."""
        done = issue(self.session, IssueRequest(product, variant, "rhale", count=2, order=order))
        expect(
            len(done.serials) == 2, f"{product} was not issued: {[str(finding) for finding in done.findings]}"
        )
        self.stage.plans |= dict.fromkeys(done.serials, there(done.plan, f"{product} has no plan"))
        return list(done.serials)

    def issued(self, serials: Sequence[str]) -> Scene:
        """Their travelers."""
        printed = list(print_new(self.session, serials))
        expect(all(printout.files for printout in printed), "a traveler was not printed")
        lines = [
            f"{serial}: {self.stage.plans[serial].title} {self.stage.plans[serial].variant}"
            for serial in serials
        ]
        return self.scene("Four units are issued and their travelers printed", lines, printed)

    def typed(self, serial: str) -> Scene:
        """A good unit from a CSV."""
        filled = [
            replace(filling, value=NEXT) if filling.value == BAD else filling
            for filling in self.stage.work(serial)
        ]
        done = self.stage.record(serial, filled)
        expect(not blocking(done.units[0].verdict.findings), f"{serial} was to be good")
        return Scene(
            f"{serial}: results typed into a CSV are recorded", self.counted(done), (self.stage.made[-1],)
        )

    def filled_pdf(self, serial: str) -> Scene:
        """A good unit from its traveler, filled in through the boxes."""
        done = self.stage.record(serial, self.stage.work(serial), "pdf")
        expect(not blocking(done.units[0].verdict.findings), f"{serial} was to be good")
        title = f"{serial}: its traveler, filled in on a tablet, is recorded"
        return Scene(title, self.counted(done), (self.stage.made[-1],))

    def read_out(self, serial: str) -> Scene:
        """A reading that is out as found."""
        good = self.stage.work(serial)
        out = next(filling for filling in good if self.stage.check(serial, filling) == ADJUSTED)
        filled = [
            replace(filling, value="42.31", as_found=True) if filling is out else filling for filling in good
        ]
        done = self.stage.record(serial, filled)
        findings = [
            finding for finding in done.units[0].verdict.findings if finding.place.slot == out.slot.id
        ]
        expect({finding.code for finding in findings} >= {"REA001"}, "the reading was to be out")
        advice = [line for line in advice_lines(done.units[0]) if out.slot.id in line]
        expect(advice, "there was to be advice")
        title = f"{serial}: a reading is out, and the tool says which way and how far"
        self.out = out
        return Scene(title, (*self.counted(done), *advice), (self.stage.made[-1],), tuple(findings))

    def adjusted(self, serial: str) -> Scene:
        """The adjustment, as advised."""
        with self.session.store.reading() as records:
            advised = advice_for(judge(self.session, records, serial), self.out.slot.id)[0]
        expect(advised.advice is not None and advised.advice.reaches, "the advice was to bring it in")
        kept = keep_adjustment(
            self.session, serial, self.out.slot.id, Done(advised.text, "tkiln", followed=True)
        )
        expect(len(kept.entries) == 1, "the adjustment was to be recorded")
        return Scene(f"{serial}: it is adjusted as advised", (advised.text,))

    def read_again(self, serial: str) -> Scene:
        """The same slot, as left."""
        self.stage.later(10)
        done = self.stage.record(serial, [replace(self.out, at=self.stage.now)])
        state = done.units[0].verdict.slots[self.out.slot.id]
        expect(state.state == "in" and state.readings == 2, "the reading was to be in now")
        expect(not blocking(done.units[0].verdict.findings), f"{serial} was to be good")
        lines = (*self.counted(done), f"{self.out.slot.id}: {state.value} {state.unit} is {state.state}")
        return Scene(f"{serial}: read again, it is in", lines, (self.stage.made[-1],))

    def refused(self, serial: str) -> Scene:
        """A unit with an overdue gauge, a box left open, and its builder inspecting: not released."""
        kind = next(gauge.kind for gauge in self.session.shop.gauges.gauges if gauge.id == OVERDUE)
        good = self.stage.work(serial)
        skipped = next(filling for filling in good if filling.slot.kind is SlotKind.CONFIRM)
        wrong = [self.spoilt(serial, filling, kind) for filling in good if filling is not skipped]
        done = self.stage.record(serial, wrong)
        taken = release(self.session, serial, "qmoor")
        expect(not taken.taken, f"{serial} was to be refused")
        found = {finding.code for finding in taken.findings}
        expect(
            found >= {"GAU004", "PER004", "MIS002"}, f"other findings were expected, found {sorted(found)}"
        )
        lines = (*self.counted(done), f"{serial} stays {taken.judged.verdict.state}: it is not released")
        return Scene(f"{serial}: quality wants to release it, and is refused", lines, (), taken.findings)

    def spoilt(self, serial: str, filling: Filling, kind: str) -> Filling:
        """The same with a gauge past due, and with one who built it in the inspector's place."""
        step = self.stage.plans[serial].step_of.get(filling.slot.id)
        if step is not None and step.gauge is not None and step.gauge.kind == kind:
            filling = replace(filling, gauge=OVERDUE)
        if filling.slot.id.startswith("Q") and filling.slot.kind is SlotKind.SIGN:
            return replace(filling, value="evolt", by="evolt")
        return filling

    def packed(self, serials: Sequence[str]) -> Scene:
        """The crating, recorded like everything else."""
        lines: list[str] = []
        for serial in serials:
            done = self.stage.record(serial, self.stage.work(serial, ["C"]))
            expect(done.files[0].added, f"the crating of {serial} was to be recorded")
            lines += self.counted(done)
        return Scene("The crates are packed, weighed and photographed", tuple(lines))

    def step(self, serial: str, done: str, taken: Appended) -> Scene:
        """A step of a unit's life that was to be taken, with its sheets."""
        expect(taken.taken, f"{serial} was to be {done}: {[str(finding) for finding in taken.findings]}")
        printed = step_sheets(self.session, taken.judged, done)
        self.stage.later(15)
        return self.scene(f"{serial}: {done}", [f"it is {taken.judged.unit.state} now"], [printed])

    def shipped(self, serial: str) -> Scene:
        """One crate leaves."""
        leaves = Shipped(customer="Aldermoor Weavers", carrier="own van", reference="DN-0093")
        return self.step(serial, "shipped", ship(self.session, serial, leaves, "sdock"))

    def traced(self, serial: str) -> Scene:
        """Its whole life."""
        with self.session.store.reading() as records:
            judged = judge(self.session, records, serial)
        life = history(judged.unit, judged.entries, judged.plan)
        expect(life.where.startswith("shipped to Aldermoor Weavers"), f"{serial} was to be shipped")
        return Scene(f"{serial}: its whole life", life=life, zone=self.session.shop.settings.time_zone)

    def shared(self, kind: str, value: str) -> Scene:
        """What several units share."""
        with self.session.store.reading() as records:
            uses = where_used(records, kind, value)
        expect(len(uses) > 1, f"{kind} {value} was to be in several units")
        return Scene(f"Which units were measured with {value}, and where they are", uses=uses)

    def verified(self, serials: Sequence[str]) -> Scene:
        """The records are what was written."""
        done = verify_records(self.session)
        expect(
            not done.findings and {unit.serial for unit in done.units} >= set(serials), "a chain is broken"
        )
        expect(self.session.now <= self.present, "the story ran into the future")
        lines = [f"{unit.serial}: {unit.count} entries, head {unit.head[:12]}" for unit in done.units]
        return Scene("Every record is what was written", tuple(lines))

    def left(self) -> Scene:
        """Where every unit is, and every sheet."""
        with self.session.store.reading() as records:
            units = records.units()
        lines = tuple(f"{unit.serial}: {unit.state}" for unit in units)
        return Scene("What is left behind", lines, tuple(sorted(self.session.shop.output.rglob("*.pdf"))))

    def counted(self, done: Recorded) -> tuple[str, ...]:
        """What became of the files, and how the unit stands."""
        lines = [
            f"{file.file.name}: {file.added} {'entry' if file.added == 1 else 'entries'} added"
            for file in done.files
        ]
        for unit in done.units:
            open_slots = sum(slot.state == "open" for slot in unit.verdict.slots.values())
            lines.append(f"{unit.unit.serial} is {unit.verdict.state}, {open_slots} slots are open")
        return tuple(lines)

    def scene(self, title: str, lines: Sequence[str], printed: Sequence[Printed]) -> Scene:
        """A scene with the sheets it printed; only findings that matter are shown."""
        findings = [
            finding for sheet in printed for finding in sheet.findings if finding.weight is Weight.BLOCKING
        ]
        files = tuple(file for sheet in printed for file in sheet.files)
        expect(not findings, f"a sheet could not be printed: {[str(finding) for finding in findings]}")
        return Scene(title, tuple(lines), files)
