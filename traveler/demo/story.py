"""A day at Marrowby Machine Works, told through the same jobs as the commands.

Every scene checks its own outcome: a demonstration that goes otherwise than told stops and says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from traveler.definition.plan import SlotKind
from traveler.demo.floor import Filling
from traveler.demo.past import BAD, NEXT, Past
from traveler.demo.stage import OVERDUE, Scene, Stage, taken, there
from traveler.finding import blocking
from traveler.jobs.adjust import Done, advice_for, keep_adjustment
from traveler.jobs.append import Appended
from traveler.jobs.case import CaseStep, follow_up
from traveler.jobs.complain import Complaint, complain
from traveler.jobs.contain import ContainRequest, contain
from traveler.jobs.issue import IssueRequest
from traveler.jobs.print import print_new
from traveler.jobs.record import Recorded
from traveler.jobs.shipping import crate, place, release, ship
from traveler.record.entry import Shipped
from traveler.sheets.batch.catalog import step_sheets
from traveler.sheets.batch.print_job import Printed
from traveler.shop.session import Session
from traveler.text import plural
from traveler.trace.common_causes import Cause, common_causes
from traveler.trace.dossier.gather import write_dossier
from traveler.trace.history import history
from traveler.trace.verify import verify_records
from traveler.trace.where_used import where_used
from traveler.verdict.advice import advice_lines

WINDER, WHEEL = ("bobbin-winder", "4"), ("potters-wheel", "230")
"""Product and variant of the units that are built."""

ADJUSTED = "guide-height"
"""The check of the winder that is out and adjusted: one screw with a known effect."""

WHERE, FOUND = "runout/spindle=3,end=far", "0.071 mm ± 0.005 mm"
"""What the customer who calls measured."""

REMARKS = {"shared", "changed", "near", "conceded", "struck", "late", "adjusted"}
"""What the first page of the dossier is to tell of."""


class Story:
    """The scenes in their order; ``present`` is the moment the demonstration is given at."""

    def __init__(self, folder: Path, present: datetime) -> None:
        self.present = present
        self.stage = Stage(folder, present)

    @property
    def session(self) -> Session:
        """The session at the moment of the story."""
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
        winders = self.stage.issue(IssueRequest(*WINDER, "rhale", count=2, order="4471"))
        wheels = self.stage.issue(IssueRequest(*WHEEL, "rhale", count=2))
        yield self.issued([*winders, *wheels])
        yield self.typed(winders[0])
        yield self.filled_pdf(wheels[0])
        out, scene = self.read_out(winders[1])
        yield scene
        yield self.adjusted(winders[1], out.slot.id)
        yield self.read_again(winders[1], out)
        yield self.refused(wheels[1])
        built = [winders[0], wheels[0], winders[1]]
        for serial in built:
            yield self.step(serial, "released", release(self.session, serial, "qmoor"))
        yield self.packed(built)
        for serial in built:
            yield self.step(serial, "crated", crate(self.session, serial, "pstrap"))
        for number, serial in enumerate(built, 1):
            yield self.step(serial, "placed", place(self.session, serial, f"Bay {number}", "pstrap"))
        leaves = Shipped(customer="Aldermoor Weavers", carrier="own van", reference="DN-0093")
        yield self.step(winders[0], "shipped", ship(self.session, winders[0], leaves, "sdock"))
        yield self.traced(winders[0], "shipped to Aldermoor Weavers")
        yield self.shared("gauge", "IND-03")
        self.stage.later(20)
        case, scene = self.complained(past.peculiar())
        yield scene
        yield self.causes(case)
        yield self.contained(case)
        yield self.on_paper(past.peculiar())
        yield self.verified([*winders, *wheels])
        yield self.left()
        self.session.store.close()

    def set_up(self) -> Scene:
        """The shop's folder."""
        shop = self.session.shop
        lines = (
            f"{shop.settings.name}: {len(shop.people.people)} people, {len(shop.gauges.gauges)} gauges",
            f"its clock stands at {self.stage.now:%Y-%m-%d %H:%M} and moves with the story",
        )
        files = tuple(file for file in self.stage.files if file.suffix == ".yaml")
        return Scene(f"A shop is set up in {shop.folder}", lines, files)

    def issued(self, serials: Sequence[str]) -> Scene:
        """Their travelers."""
        printed = list(print_new(self.session, serials))
        there(all(sheets.files for sheets in printed), "a traveler was not printed")
        plans = [(serial, self.stage.plans[serial]) for serial in serials]
        lines = [f"{serial}: {plan.title} {plan.variant}" for serial, plan in plans]
        return self.scene("Four units are issued and their travelers printed", lines, printed)

    def typed(self, serial: str) -> Scene:
        """A good unit from a CSV."""
        work = self.stage.work(serial)
        filled = [replace(made, value=NEXT) if made.value == BAD else made for made in work]
        return self.good(serial, filled, "csv", "results typed into a CSV are recorded")

    def filled_pdf(self, serial: str) -> Scene:
        """A good unit from its traveler, filled in through the boxes."""
        title = "its traveler, filled in on a tablet, is recorded"
        return self.good(serial, self.stage.work(serial), "pdf", title)

    def good(self, serial: str, filled: Sequence[Filling], kind: str, title: str) -> Scene:
        """Results that nothing is wrong with."""
        done = self.stage.record(serial, filled, kind)
        held = blocking(done.units[0].verdict.findings)
        there(not held, f"{serial} was to be good", held)
        return Scene(f"{serial}: {title}", self.counted(done), (self.stage.made[-1],))

    def read_out(self, serial: str) -> tuple[Filling, Scene]:
        """A reading that is out as found."""
        work = self.stage.work(serial)
        out = next(made for made in work if self.stage.check(serial, made) == ADJUSTED)
        found = replace(out, value="42.31", as_found=True)
        done = self.stage.record(serial, [found if made is out else made for made in work])
        findings = [told for told in done.units[0].verdict.findings if told.place.slot == out.slot.id]
        there("REA001" in {finding.code for finding in findings}, "the reading was to be out", findings)
        advice = [line for line in advice_lines(done.units[0]) if out.slot.id in line]
        title = f"{serial}: a reading is out, and the tool says which way and how far"
        lines = (*self.counted(done), *there(advice, "there was to be advice"))
        return out, Scene(title, lines, (self.stage.made[-1],), tuple(findings))

    def adjusted(self, serial: str, slot: str) -> Scene:
        """The adjustment, as advised."""
        advised = advice_for(self.stage.judged(serial), slot)[0]
        there(advised.advice is not None and advised.advice.reaches, "the advice was to bring it in")
        done = keep_adjustment(self.session, serial, slot, Done(advised.text, "tkiln", followed=True))
        taken(done, "the adjustment was to be recorded")
        return Scene(f"{serial}: it is adjusted as advised", (advised.text,))

    def read_again(self, serial: str, out: Filling) -> Scene:
        """The same slot, as left."""
        self.stage.later(10)
        scene = self.good(serial, [replace(out, at=self.stage.now)], "csv", "read again, it is in")
        slot = self.stage.judged(serial).verdict.slots[out.slot.id]
        there(slot.state == "in" and slot.readings == 2, "the reading was to be in now")
        line = f"{out.slot.id}: {slot.value} {slot.unit} is {slot.state}"
        return replace(scene, lines=(*scene.lines, line))

    def refused(self, serial: str) -> Scene:
        """A unit with an overdue gauge, a box left open, and its builder inspecting: not released."""
        kind = next(gauge.kind for gauge in self.session.shop.gauges.gauges if gauge.id == OVERDUE)
        work = self.stage.work(serial)
        skipped = next(made for made in work if made.slot.kind is SlotKind.CONFIRM)
        done = self.stage.record(
            serial, [self.spoilt(serial, made, kind) for made in work if made is not skipped]
        )
        held = release(self.session, serial, "qmoor")
        codes = {finding.code for finding in held.findings}
        there(codes >= {"GAU004", "PER004", "MIS002"}, f"{serial} was to be refused", held.findings)
        lines = (*self.counted(done), f"{serial} stays {held.judged.verdict.state}: it is not released")
        return Scene(f"{serial}: quality wants to release it, and is refused", lines, (), held.findings)

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
        done = [self.stage.record(serial, self.stage.work(serial, ["C"])) for serial in serials]
        lines = [line for recorded in done for line in self.counted(recorded)]
        return Scene("The crates are packed, weighed and photographed", tuple(lines))

    def step(self, serial: str, done: str, step: Appended) -> Scene:
        """A step of a unit's life that was to be taken, with its sheets."""
        judged = taken(step, f"{serial} was to be {done}").judged
        printed = step_sheets(self.session, judged, done)
        self.stage.later(15)
        return self.scene(f"{serial}: {done}", [f"it is {judged.unit.state} now"], [printed])

    def traced(self, serial: str, where: str) -> Scene:
        """Its whole life."""
        judged = self.stage.judged(serial)
        life = history(judged.unit, judged.entries, judged.plan)
        there(life.where.startswith(where), f"{serial} was to be {where}")
        return Scene(f"{serial}: its whole life", life=life, zone=self.session.shop.settings.time_zone)

    def shared(self, kind: str, value: str) -> Scene:
        """What several units share."""
        with self.session.store.reading() as records:
            uses = where_used(records, kind, value)
        there(len(uses) > 1, f"{kind} {value} was to be in several units")
        return Scene(f"Which units were measured with {value}, and where they are", uses=uses)

    def complained(self, serial: str) -> tuple[str, Scene]:
        """A customer calls, with a value from the arrival check."""
        text, contact = "Hums at full speed; spindle 3 is hot to the touch.", "the foreman, before noon"
        said = Complaint(text, ("noise",), ((WHERE, FOUND),), contact=contact)
        done = complain(self.session, serial, said, "sdock")
        case = there(done.case, "the complaint was refused", done.findings)
        there(done.values[0].changed and done.values[0].inside is False, "the value was to have changed")
        lines = (f"case {case.name}: {case.complaint.text}", *(value.sentence for value in done.values))
        return case.name, Scene(f"{serial}: a customer calls", lines)

    def causes(self, case: str) -> Scene:
        """What the complained winders share."""
        with self.session.store.reading() as records:
            found = common_causes(self.session, records, case)
        first = found.ranked[0]
        there(first.shared.convincing and BAD in first.name, "the lot of bearings was to come first")
        return Scene("Common causes: what the winders with complaints share is ranked", found.sentences)

    def contained(self, case: str) -> Scene:
        """The winders with the lot: stopped here, a letter for those that left."""
        letters = self.session.shop.folder / "letters.csv"
        wanted = ContainRequest(case, Cause("lot", BAD), stop=True, by="qmoor", letters=letters)
        done = contain(self.session, wanted)
        there(done.here and len(done.stopped) == len(done.here), "those in stock were to be stopped")
        there(done.letters == len(done.left), "a letter was to be written for each that left")
        again = contain(self.session, replace(wanted, letters=None))
        there(not any(stopping.new for stopping in again.stopped), "nothing was to be stopped twice")
        cause = CaseStep("cause", "The cage of the bearings of one lot hums.", (f"lot {BAD}",))
        refused = follow_up(self.session, case, [cause], "qmoor").findings
        there(not refused, "the cause was to be recorded", refused)
        lines = [f"{stopping.serial}: {stopping.was} → {stopping.where}" for stopping in done.stopped]
        return Scene(f"Lot {BAD} is contained", (*lines, f"{done.letters} letters to customers"), (letters,))

    def on_paper(self, serial: str) -> Scene:
        """The dossier, and what stands on its first page."""
        done = write_dossier(self.session, serial)
        remarks = done.found.remarks
        strong = [remark for remark in remarks if remark.strong]
        there(strong and BAD in strong[0].head, "the dossier was to name the lot first")
        missing = sorted(REMARKS - {remark.kind for remark in remarks})
        there(not missing, f"the dossier lacks {missing}")
        lines = tuple(f"{remark.head}. {remark.text}" for remark in remarks)
        return Scene(f"{serial}: everything about it on paper, the cause first", lines, tuple(done.files))

    def verified(self, serials: Sequence[str]) -> Scene:
        """The records are what was written."""
        done = verify_records(self.session)
        known = {unit.serial for unit in done.units} >= set(serials)
        there(known and not done.findings, "a chain is broken", done.findings)
        there(self.session.now <= self.present, "the story ran into the future")
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
        lines = [f"{file.file.name}: {plural(file.added, 'entry', 'entries')} added" for file in done.files]
        for unit in done.units:
            open_slots = sum(slot.state == "open" for slot in unit.verdict.slots.values())
            lines.append(f"{unit.unit.serial} is {unit.verdict.state}, {open_slots} slots are open")
        return tuple(lines)

    def scene(self, title: str, lines: Sequence[str], printed: Sequence[Printed]) -> Scene:
        """A scene with the sheets it printed."""
        held = [finding for sheets in printed for finding in blocking(sheets.findings)]
        there(not held, "a sheet could not be printed", held)
        return Scene(title, tuple(lines), tuple(file for sheets in printed for file in sheets.files))
