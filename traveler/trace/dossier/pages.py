"""What the pages of a dossier show: remarks with their drawings, readings by check, everything in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from traveler.sheets.dossier import Strip, draw
from traveler.trace.dossier.context import PartShown
from traveler.trace.dossier.readings import ReadingShown
from traveler.trace.dossier.result import CaseShown, Dossier, Observation
from traveler.trace.history import FOLLOW_UP

FIRST_REMARKS, FIRST_OTHERS = 7, 6
"""So many remarks and other units stand on page one."""

DRAWN = 2
"""So many remarks on page one get a drawing."""


@dataclass(frozen=True, slots=True)
class ObservationView:
    """A remark, with the drawing of the reading it speaks of."""

    remark: Observation
    strip: Markup | None


@dataclass(frozen=True, slots=True)
class RowView:
    """One reading: where, value, flags, drawing, and who read it when with what."""

    where: str
    value: str
    flags: tuple[str, ...]
    strip: Markup
    about: str


@dataclass(frozen=True, slots=True)
class CheckRows:
    """One check with all its readings."""

    title: str
    limits: str
    accept: str
    operation: str
    rows: tuple[RowView, ...]


@dataclass(frozen=True, slots=True)
class CaseStepView:
    """A step of a case in words."""

    what: str
    text: str
    by: str
    day: str


@dataclass(frozen=True, slots=True)
class CaseView:
    """A case as it stands on page one."""

    case: object
    day: str
    age: int
    symptoms: tuple[str, ...]
    values: tuple[object, ...]
    steps: tuple[CaseStepView, ...]


@dataclass(frozen=True, slots=True)
class PartView:
    """A part in one line."""

    title: str
    value: str
    known: str
    by: str


def view_of(found: Dossier, issued: str, rows: tuple[str, str] = ("before", "after")) -> Mapping[str, object]:
    """The context of ``sheets/dossier_body.html``; ``rows`` are the names of a strip's rows."""
    strips = {serial.slot: draw(strip_of(serial, rows)) for serial in found.readings}
    remarks = _remarks(found, strips)
    return {
        "d": _Shown(found),
        "issued": issued,
        "shown_remarks": remarks[:FIRST_REMARKS],
        "left_out": max(0, len(remarks) - FIRST_REMARKS),
        "first_others": max(2, FIRST_OTHERS - sum(len(serial.case.steps) for serial in found.cases)),
        "checks": tuple(_checks(found.readings, strips)),
        "parts": tuple(_part(serial) for serial in found.parts),
        "photo_names": tuple(serial.digest for serial in found.photos if serial.digest),
    }


class _Shown:
    """The dossier with its cases in words; everything else as it is."""

    def __init__(self, found: Dossier) -> None:
        self._found = found
        self.cases = tuple(_case(serial) for serial in found.cases)

    def __getattr__(self, name: str) -> object:
        return getattr(self._found, name)


def _case(shown: CaseShown) -> CaseView:
    steps = tuple(
        CaseStepView(
            FOLLOW_UP[step.step].capitalize() + ":",
            f"{step.text}{f' ({chr(44).join(step.causes)})' if step.causes else ''}",
            entry.by,
            entry.at.date().isoformat(),
        )
        for entry, step in shown.case.steps
    )
    return CaseView(shown.case, shown.day, shown.age, shown.symptoms, tuple(shown.values), steps)


def _remarks(found: Dossier, strips: Mapping[str, Markup]) -> tuple[ObservationView, ...]:
    drawn: list[ObservationView] = []
    left = DRAWN
    for serial in found.remarks:
        if serial.kind == "changed":
            continue  # the complaint itself says so, just above
        strip = strips.get(serial.slots[0]) if serial.slots and left else None
        left -= strip is not None
        drawn.append(ObservationView(serial, strip))
    return tuple(drawn)


def strip_of(reading: ReadingShown, rows: tuple[str, str] = ("before", "after")) -> Strip:
    """What is drawn of a reading."""
    limits, accept = reading.limits, reading.accept
    lower, upper = (limits.lower, limits.upper) if limits is not None else (None, None)
    names = ("", "")
    if limits is not None:
        least, most = ("min ", "max ") if limits.width is None else ("", "")
        names = (
            f"{least}{reading.number(lower)}" if lower is not None else "",
            f"{most}{reading.number(upper)}" if upper is not None else "",
        )
    against = f" against {limits.text}" if limits is not None else ""
    among = f"; {reading.place}" if reading.place else ""
    return Strip(
        value=reading.value,
        lower=lower,
        upper=upper,
        accept_lower=accept.lower if accept is not None else None,
        accept_upper=accept.upper if accept is not None else None,
        found=reading.adjusted,
        before=tuple(other.value for other in reading.before),
        after=tuple(other.value for other in reading.after),
        labels=names,
        words=f"{reading.name}: {reading.text}{against}, {reading.state}{among}.",
        rows=rows,
    )


def _checks(readings: Sequence[ReadingShown], strips: Mapping[str, Markup]) -> Iterator[CheckRows]:
    for _, group in groupby(readings, key=lambda reading: reading.step):
        rows = list(group)
        first = rows[0]
        unit = f" {first.limits.unit}" if first.limits is not None else ""
        accept = first.accept.describe().removesuffix(unit) + unit if first.accept is not None else ""
        yield CheckRows(
            first.title,
            first.limits.text if first.limits is not None else "",
            accept,
            first.operation,
            tuple(_row(reading, strips[reading.slot]) for reading in rows),
        )


def _row(reading: ReadingShown, strip: Markup) -> RowView:
    about = []
    if reading.adjusted is not None:
        about.append(f"found {reading.number(reading.adjusted)}, left {reading.number(reading.value)}")
    elif reading.found:
        about.append(f"read before: {', '.join(reading.number(value) for value, _ in reading.found)}")
    if reading.worked:
        about.append("worked out")
    about.append(reading.place)
    about.append(" ".join(part for part in (reading.gauge, reading.by, reading.day) if part))
    return RowView(
        reading.where, reading.text, _flags(reading), strip, "; ".join(part for part in about if part)
    )


def _flags(reading: ReadingShown) -> tuple[str, ...]:
    flags = []
    if reading.conceded:
        flags.append("conceded")
    elif reading.state not in ("in", "done"):
        flags.append(reading.state)
    elif reading.near:
        flags.append("near limit")
    if reading.adjusted is not None:
        flags.append("adjusted")
    if reading.extreme and not reading.worked:
        flags.append("outermost")
    return tuple(flags)


def _part(part_shown: PartShown) -> PartView:
    title = ", ".join(part for part in (part_shown.title, part_shown.number, part_shown.where) if part)
    trail, known = part_shown.trail, []
    if trail is not None:
        if trail.supplier:
            known.append(f"from {trail.supplier}")
        if trail.made:
            made = ", ".join(f"{number} {lot}" for number, lot in trail.materials)
            known.append(f"made here ({trail.where}){f' of {made}' if made else ''}")
        known.append(f"in {len(trail.units)} other units, {len(trail.left)} of them with customers")
        if trail.complained:
            known.append(f"{len(trail.complained)} complained about alike")
    return PartView(title, part_shown.value, "; ".join(known) or "–", f"{part_shown.by}, {part_shown.day}")
