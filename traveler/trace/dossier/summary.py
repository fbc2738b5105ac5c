"""What a director should know first: what is unusual about this unit, the likely causes on top."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from traveler.record.entry import Decided, Struck
from traveler.trace.dossier.around import GaugeShown
from traveler.trace.dossier.parts import LotTrail, PartShown
from traveler.trace.dossier.readings import ReadingShown
from traveler.trace.dossier.whole import CaseShown, Remark
from traveler.trace.sharing import ALPHA, Shared, Sharing
from traveler.trace.statistics.wording import chance, counted, listed
from traveler.verdict.case import Case


@dataclass(frozen=True, slots=True)
class Counts:
    """The count among the units around: the ranking, and how many of those around were complained about.

    ``around`` are units with customers in the window, ``alike`` those of them complained about alike, both
    without this one. ``mine`` are the ranked factors that this unit carries.
    """

    sharing: Sharing | None = None
    mine: tuple[Shared, ...] = ()
    around: frozenset[str] = frozenset()
    alike: frozenset[str] = frozenset()

    def rank_of_lot(self, lot: str) -> Shared | None:
        """The ranked group that holds the lot."""
        for one in self.mine:
            if any(factor.value == lot and factor.attribute.startswith("lot of") for factor in one.factors):
                return one
        return None


def remarks_of(
    case: Case,
    cases: Sequence[CaseShown],
    readings: Sequence[ReadingShown],
    parts: Sequence[PartShown],
    gauges: Sequence[GaugeShown],
    counts: Counts,
) -> tuple[Remark, ...]:
    """Everything that is not as on other units, the likeliest causes first."""
    made = (
        *_shared_lots(parts, counts, bool(cases)),
        *_shared(counts),
        *_gauges(gauges),
        *_changed(cases),
        *_out(readings),
        *_conceded(case),
        *_near(readings),
        *_adjusted(readings),
        *_struck(case),
        *_late(case),
    )
    return tuple(sorted(made, key=lambda one: not one.strong))


def _shared_lots(parts: Sequence[PartShown], counts: Counts, complained: bool) -> Iterator[Remark]:
    """Lots whose other units were complained about as well, the one with most complaints for its size first.

    A further lot is told only where it stands out by itself: lots are used side by side.
    """
    found = [(part, part.trail) for part in parts if part.trail is not None and part.trail.complained]
    found.sort(key=lambda one: -one[1].share)
    for at, (part, trail) in enumerate(found):
        ranked = counts.rank_of_lot(trail.lot)
        alone = ranked is not None and ranked.convincing and (ranked.besides or Decimal(0)) < ALPHA
        if not at or alone:
            yield _lot(part, trail, counts, complained)


def _lot(part: PartShown, trail: LotTrail, counts: Counts, complained: bool) -> Remark:
    hits = len(trail.complained) + complained
    left = len(trail.left) + complained
    others = counts.around - set(trail.units)
    beyond = len(counts.alike & others)
    text = f"{hits} of the {counted(left, 'unit')} with it that left were complained about alike"
    if complained:
        text += ", this one among them"
    text += f"; of the {counted(len(others), 'unit')} around it that have another lot, {beyond or 'none'}"
    ranked = counts.rank_of_lot(trail.lot)
    if ranked is not None and ranked.convincing:
        text += f". Chance would hardly do that ({chance(ranked.p_holm)} after correction)"
    elif ranked is not None:
        text += f". So few units prove nothing yet ({chance(ranked.p)})"
    here = len(trail.units) - len(trail.left)
    if here:
        text += f". {counted(here, 'unit')} with it {'is' if here == 1 else 'are'} still here"
    made = "".join(f", made of {number} {heat}" for number, heat in trail.materials)
    where = f" ({part.where})" if part.where else ""
    return Remark("shared", f"{part.title}: lot {trail.lot}{where}{made}", f"{text}.", strong=True)


def _shared(counts: Counts) -> Iterator[Remark]:
    """Other things shared beyond chance: gauge, person, week, revision, a value near a limit."""
    for one in counts.mine:
        lots = [factor for factor in one.factors if factor.attribute.startswith("lot of")]
        left = one.besides is None or one.besides < ALPHA
        if one.convincing and left and not lots:
            names = listed([str(factor) for factor in one.factors])
            text = (
                f"{one.hits} of {counted(one.carriers, 'unit')} with it around here were complained about, "
                f"{one.complained - one.hits} of {one.units - one.carriers} without it "
                f"({chance(one.p_holm)} after correction)."
            )
            yield Remark("shared", f"Shared: {names}", text, strong=True)


def _gauges(gauges: Sequence[GaugeShown]) -> Iterator[Remark]:
    for one in gauges:
        if one.trouble:
            text = f"{one.trouble}. {counted(one.readings, 'reading')} here, {one.first} to {one.last}."
            yield Remark("gauge", f"Gauge {one.id}", text, strong="found" in one.trouble)


def _changed(cases: Sequence[CaseShown]) -> Iterator[Remark]:
    for shown in cases:
        for one in shown.values:
            if one.changed or one.inside is False:
                head = "Changed since it left" if one.changed else "Found outside its limits"
                yield Remark("changed", head, one.sentence, slots=(one.slot,))


def _out(readings: Sequence[ReadingShown]) -> Iterator[Remark]:
    for one in readings:
        if one.state in ("out", "doubtful") and not one.conceded and one.limits is not None:
            text = f"{one.name}: {one.text} against {one.limits.text}, {one.state}."
            yield Remark("out", "Not in its limits", text, strong=True, slots=(one.slot,))


def _conceded(case: Case) -> Iterator[Remark]:
    for stop in case.stops:
        if isinstance(stop.decision, Decided):
            label = case.plan.by_slot[stop.slot].label if stop.slot in case.plan.by_slot else "the unit"
            word = stop.decision.decision.replace("_", " ")
            concession = f", concession {stop.decision.concession}" if stop.decision.concession else ""
            kind = "conceded" if stop.concession else "stopped"
            head = "Used as it is" if stop.concession else f"Stopped, then: {word}"
            yield Remark(kind, head, f"{label}: {stop.what}{concession}.", slots=(stop.slot or "",))
        elif stop.open:
            yield Remark("stopped", "Stopped and not decided on", f"{stop.what}.", slots=(stop.slot or "",))


def _near(readings: Sequence[ReadingShown]) -> Iterator[Remark]:
    """Checks with readings near a limit, those beyond all their neighbours first."""
    near = [one for one in readings if one.near and one.state == "in" and not one.worked]
    checks: dict[str, list[ReadingShown]] = {}
    for one in sorted(near, key=lambda one: (not one.extreme, -one.outside)):
        checks.setdefault(one.check, []).append(one)
    for check, found in checks.items():
        worst, of = found[0], sum(one.check == check and not one.worked for one in readings)
        among = f", {worst.place}" if worst.place else ""
        limits = worst.limits.text if worst.limits else ""
        text = f"{worst.name}: {worst.text} against {limits}{among}."
        if len(found) > 1:
            text += f" {len(found)} of {of} readings of this check lie in the last tenth before the limit."
        head = "Near its limit" if len(found) == 1 else "Near their limits"
        yield Remark("near", head, text, slots=tuple(one.slot for one in found))


def _adjusted(readings: Sequence[ReadingShown]) -> Iterator[Remark]:
    for one in readings:
        if one.adjusted is not None:
            text = f"{one.name}: found {one.number(one.adjusted)}, left at {one.text}."
            yield Remark("adjusted", "Adjusted", text, slots=(one.slot,))


def _struck(case: Case) -> Iterator[Remark]:
    strikes = [one.body for one in case.standing if isinstance(one.body, Struck)]
    if strikes:
        said = "; ".join(f"#{one.strikes}: {one.reason.rstrip('.')}" for one in strikes[:3])
        more = f"; and {len(strikes) - 3} more" if len(strikes) > 3 else ""
        yield Remark("struck", f"{counted(len(strikes), 'entry', 'entries')} struck out", f"{said}{more}.")


def _late(case: Case) -> Iterator[Remark]:
    hours = case.settings.late_after_hours
    late = [one for one in case.standing if (one.recorded - one.at).total_seconds() > hours * 3600]
    if late:
        longest = max(late, key=lambda one: one.recorded - one.at)
        most = round((longest.recorded - longest.at).total_seconds() / 3600)
        text = f"{counted(len(late), 'entry', 'entries')} recorded up to {most} h after the work."
        yield Remark("late", "Written late", text)
