"""What a director should know first: what is unusual about this unit, the likely causes on top."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from traveler.record.entry import Decided, Struck, recorded_late, struck_by
from traveler.text import duration_text, listed, plural
from traveler.trace.common_causes import CausesCounted
from traveler.trace.dossier.context import GaugeShown, LotTrail, PartShown
from traveler.trace.dossier.readings import ReadingShown
from traveler.trace.dossier.result import CaseShown, Observation
from traveler.trace.ranking import ALPHA, SharedFactor
from traveler.trace.stats.numbers import chance
from traveler.verdict.case import Case
from traveler.verdict.judge import Judged


def observations_of(
    judged: Judged,
    cases: Sequence[CaseShown],
    readings: Sequence[ReadingShown],
    parts: Sequence[PartShown],
    gauges: Sequence[GaugeShown],
    counts: CausesCounted,
) -> tuple[Observation, ...]:
    """Everything that is not as on other units, the likeliest causes first."""
    case, serial = judged.case, judged.unit.serial
    mine = [cause.shared for cause in counts.ranked if cause.here] if serial in counts.complained else []
    made = (
        *_shared_lots(parts, serial, mine, counts),
        *_shared(mine),
        *_gauges(gauges),
        *_changed(cases),
        *_out(readings),
        *_conceded(case),
        *_near(readings),
        *_adjusted(readings),
        *_struck(case),
        *_late(case),
    )
    return tuple(sorted(made, key=lambda observation: not observation.strong))


def _shared_lots(
    parts: Sequence[PartShown], serial: str, mine: Sequence[SharedFactor], counts: CausesCounted
) -> Iterator[Observation]:
    """Lots whose other units were complained about as well, the one with most complaints for its size first.

    A further lot is listed only where it stands out by itself: lots are used side by side.
    """
    found = [(part, part.trail) for part in parts if part.trail is not None and part.trail.complained]
    found.sort(key=lambda item: -item[1].share)
    for at, (part, trail) in enumerate(found):
        lot = (shared for shared in mine for factor in shared.factors if factor.is_lot_of(trail.lot))
        ranked = next(lot, None)
        alone = ranked is not None and ranked.convincing and (ranked.besides or Decimal(0)) < ALPHA
        if not at or alone:
            yield _lot(part, trail, serial, ranked, counts)


def _lot(
    part: PartShown, trail: LotTrail, serial: str, ranked: SharedFactor | None, counts: CausesCounted
) -> Observation:
    complained = serial in counts.complained
    hits = len(trail.complained) + complained
    left = len(trail.left) + complained
    others = counts.counted - {serial, *trail.units}
    beyond = len(counts.complained & others)
    text = f"{hits} of the {plural(left, 'unit')} shipped with it have the same complaint"
    if complained:
        text += ", this unit included"
    text += f"; of the {plural(len(others), 'unit')} around it that have another lot, {beyond or 'none'}"
    if ranked is not None and ranked.convincing:
        text += f". Unlikely to be chance ({chance(ranked.p_holm)} after correction)"
    elif ranked is not None:
        text += f". Too few units to conclude anything ({chance(ranked.p)})"
    here = len(trail.here)
    if here:
        text += f". {plural(here, 'unit')} with it {'is' if here == 1 else 'are'} still here"
        held = len(trail.stopped)
        text += "" if not held else ", stopped" if held == here else f", {held} of them stopped"
    made = "".join(f", made of {number} {heat}" for number, heat in trail.materials)
    where = f" ({part.where})" if part.where else ""
    return Observation("shared", f"{part.title}: lot {trail.lot}{where}{made}", f"{text}.", strong=True)


def _shared(mine: Sequence[SharedFactor]) -> Iterator[Observation]:
    """Other things shared more than chance explains: gauge, person, week, revision, a value near a limit."""
    for shared in mine:
        left = shared.besides is None or shared.besides < ALPHA
        if shared.convincing and left and not any(factor.is_lot for factor in shared.factors):
            names = listed([str(factor) for factor in shared.factors])
            text = (
                f"{shared.hits} of {plural(shared.carriers, 'unit')} with it nearby have the same complaint, "
                f"{shared.complained - shared.hits} of {shared.units - shared.carriers} without it "
                f"({chance(shared.p_holm)} after correction)."
            )
            yield Observation("shared", f"Shared: {names}", text, strong=True)


def _gauges(gauges: Sequence[GaugeShown]) -> Iterator[Observation]:
    for gauge in gauges:
        if gauge.trouble:
            text = (
                f"{gauge.trouble}. {plural(gauge.readings, 'reading')} here, {gauge.first} to {gauge.last}."
            )
            yield Observation("gauge", f"Gauge {gauge.id}", text, strong="found" in gauge.trouble)


def _changed(cases: Sequence[CaseShown]) -> Iterator[Observation]:
    for shown in cases:
        for arrival_value in shown.values:
            if arrival_value.changed or arrival_value.inside is False:
                head = "Changed since it left" if arrival_value.changed else "Found outside limits"
                yield Observation("changed", head, arrival_value.sentence, slots=(arrival_value.slot,))


def _out(readings: Sequence[ReadingShown]) -> Iterator[Observation]:
    for reading in readings:
        if reading.state in ("out", "doubtful") and not reading.conceded and reading.limits is not None:
            text = f"{reading.name}: {reading.text} against {reading.limits.text}, {reading.state}."
            yield Observation("out", "Outside limits", text, strong=True, slots=(reading.slot,))


def _conceded(case: Case) -> Iterator[Observation]:
    for stop in case.stops:
        if isinstance(stop.decision, Decided):
            label = case.plan.by_slot[stop.slot].label if stop.slot in case.plan.by_slot else "the unit"
            word = stop.decision.decision.replace("_", " ")
            concession = f", concession {stop.decision.concession}" if stop.decision.concession else ""
            kind = "conceded" if stop.concession else "stopped"
            head = "Used as it is" if stop.concession else f"Stopped, then: {word}"
            yield Observation(kind, head, f"{label}: {stop.what}{concession}.", slots=(stop.slot or "",))
        elif stop.open:
            yield Observation(
                "stopped", "Stopped, no decision yet", f"{stop.what}.", slots=(stop.slot or "",)
            )


def _near(readings: Sequence[ReadingShown]) -> Iterator[Observation]:
    """Checks with readings near a limit, those beyond all their neighbors first."""
    near = [reading for reading in readings if reading.near and reading.state == "in" and not reading.worked]
    checks: dict[str, list[ReadingShown]] = {}
    for reading in sorted(near, key=lambda reading: (not reading.extreme, -reading.outside)):
        checks.setdefault(reading.check, []).append(reading)
    for check, found in checks.items():
        worst, of = found[0], sum(reading.check == check and not reading.worked for reading in readings)
        among = f", {worst.place}" if worst.place else ""
        limits = worst.limits.text if worst.limits else ""
        text = f"{worst.name}: {worst.text} against {limits}{among}."
        if len(found) > 1:
            text += f" {len(found)} of {of} readings of this check lie in the last tenth before the limit."
        head = "Near its limit" if len(found) == 1 else "Near their limits"
        yield Observation("near", head, text, slots=tuple(reading.slot for reading in found))


def _adjusted(readings: Sequence[ReadingShown]) -> Iterator[Observation]:
    for reading in readings:
        if reading.adjusted is not None:
            text = f"{reading.name}: found {reading.number(reading.adjusted)}, left at {reading.text}."
            yield Observation("adjusted", "Adjusted", text, slots=(reading.slot,))


def _struck(case: Case) -> Iterator[Observation]:
    struck = struck_by(case.entries)
    if struck:
        reasons = {entry.seq: entry.body.reason for entry in case.entries if isinstance(entry.body, Struck)}
        listed_first = [f"#{seq}: {reasons[struck[seq]].rstrip('.')}" for seq in sorted(struck)[:3]]
        more = f"; and {len(struck) - 3} more" if len(struck) > 3 else ""
        title = f"{plural(len(struck), 'entry', 'entries')} struck out"
        yield Observation("struck", title, f"{'; '.join(listed_first)}{more}.")


def _late(case: Case) -> Iterator[Observation]:
    hours = case.settings.late_after_hours
    late = [behind for entry in case.standing if (behind := recorded_late(entry, hours)) is not None]
    if late:
        most = duration_text(max(late))
        text = f"{plural(len(late), 'entry', 'entries')} recorded up to {most} after the work."
        yield Observation("late", "Recorded late", text)
