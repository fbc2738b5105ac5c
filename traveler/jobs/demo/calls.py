"""The end of the demonstration: a customer calls, and the record answers."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from traveler.jobs.affected import Cause
from traveler.jobs.complain import Complaint, complain
from traveler.jobs.contain import Wanted, contain
from traveler.jobs.demo.past import BAD
from traveler.jobs.demo.scene import Scene, expect, there
from traveler.jobs.demo.stage import Stage
from traveler.jobs.dossier_files import write_dossier
from traveler.jobs.follow_up import Step, follow_up
from traveler.jobs.others import others

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
    done = complain(stage.office, serial, said, "sdock")
    case = there(done.case, f"the complaint was refused: {[str(one) for one in done.findings]}")
    expect(done.values[0].changed and done.values[0].inside is False, "the value was to have changed")
    lines = (f"case {case.name}: {case.complaint.text}", *(one.sentence for one in done.values))
    return case.name, Scene(f"{serial}: a customer calls", lines)


def ranked(stage: Stage, case: str) -> Scene:
    """What the complained winders share."""
    with stage.office.store.reading() as records:
        found = others(stage.office, records, case)
    first = found.ranked[0]
    expect(first.shared.convincing and BAD in first.name, "the lot of bearings was to come first")
    return Scene("Which others? What the complained winders share is ranked", found.sentences)


def contained(stage: Stage, case: str) -> Scene:
    """The winders with the lot: stopped here, a letter for those that left."""
    letters = stage.office.shop.folder / "letters.csv"
    done = contain(stage.office, Wanted(case, Cause("lot", BAD), stop=True, by="qmoor", letters=letters))
    expect(done.here and len(done.stopped) == len(done.here), "those in stock were to be stopped")
    expect(done.letters == len(done.left), "a letter was to be written for each that left")
    again = contain(stage.office, Wanted(case, Cause("lot", BAD), stop=True, by="qmoor"))
    expect(not any(one.new for one in again.stopped), "nothing was to be stopped twice")
    cause = Step("cause", "The cage of the bearings of one lot hums.", (f"lot {BAD}",))
    expect(not follow_up(stage.office, case, [cause], "qmoor").findings, "the cause was to be recorded")
    lines = [f"{one.serial}: {one.was} → {one.where}" for one in done.stopped]
    lines.append(f"{done.letters} letters to customers")
    return Scene(f"Lot {BAD} is contained", tuple(lines), (letters,))


def on_paper(stage: Stage, serial: str) -> Scene:
    """The dossier, and what stands on its first page."""
    done = write_dossier(stage.office, serial)
    strong = [one for one in done.found.remarks if one.strong]
    expect(strong and BAD in strong[0].head, "the dossier was to name the lot first")
    kinds = {one.kind for one in done.found.remarks}
    wanted = {"shared", "changed", "near", "conceded", "struck", "late", "adjusted"}
    expect(kinds >= wanted, f"the dossier lacks {sorted(wanted - kinds)}")
    lines = tuple(f"{one.head}. {one.text}" for one in done.found.remarks)
    files: tuple[Path, ...] = done.files
    return Scene(f"{serial}: everything about it on paper, the cause first", lines, files)
