"""What the pages of a dossier show: observations with their drawings, readings by check, all in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from markupsafe import Markup

from traveler.sheets.dossier import Strip, draw
from traveler.sheets.entry_text import case_step
from traveler.trace.dossier.context import PartShown
from traveler.trace.dossier.readings import ReadingShown
from traveler.trace.dossier.result import CaseShown, Dossier
from traveler.trace.history import ENGLISH

View = Mapping[str, object]
"""What a template shows; no value is worked out there."""

FIRST_REMARKS, FIRST_OTHERS = 7, 6
"""Observations and other units that are shown on page one."""

DRAWN = 2
"""Observations on page one that have a drawing."""


def view_of(found: Dossier, issued: str, rows: tuple[str, str] = ("before", "after")) -> View:
    """The context of ``sheets/dossier_body.html``; ``rows`` are the names of a strip's rows."""
    strips = {reading.slot: draw(strip_of(reading, rows)) for reading in found.readings}
    remarks = _remarks(found, strips)
    return {
        "d": found,
        "cases": tuple(map(_case, found.cases)),
        "issued": issued,
        "shown_remarks": remarks[:FIRST_REMARKS],
        "left_out": max(0, len(remarks) - FIRST_REMARKS),
        "first_others": max(2, FIRST_OTHERS - sum(len(shown.case.steps) for shown in found.cases)),
        "checks": tuple(_checks(found.readings, strips)),
        "parts": tuple(map(_part, found.parts)),
        "photo_names": tuple(photo.digest for photo in found.photos if photo.digest),
    }


def _case(shown: CaseShown) -> View:
    steps = [
        {
            "what": f"{case_step(step.step, ENGLISH).capitalize()}:",
            "text": f"{step.text} ({','.join(step.causes)})" if step.causes else step.text,
            "by": entry.by,
            "day": entry.at.date().isoformat(),
        }
        for entry, step in shown.case.steps
    ]
    return {"shown": shown, "steps": steps}


def _remarks(found: Dossier, strips: Mapping[str, Markup]) -> list[View]:
    drawn: list[View] = []
    left = DRAWN
    for observation in found.remarks:
        if observation.kind == "changed":
            continue  # the complaint itself says so, just above
        strip = strips.get(observation.slots[0]) if observation.slots and left else None
        left -= strip is not None
        drawn.append({"remark": observation, "strip": strip})
    return drawn


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


def _checks(readings: Sequence[ReadingShown], strips: Mapping[str, Markup]) -> Iterator[View]:
    for _, group in groupby(readings, key=lambda reading: reading.step):
        rows = list(group)
        first = rows[0]
        unit = f" {first.limits.unit}" if first.limits is not None else ""
        yield {
            "title": first.title,
            "limits": first.limits.text if first.limits is not None else "",
            "accept": first.accept.describe().removesuffix(unit) + unit if first.accept is not None else "",
            "operation": first.operation,
            "rows": [_row(reading, strips[reading.slot]) for reading in rows],
        }


def _row(reading: ReadingShown, strip: Markup) -> View:
    about = []
    if reading.adjusted is not None:
        about.append(f"found {reading.number(reading.adjusted)}, left {reading.number(reading.value)}")
    elif reading.found:
        about.append(f"read before: {', '.join(reading.number(value) for value, _ in reading.found)}")
    if reading.worked:
        about.append("worked out")
    about += [reading.place, " ".join(part for part in (reading.gauge, reading.by, reading.day) if part)]
    return {
        "where": reading.where,
        "value": reading.text,
        "flags": _flags(reading),
        "strip": strip,
        "about": "; ".join(part for part in about if part),
    }


def _flags(reading: ReadingShown) -> list[str]:
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
    return flags


def _part(part: PartShown) -> View:
    trail, known = part.trail, []
    if trail is not None:
        if trail.supplier:
            known.append(f"from {trail.supplier}")
        if trail.made:
            made = ", ".join(f"{material.number} {material.lot}" for material in trail.materials)
            known.append(f"made here ({trail.where}){f' of {made}' if made else ''}")
        known.append(f"in {len(trail.units)} other units, {len(trail.left)} of them with customers")
        if trail.complained:
            known.append(f"{len(trail.complained)} with the same complaint")
    return {
        "title": ", ".join(text for text in (part.title, part.number, part.where) if text),
        "value": part.value,
        "known": "; ".join(known) or "–",
        "by": f"{part.by}, {part.day}",
    }
