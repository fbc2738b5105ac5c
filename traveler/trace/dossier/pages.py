"""What the pages of a dossier show: remarks with their drawings, readings by check, everything in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from traveler.sheets.strip import Strip, draw
from traveler.trace.dossier.parts import PartShown
from traveler.trace.dossier.readings import ReadingShown
from traveler.trace.dossier.whole import CaseShown, Dossier, Remark
from traveler.trace.wording import FOLLOW_UP

FIRST_REMARKS, FIRST_OTHERS = 7, 6
"""So many remarks and other units stand on page one."""

DRAWN = 2
"""So many remarks on page one get a drawing."""


@dataclass(frozen=True, slots=True)
class RemarkView:
    """A remark, with the drawing of the reading it speaks of."""

    remark: Remark
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
class CheckView:
    """One check with all its readings."""

    title: str
    limits: str
    accept: str
    operation: str
    rows: tuple[RowView, ...]


@dataclass(frozen=True, slots=True)
class StepView:
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
    steps: tuple[StepView, ...]


@dataclass(frozen=True, slots=True)
class PartView:
    """A part in one line."""

    title: str
    value: str
    known: str
    by: str


def view_of(found: Dossier, issued: str, rows: tuple[str, str] = ("before", "after")) -> Mapping[str, object]:
    """The context of ``sheets/dossier_body.html``; ``rows`` are the names of a strip's rows."""
    strips = {one.slot: draw(strip_of(one, rows)) for one in found.readings}
    remarks = _remarks(found, strips)
    return {
        "d": _Shown(found),
        "issued": issued,
        "shown_remarks": remarks[:FIRST_REMARKS],
        "left_out": max(0, len(remarks) - FIRST_REMARKS),
        "first_others": max(2, FIRST_OTHERS - sum(len(one.case.steps) for one in found.cases)),
        "checks": tuple(_checks(found.readings, strips)),
        "parts": tuple(_part(one) for one in found.parts),
        "photo_names": tuple(one.digest for one in found.photos if one.digest),
    }


class _Shown:
    """The dossier with its cases in words; everything else as it is."""

    def __init__(self, found: Dossier) -> None:
        self._found = found
        self.cases = tuple(_case(one) for one in found.cases)

    def __getattr__(self, name: str) -> object:
        return getattr(self._found, name)


def _case(shown: CaseShown) -> CaseView:
    steps = tuple(
        StepView(
            FOLLOW_UP[step.step].capitalize() + ":",
            f"{step.text}{f' ({chr(44).join(step.causes)})' if step.causes else ''}",
            entry.by,
            entry.at.date().isoformat(),
        )
        for entry, step in shown.case.steps
    )
    return CaseView(shown.case, shown.day, shown.age, shown.symptoms, tuple(shown.values), steps)


def _remarks(found: Dossier, strips: Mapping[str, Markup]) -> tuple[RemarkView, ...]:
    drawn: list[RemarkView] = []
    left = DRAWN
    for one in found.remarks:
        if one.kind == "changed":
            continue  # the complaint itself says so, just above
        strip = strips.get(one.slots[0]) if one.slots and left else None
        left -= strip is not None
        drawn.append(RemarkView(one, strip))
    return tuple(drawn)


def strip_of(one: ReadingShown, rows: tuple[str, str] = ("before", "after")) -> Strip:
    """What is drawn of a reading."""
    limits, accept = one.limits, one.accept
    lower, upper = (limits.lower, limits.upper) if limits is not None else (None, None)
    names = ("", "")
    if limits is not None:
        least, most = ("min ", "max ") if limits.width is None else ("", "")
        names = (
            f"{least}{one.number(lower)}" if lower is not None else "",
            f"{most}{one.number(upper)}" if upper is not None else "",
        )
    against = f" against {limits.text}" if limits is not None else ""
    among = f"; {one.place}" if one.place else ""
    return Strip(
        value=one.value,
        lower=lower,
        upper=upper,
        accept_lower=accept.lower if accept is not None else None,
        accept_upper=accept.upper if accept is not None else None,
        found=one.adjusted,
        before=tuple(other.value for other in one.before),
        after=tuple(other.value for other in one.after),
        labels=names,
        words=f"{one.name}: {one.text}{against}, {one.state}{among}.",
        rows=rows,
    )


def _checks(readings: Sequence[ReadingShown], strips: Mapping[str, Markup]) -> Iterator[CheckView]:
    for _, group in groupby(readings, key=lambda one: one.step):
        rows = list(group)
        first = rows[0]
        unit = f" {first.limits.unit}" if first.limits is not None else ""
        accept = first.accept.describe().removesuffix(unit) + unit if first.accept is not None else ""
        yield CheckView(
            first.title,
            first.limits.text if first.limits is not None else "",
            accept,
            first.operation,
            tuple(_row(one, strips[one.slot]) for one in rows),
        )


def _row(one: ReadingShown, strip: Markup) -> RowView:
    about = []
    if one.adjusted is not None:
        about.append(f"found {one.number(one.adjusted)}, left {one.number(one.value)}")
    elif one.found:
        about.append(f"read before: {', '.join(one.number(value) for value, _ in one.found)}")
    if one.worked:
        about.append("worked out")
    about.append(one.place)
    about.append(" ".join(part for part in (one.gauge, one.by, one.day) if part))
    return RowView(one.where, one.text, _flags(one), strip, "; ".join(part for part in about if part))


def _flags(one: ReadingShown) -> tuple[str, ...]:
    flags = []
    if one.conceded:
        flags.append("conceded")
    elif one.state not in ("in", "done"):
        flags.append(one.state)
    elif one.near:
        flags.append("near limit")
    if one.adjusted is not None:
        flags.append("adjusted")
    if one.extreme and not one.worked:
        flags.append("outermost")
    return tuple(flags)


def _part(one: PartShown) -> PartView:
    title = ", ".join(part for part in (one.title, one.number, one.where) if part)
    trail, known = one.trail, []
    if trail is not None:
        if trail.supplier:
            known.append(f"from {trail.supplier}")
        if trail.made:
            made = ", ".join(f"{number} {lot}" for number, lot in trail.materials)
            known.append(f"made here ({trail.where}){f' of {made}' if made else ''}")
        known.append(f"in {len(trail.units)} other units, {len(trail.left)} of them with customers")
        if trail.complained:
            known.append(f"{len(trail.complained)} complained about alike")
    return PartView(title, one.value, "; ".join(known) or "–", f"{one.by}, {one.day}")
