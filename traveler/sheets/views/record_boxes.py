"""Record → content of every box of the traveler, by the name of the box."""

from __future__ import annotations

from collections.abc import Iterator

from traveler.definition.plan import Operation, Slot, SlotKind, Step
from traveler.record.entry import Confirmed, Counted, Entry, Fitted, Read
from traveler.sheets.entry_text import decision, entry_text
from traveler.sheets.views.boxes import MOST, FilledBox, Mark, Shape, shortened
from traveler.sheets.views.grid import position
from traveler.sheets.views.ledger import UNIT_EVENTS, Ledger
from traveler.sheets.views.limits import padded
from traveler.verdict.state import SlotState

TICK = "✓"
SIGNED = frozenset({SlotKind.SIGN, SlotKind.WITNESS})


def box_contents(ledger: Ledger) -> dict[str, FilledBox]:
    """Name of a box → what stands in it. Notes in ``ledger.shown`` which entries the boxes show."""
    _note_shown(ledger)
    made: dict[str, FilledBox] = {}
    for step in ledger.plan.steps():
        for slot in step.slots:
            made |= _slot(slot, step, ledger)
        made |= _step(step, ledger)
    for operation in ledger.plan.operations:
        made |= _signature(operation, ledger)
    made |= _stops(ledger)
    return made


def _note_shown(ledger: Ledger) -> None:
    for slot in ledger.plan.slots():
        shown = [ledger.value(slot), ledger.found(slot) if ledger.adjustable(slot.id) else None]
        ledger.shown |= {entry.seq for entry in shown if entry is not None}
    for stop in ledger.stops:
        logged = [entry for entry in (stop.entry, stop.decided) if entry is not None]
        ledger.shown |= {
            entry.seq for entry in logged if len(entry_text(entry.body, ledger.say)) <= MOST["line"]
        }


def _slot(slot: Slot, step: Step, ledger: Ledger) -> dict[str, FilledBox]:
    entry = ledger.value(slot)
    if slot.kind is SlotKind.WORKED:
        return {slot.id: _worked(slot, step, ledger)}
    marks = (*_state(slot, entry, ledger), *_beside(entry, step, ledger), *reference_marks(slot.id, ledger))
    remark = ledger.say("as found") if _ruling_found(entry) else _name(slot, entry, ledger)
    struck = _struck(slot, ledger)
    made = {slot.id: FilledBox(_lines(slot, entry, ledger), struck, remark, marks)}
    if slot.kind is SlotKind.WITNESS:
        made[f"{slot.id}#at"] = FilledBox(_moment(entry, ledger))
    if slot.kind is SlotKind.COUNT and entry is not None and isinstance(entry.body, Counted):
        made[f"{slot.id}#rework"] = FilledBox((str(entry.body.rework),))
        made[f"{slot.id}#scrap"] = FilledBox((str(entry.body.scrap),))
    if ledger.adjustable(slot.id):
        made[f"{slot.id}#found"] = _found(slot, step, entry, ledger)
    return made


def _found(slot: Slot, step: Step, value: Entry | None, ledger: Ledger) -> FilledBox:
    found = ledger.found(slot)
    if found is None or not isinstance(found.body, Read):
        return FilledBox()
    beside = () if found is value else tuple(_beside(found, step, ledger))
    return FilledBox((found.body.in_box,), marks=beside)


def _ruling_found(entry: Entry | None) -> bool:
    """Whether the value that counts was read as found: it was in, and nothing was adjusted."""
    return entry is not None and isinstance(entry.body, Read) and entry.body.as_found


def _lines(slot: Slot, entry: Entry | None, ledger: Ledger) -> tuple[str, ...]:
    if entry is None:
        return ()
    match entry.body:
        case Read():
            return (entry.body.in_box,)
        case Fitted(value=value):
            return (value,)
        case Counted(good=good):
            return (str(good),)
        case Confirmed(yes=False):
            return (ledger.say("no"),)
    return (entry.by,) if slot.kind in SIGNED else (TICK,)


def _name(slot: Slot, entry: Entry | None, ledger: Ledger) -> str:
    """The name of the person who signed, below their initials."""
    if entry is None or slot.kind not in SIGNED or ledger.name(entry.by) == entry.by:
        return ""
    return shortened(ledger.name(entry.by), MOST["sign"])


def _moment(entry: Entry | None, ledger: Ledger) -> tuple[str, ...]:
    """Day and time as two lines."""
    return tuple(ledger.time(entry.at).split(" ")) if entry is not None else ()


def _worked(slot: Slot, step: Step, ledger: Ledger) -> FilledBox:
    judged = ledger.judged(slot.id)
    decimals = step.limits.decimals if step.limits else 0
    lines = (padded(judged.value, decimals),) if judged.value is not None else ()
    return FilledBox(lines, marks=(*_state(slot, None, ledger), *reference_marks(slot.id, ledger)))


def _state(slot: Slot, entry: Entry | None, ledger: Ledger) -> Iterator[Mark]:
    """The state of a slot in a word, where it is not simply good."""
    say, judged = ledger.say, ledger.judged(slot.id)
    words = {
        SlotState.OUT: Mark(say("OUT"), "out"),
        SlotState.DOUBTFUL: Mark(say("DOUBTFUL"), "doubtful"),
        SlotState.REFUSED: Mark(say("REFUSED"), "refused"),
    }
    if judged.state in words:
        yield words[judged.state]
    if entry is not None and ledger.conceded(slot.id, entry.seq):
        yield Mark(say("CONCESSION"), "conceded")


def _beside(entry: Entry | None, step: Step | None, ledger: Ledger) -> Iterator[Mark]:
    """Beside the box of an entry: late, and who and with what where that is not usual in the step."""
    if entry is None:
        return
    if ledger.late(entry):
        yield Mark(ledger.say("LATE"), "late")
    if step is None:
        return
    if isinstance(entry.body, Read) and entry.body.gauge and entry.body.gauge != ledger.usual_gauge(step):
        yield Mark(entry.body.gauge)
    if entry.body.kind != "witnessed" and entry.by != ledger.usual_person(step):
        yield Mark(entry.by)


def _struck(slot: Slot, ledger: Ledger) -> str:
    """The value that was struck out last in a slot."""
    struck = [entry for entry in ledger.at_slot(slot.id) if entry.seq in ledger.struck]
    body = struck[-1].body if struck else None
    match body:
        case Read():
            return body.in_box
        case Fitted(value=value):
            return value
        case _:
            return ""


def where(name: str | None, ledger: Ledger) -> str:
    """A slot in words: ``30-2, spindle 3, end far``; the unit where none is named."""
    slot = ledger.plan.by_slot.get(name or "")
    if slot is None:
        return name or ledger.say("the unit")
    step = ledger.plan.step_of.get(slot.id)
    parts = (step.id if step is not None else slot.id, position(slot, ledger.say))
    return ", ".join(part for part in parts if part)


def reference_marks(slot: str, ledger: Ledger) -> tuple[Mark, ...]:
    """The first entries about a slot that are listed at the end, and how many more there are."""
    told_later = [entry for entry in ledger.at_slot(slot) if is_told_later(entry, ledger)]
    marks = [
        Mark(f"#{entry.seq}", "struck" if entry.seq in ledger.struck else "see") for entry in told_later[:2]
    ]
    return (*marks, *([Mark(f"+{len(told_later) - 2}", "see")] if len(told_later) > 2 else []))


def is_told_later(entry: Entry, ledger: Ledger) -> bool:
    """Whether an entry is listed at the end of the record: no box shows all of it."""
    if entry.seq in ledger.struck or entry.seq not in ledger.shown:
        return entry.body.kind not in UNIT_EVENTS and entry.body.kind != "struck"
    slot = ledger.plan.by_slot.get(entry.slot or "")
    return entry.body.kind == "photographed" or (slot is not None and is_cut(slot, entry, ledger))


def is_cut(slot: Slot, entry: Entry, ledger: Ledger) -> bool:
    """Whether a value is too long for its box."""
    shapes: dict[SlotKind, Shape] = {SlotKind.PART: "wide", SlotKind.READING: "reading"}
    shape = "reading" if slot.position else shapes.get(slot.kind, "sign")
    return any(len(line) > MOST[shape] for line in _lines(slot, entry, ledger))


def _step(step: Step, ledger: Ledger) -> dict[str, FilledBox]:
    person, gauge = ledger.usual_person(step), ledger.usual_gauge(step)
    return {
        f"{step.id}#by": FilledBox((person,) if person else ()),
        f"{step.id}#gauge": FilledBox((gauge,) if gauge else ()),
    }


def _signature(operation: Operation, ledger: Ledger) -> dict[str, FilledBox]:
    sign = operation.sign
    still_open = sum(
        ledger.judged(slot.id).state is SlotState.OPEN
        for step in operation.steps for slot in step.slots
    )  # fmt: skip
    base = sign.id if sign is not None else f"{operation.number}/sign"
    made = {f"{base}#open": FilledBox((str(still_open),))}
    if sign is not None:
        entry = ledger.value(sign)
        marks = (
            *_state(sign, entry, ledger),
            *_beside(entry, None, ledger),
            *reference_marks(sign.id, ledger),
        )
        made[sign.id] = FilledBox(_lines(sign, entry, ledger), remark=_name(sign, entry, ledger), marks=marks)
        made[f"{sign.id}#at"] = FilledBox(_moment(entry, ledger))
    return made


def _stops(ledger: Ledger) -> dict[str, FilledBox]:
    """The log of stops on the cover."""
    made: dict[str, FilledBox] = {}
    for number, stop in enumerate(ledger.stops, start=1):
        decided = stop.decided
        cells = {
            "step": (where(stop.slot, ledger), f"#{stop.entry.seq}"),
            "what": (stop.what, f"{stop.entry.by}, {ledger.time(stop.entry.at)}"),
            "decided": (decision(stop.decision, ledger.say),)
            if stop.decision
            else (ledger.say("not decided"),),
            "by": (decided.by, ledger.time(decided.at)) if decided else (),
            "again": (", ".join(stop.decision.measure_again),) if stop.decision else (),
        }
        made |= {f"stop#{number}-{key}": FilledBox(lines) for key, lines in cells.items()}
    return made
