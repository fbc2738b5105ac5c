"""Judging units as the records hold them: one, or many on all cores."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections import deque
from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import fields
from typing import Any, Literal, TypeVar

from traveler.definition.plan import Plan
from traveler.definition.serial import check_character_ok
from traveler.finding import CannotDo, Finding, Place
from traveler.record.chain import verify_rows
from traveler.record.entry import Entry, Fitted, Issued, standing_entries
from traveler.record.errors import StoreDamaged
from traveler.record.plans import known_unit, plan_as_issued
from traveler.record.records import Records, Unit
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
    if not entries or not isinstance(entries[0].body, Issued):
        what = f"the records of {serial} do not begin with its issue"
        raise StoreDamaged(what, "run 'traveler records verify', and compare with a backup")
    plan = plan_as_issued(records, entries[0].body)
    chain = tuple(verify_rows(rows, head=unit.head, count=unit.entries, unit=serial, entries=entries))
    stored = records.definition(unit.product, unit.revision)
    facts = OutsideFacts(
        fitted_elsewhere=_fitted_elsewhere(records, serial, entries, plan),
        lots=_lots(records, entries),
        stored_digest=stored.digest if stored is not None else None,
        chain=chain,
    )
    case = _case(session, unit, plan, entries, facts)
    return Judged(unit, plan, entries, case, judge_case(case))


def _case(session: Session, unit: Unit, plan: Plan, entries: tuple[Entry, ...], facts: OutsideFacts) -> Case:
    shop = session.shop
    return Case(
        unit.serial, plan, entries,
        gauges=shop.gauges, people=shop.people, settings=shop.settings, now=session.now, facts=facts,
    )  # fmt: skip


def _fitted(entries: Sequence[Entry], trace: str) -> list[tuple[str | None, Fitted]]:
    """Slot and part of each traced part that stands."""
    found = (
        (entry.slot, entry.body) for entry in standing_entries(entries) if isinstance(entry.body, Fitted)
    )
    return [(slot, body) for slot, body in found if body.trace == trace]


def _fitted_elsewhere(
    records: Records, serial: str, entries: Sequence[Entry], plan: Plan
) -> Mapping[tuple[str | None, str], str]:
    parts = {(_number(slot, body, plan), body.value) for slot, body in _fitted(entries, "serial")}
    return records.fitted_elsewhere(serial, sorted(parts, key=str)) if parts else {}


def _number(slot: str | None, body: Fitted, plan: Plan) -> str | None:
    step = plan.step_of.get(slot or "")
    return body.number or (step.part_number if step is not None else None)


def _lots(records: Records, entries: Sequence[Entry]) -> Mapping[str, LotFact]:
    """What the records say of each lot fitted; a bought lot, which never was a unit here, is usable.

    A lot whose number carries our check character but was never issued stays out: it is a mistake.
    """
    facts: dict[str, LotFact] = {}
    for _, body in _fitted(entries, "lot"):
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
"""Units judged in one view of the records; whoever writes meanwhile is not held up by a long one."""

ALONE = 300
"""So many units are judged before further processes would have started."""


def every_serial(session: Session) -> tuple[str, ...]:
    """The serials of all units, in order."""
    found: list[str] = []
    with session.store.reading() as records:
        while some := records.units(after=found[-1] if found else None, limit=1_000):
            found += [drawn.serial for drawn in some]
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
    cores = len(os.sched_getaffinity(0))
    workers = processes or (1 if len(serials) <= ALONE else cores)
    pieces = [serials[at : at + AT_ONCE] for at in range(0, len(serials), AT_ONCE)]
    if workers == 1 or len(pieces) < workers:
        for piece in pieces:
            yield from _judge_piece(session, piece, show)
        return
    try:
        yield from _spread(session, pieces, show, workers)
    except BrokenProcessPool as problem:
        what = "a process that was judging was ended from outside (perhaps there was no memory left)"
        raise CannotDo(what, "do it again; nothing is changed by judging") from problem


def _judge_piece(
    session: Session, serials: Sequence[str], show: Callable[[Judged], Shown]
) -> list[Shown | Finding]:
    found: list[Shown | Finding] = []
    with session.store.reading() as records:
        for serial in serials:
            try:
                found.append(show(judge(session, records, serial)))
            except StoreDamaged as problem:
                why = "a record that was changed after it was written proves nothing"
                found.append(Finding("CHN001", problem.what, Place(unit=serial), why=why, hint=problem.hint))
    return found


def _spread(
    session: Session, pieces: Sequence[Sequence[str]], show: Callable[[Judged], Shown], workers: int
) -> Iterator[Shown | Finding]:
    """The pieces over processes of their own; never more of them under way than keep these busy."""
    context = multiprocessing.get_context("spawn")  # a copy of this process would share its connections
    begin = (_Sent(session), show)
    pool = ProcessPoolExecutor(workers, context, initializer=_begin, initargs=begin)
    under_way: deque[Future[list[Shown | Finding]]] = deque()
    try:
        for piece in pieces:
            with _deaf():
                under_way.append(pool.submit(_work, piece))
            if len(under_way) >= 3 * workers:
                yield from under_way.popleft().result()
        while under_way:
            yield from under_way.popleft().result()
    finally:  # also where whoever asked has gone, or interrupts: what is not begun is not done
        pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _deaf() -> Iterator[None]:
    """Processes started here never hear an interrupt from the keyboard; this one hears it afterwards."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class _Sent:
    """An office on its way to another process, which opens the records for itself."""

    def __init__(self, session: Session) -> None:
        self.url = session.store.url.render_as_string(hide_password=False)
        self.rest = {
            field.name: getattr(session, field.name)
            for field in fields(session)
            if field.init and field.name != "store"
        }

    def opened(self) -> Session:
        """The office again."""
        shop = self.rest["shop"]
        return Session(store=Store.open(self.url, folder=shop.folder, create=False), **self.rest)


_here: dict[str, Any] = {}
"""In a process that judges: its office, and what is to be kept of a unit."""


def _begin(sent: _Sent, show: Callable[[Judged], Any]) -> None:
    _here.update(session=sent.opened(), show=show)


def _work(serials: Sequence[str]) -> list[Any]:
    return _judge_piece(_here["session"], serials, _here["show"])
