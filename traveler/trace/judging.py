"""Judging units as the records hold them: one, or many on all cores."""

from __future__ import annotations

from collections.abc import Callable, Generator, Mapping, Sequence
from dataclasses import fields
from functools import lru_cache, partial
from pathlib import Path
from typing import Any, Literal, TypeVar

from traveler.definition.plan import Plan
from traveler.definition.serial import check_character_ok
from traveler.finding import Finding, Place
from traveler.pool import finished, worker_pool
from traveler.record.chain import verify_rows
from traveler.record.entry import Entry, Fitted, standing_entries
from traveler.record.errors import StoreDamaged
from traveler.record.plans import first_issue, known_unit, plan_as_issued
from traveler.record.records import Records
from traveler.record.store import Store
from traveler.record.stored import to_entry
from traveler.shop.session import Session
from traveler.verdict.case import Case, LotFact, OutsideFacts
from traveler.verdict.judge import Judged, judge_case
from traveler.verdict.state import UnitState


def judge(session: Session, records: Records, serial: str) -> Judged:
    """The verdict of one unit as it stands in the records.

    Raises:
        CannotDo: no unit of this serial was issued here.
        StoreDamaged: its entries or its definition cannot be read any more.
    """
    unit = known_unit(records, serial)
    rows = tuple(records.rows(serial))
    entries = tuple(to_entry(row) for row in rows)
    plan = plan_as_issued(records, first_issue(unit, entries))
    chain = tuple(verify_rows(rows, head=unit.head, count=unit.entries, unit=serial, entries=entries))
    stored = records.definition(unit.product, unit.revision)
    facts = OutsideFacts(
        fitted_elsewhere=_fitted_elsewhere(records, serial, entries, plan),
        lots=_lots(records, entries),
        stored_digest=stored.digest if stored is not None else None,
        chain=chain,
    )
    shop = session.shop
    case = Case(
        serial, plan, entries,
        gauges=shop.gauges, people=shop.people, settings=shop.settings, now=session.now, facts=facts,
    )  # fmt: skip
    return Judged(unit, plan, entries, case, judge_case(case))


def fitted_parts(entries: Sequence[Entry], trace: str) -> list[tuple[str | None, Fitted]]:
    """Slot and part of each traced part that stands."""
    found = (
        (entry.slot, entry.body) for entry in standing_entries(entries) if isinstance(entry.body, Fitted)
    )
    return [(slot, body) for slot, body in found if body.trace == trace]


def _fitted_elsewhere(
    records: Records, serial: str, entries: Sequence[Entry], plan: Plan
) -> Mapping[tuple[str | None, str], str]:
    parts = {
        (plan.part_number(slot, body.number), body.value) for slot, body in fitted_parts(entries, "serial")
    }
    return records.fitted_elsewhere(serial, sorted(parts, key=str)) if parts else {}


def _lots(records: Records, entries: Sequence[Entry]) -> Mapping[str, LotFact]:
    """What the records say of each lot fitted; a bought lot, which never was a unit here, is usable.

    A lot whose number carries our check character but was never issued stays out: it is a mistake.
    """
    facts: dict[str, LotFact] = {}
    for _, body in fitted_parts(entries, "lot"):
        made = Records.unit(records, body.value)  # only looked at: a job does not hold the lot for it
        if made is not None:
            facts[body.value] = LotFact(body.value, _LOTS.get(made.state, "usable"))
        elif not check_character_ok(body.value):
            facts[body.value] = LotFact(body.value)
    return facts


_LOTS: dict[str, Literal["on hold", "scrapped"]] = {
    str(UnitState.STOPPED): "on hold",
    str(UnitState.SCRAPPED): "scrapped",
}


Shown = TypeVar("Shown")

AT_ONCE = 25
"""Units judged in one view of the records; so that writers wait for a short time only."""

ALONE = 300
"""So many units are judged before further processes would have started."""


def every_serial(session: Session) -> tuple[str, ...]:
    """The serials of all units, in order."""
    found: list[str] = []
    with session.store.reading() as records:
        while some := records.units(after=found[-1] if found else None, limit=1_000):
            found += [unit.serial for unit in some]
    return tuple(found)


def judge_all(
    session: Session, serials: Sequence[str], show: Callable[[Judged], Shown], processes: int | None = None
) -> Generator[Shown | Finding, None, None]:
    """What ``show`` makes of each unit, in order; CHN001 in the place of one that cannot be read any more.

    ``show`` runs where the unit was judged, so that only what it gives is kept and sent: with several
    processes it and its result must be such that they can be sent (``pickle``). ``processes``: how many; by
    default one for each core, and this one alone for a few units.

    Raises:
        CannotDo: one of the serials was never issued here, or a process was killed.
    """
    pieces = [serials[at : at + AT_ONCE] for at in range(0, len(serials), AT_ONCE)]
    with worker_pool(len(serials), fewest=ALONE + 1, processes=processes) as pool:
        work = partial(_judge_piece, session) if pool.pool is None else partial(_judge_sent, *_sent(session))
        begun = (pool.start(work, piece, show) for piece in pieces)
        for found in finished(pool, begun, "do it again; nothing is changed by judging"):
            yield from found


def _judge_piece(
    session: Session, serials: Sequence[str], show: Callable[[Judged], Shown]
) -> list[Shown | Finding]:
    found: list[Shown | Finding] = []
    with session.store.reading() as records:
        for serial in serials:
            try:
                found.append(show(judge(session, records, serial)))
            except StoreDamaged as problem:
                found.append(Finding("CHN001", problem.what, Place(unit=serial), hint=problem.hint))
    return found


def _sent(session: Session) -> tuple[str, Mapping[str, Any]]:
    """A session on its way to another process, which opens the records for itself."""
    rest = {field.name: getattr(session, field.name) for field in fields(session) if field.name != "store"}
    return session.store.url.render_as_string(hide_password=False), rest


def _judge_sent(
    url: str, rest: Mapping[str, Any], serials: Sequence[str], show: Callable[[Judged], Shown]
) -> list[Shown | Finding]:
    return _judge_piece(Session(store=_store(url, rest["shop"].folder), **rest), serials, show)


@lru_cache(maxsize=1)
def _store(url: str, folder: Path) -> Store:
    return Store.open(url, folder=folder, create=False)
