"""What the numbers say of a product: units read one after the other, judged as they were issued."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from difflib import get_close_matches
from typing import Protocol, TypeVar

from traveler.definition.plan import SlotKind
from traveler.finding import Weight
from traveler.jobs.cannot import CannotDo
from traveler.jobs.judge import judge
from traveler.jobs.office import Office
from traveler.jobs.plans_of import Plans
from traveler.record.entry import Entry
from traveler.record.records import Records
from traveler.record.unit import Unit
from traveler.trace.asking import PIECE, Wanted, entries_of, how_many, newest, pieces, products
from traveler.trace.reports.product_report import ProductReport, product_report
from traveler.trace.series.collect import Collector, Narrowed
from traveler.trace.series.slot_life import check_named
from traveler.trace.series.unit_life import KINDS, unit_life
from traveler.trace.series.weigher import Weigher
from traveler.verdict.codes import CODES

_Item = TypeVar("_Item")
CHECKED = frozenset({SlotKind.READING, SlotKind.WORKED, SlotKind.CONFIRM})
"""Kinds of slots that statistics know."""


LAST = 1000
"""Units of a product looked at where no window is given: older ones tell of another time."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked: a product, perhaps one check of it, at some positions, in a window of time.

    ``last``: without a window, so many of the units issued last; 0: all of them. ``findings``: judge every
    unit as well and count what stands against it.
    """

    product: str
    check: str | None = None
    variant: str | None = None
    revision: str | None = None
    position: Mapping[str, str] = field(default_factory=dict)
    since: datetime | None = None
    until: datetime | None = None
    last: int = LAST
    findings: bool = False

    @property
    def wanted(self) -> Wanted:
        """The units meant."""
        return Wanted(self.product, self.variant, self.revision)


class Watched(Protocol):
    """Passes items on one by one, showing how far it is."""

    def __call__(self, items: Iterable[_Item], total: int) -> Iterator[_Item]:
        """The items; ``total`` is how many there are."""


def unwatched(items: Iterable[_Item], total: int) -> Iterator[_Item]:  # noqa: ARG001 - the shape of Watched
    """Nobody looks on."""
    yield from items


def statistics(office: Office, asked: Asked, watched: Watched = unwatched) -> ProductReport:
    """Reads the units and works everything out.

    ``watched`` is handed the units as they are read and their number, for a progress bar.

    Raises:
        CannotDo: no unit of this product was ever issued, no such check, position, variant or revision.
        StoreDamaged: a unit's record or definition cannot be read.
    """
    narrowed = Narrowed(asked.since, asked.until, asked.check, asked.position)
    collector = Collector(narrowed)
    with office.store.reading() as records:
        total = _known(records, asked)
        plans = Plans(records)
        slots = _slots(plans, asked)
        weigher = weigher_of(office)
        findings: list[str] = []
        looked = total if _whole(asked, total) else asked.last
        for unit, entries in watched(_entries(records, asked, slots, total), looked):
            collector.add(unit_life(unit, plans.plan(unit, entries), entries, weigher))
            if asked.findings:
                findings += _findings(office, records, unit.serial)
    note = () if looked == total else (f"Of {total} units the {looked} issued last were looked at",)
    counted = findings if asked.findings else None
    return product_report(asked.product, collector, findings=counted, notes=note)


def _whole(asked: Asked, total: int) -> bool:
    """Whether all units meant are looked at."""
    return asked.since is not None or asked.until is not None or not 0 < asked.last < total


def _entries(
    records: Records, asked: Asked, slots: Collection[str] | None, total: int
) -> Iterator[tuple[Unit, tuple[Entry, ...]]]:
    besides = set(KINDS) - {"read", "adjusted", "confirmed"}
    if _whole(asked, total):
        wanted: Iterable[Sequence[Unit]] = pieces(records, asked.wanted, since=asked.since)
    else:
        units = newest(records, asked.wanted, asked.last)
        wanted = (units[at : at + PIECE] for at in range(0, len(units), PIECE))
    for piece in wanted:
        yield from entries_of(records, piece, kinds=KINDS, slots=slots, besides=besides)


def weigher_of(office: Office) -> Weigher:
    """How this shop weighs readings."""
    return Weigher(office.shop.settings, office.shop.gauges, office.shop.zone)


def _known(records: Records, asked: Asked) -> int:
    """How many units are meant.

    Raises:
        CannotDo: none.
    """
    total = how_many(records, asked.wanted)
    if total:
        return total
    known = products(records)
    if asked.product not in known:
        close = get_close_matches(asked.product, known, n=1)
        what = f"no unit of '{asked.product}' was ever issued"
        raise CannotDo(
            what, f"did you mean '{close[0]}'?" if close else f"there is {', '.join(known) or 'none'}"
        )
    told = {"variant": asked.variant, "revision": asked.revision}
    said = " and ".join(f"{name} '{value}'" for name, value in told.items() if value is not None)
    what = f"no unit of {asked.product} was issued{f' with {said}' if said else ''}"
    raise CannotDo(what)


def _slots(plans: Plans, asked: Asked) -> tuple[str, ...] | None:
    """The slots of the check in every revision and variant, with those it is worked out from; None: all.

    Raises:
        CannotDo: no revision has this check, or it is read at no such position.
    """
    if asked.check is None and not asked.position:
        return None
    known: dict[str, set[tuple[str, str]]] = {}
    slots: list[str] = []
    lots = False
    for plan in plans.of_product(asked.product):
        lots = lots or plan.track == "lot"
        for step in plan.steps():
            for slot in step.slots:
                name, _ = check_named(plan, step, slot)
                if slot.kind in CHECKED:
                    known.setdefault(name, set()).update(slot.position)
                    slots += [slot.id, *slot.inputs] if name == asked.check else []
    _refuse_unknown(asked, known)
    return None if lots or asked.check is None else tuple(dict.fromkeys(slots))


def _refuse_unknown(asked: Asked, known: Mapping[str, set[tuple[str, str]]]) -> None:
    if asked.check is not None and asked.check not in known:
        close = get_close_matches(asked.check, known, n=1)
        what = f"{asked.product} has no check '{asked.check}'"
        hint = f"did you mean '{close[0]}'?" if close else f"it has {', '.join(known)}"
        raise CannotDo(what, hint)
    places = known[asked.check] if asked.check is not None else set().union(*known.values())
    for name, value in asked.position.items():
        if (name, value) not in places:
            values = ", ".join(f"{one}={its}" for one, its in sorted(places)) or "none"
            what = f"{asked.check or asked.product} has no position {name}={value}"
            raise CannotDo(what, f"positions are {values}")


def _findings(office: Office, records: Records, serial: str) -> Iterator[str]:
    """What stands against a unit now, by name: ``REA001 reading out of tolerance``; notes left out."""
    for finding in judge(office, records, serial).verdict.findings:
        if finding.weight is not Weight.NOTE:
            title = CODES[finding.code].title if finding.code in CODES else finding.what
            yield f"{finding.code} {title}"
