"""Judging units by the definition they were issued with, and all the verdict cannot look up itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from traveler.definition.plan import Plan
from traveler.definition.serial import check_character_ok
from traveler.jobs.judged import Judged
from traveler.jobs.office import Office
from traveler.jobs.plans import plan_as_issued
from traveler.jobs.units import known_unit
from traveler.record.chain import verify_rows
from traveler.record.entry import Entry, Fitted, Issued
from traveler.record.kept import to_entry
from traveler.record.records import Records
from traveler.record.trouble import StoreDamaged
from traveler.record.unit import Unit
from traveler.verdict.case import Case
from traveler.verdict.counting import counting
from traveler.verdict.facts import Facts, LotFact
from traveler.verdict.judge_unit import judge_case
from traveler.verdict.outcome import UnitState


def judge(office: Office, records: Records, serial: str) -> Judged:
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
        raise StoreDamaged(what, "run 'traveler verify', and compare with a backup")
    plan = plan_as_issued(records, entries[0].body)
    chain = tuple(verify_rows(rows, head=unit.head, count=unit.entries, unit=serial, entries=entries))
    stored = records.definition(unit.product, unit.revision)
    facts = Facts(
        fitted_elsewhere=_fitted_elsewhere(records, serial, entries, plan),
        lots=_lots(records, entries),
        stored_digest=stored.digest if stored is not None else None,
        chain=chain,
    )
    case = _case(office, unit, plan, entries, facts)
    return Judged(unit, plan, entries, case, judge_case(case))


def _case(office: Office, unit: Unit, plan: Plan, entries: tuple[Entry, ...], facts: Facts) -> Case:
    shop = office.shop
    return Case(
        unit.serial, plan, entries,
        gauges=shop.gauges, people=shop.people, settings=shop.settings, now=office.now, facts=facts,
    )  # fmt: skip


def _fitted(entries: Sequence[Entry], trace: str) -> list[tuple[str | None, Fitted]]:
    """Slot and part of each traced part that stands."""
    found = ((one.slot, one.body) for one in counting(entries) if isinstance(one.body, Fitted))
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
