"""``docs/gate.md`` is true: every person × action × state, through the jobs, is allowed or refused so."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from traveler.demo.floor import Filling, as_csv
from traveler.finding import Finding, blocking
from traveler.jobs import append as add_entry
from traveler.jobs import gauges as gauge_care
from traveler.jobs.case import CaseStep, follow_up
from traveler.jobs.complain import Complaint, complain
from traveler.jobs.import_bag import import_bag
from traveler.jobs.issue import IssueRequest, issue
from traveler.jobs.open import open_session
from traveler.jobs.people import Delegation, delegate, enrol
from traveler.jobs.print import reprint
from traveler.jobs.record import record
from traveler.jobs.shipping import crate, place, release, ship
from traveler.jobs.sign import unlock
from traveler.jobs.stop import Disposition, decide, stop
from traveler.record.entry import Shipped
from traveler.record.records import Records
from traveler.record.store import Store, Transaction
from traveler.sheets.batch.print_job import Printed
from traveler.shop.session import Session
from traveler.trace.export_bag import export
from traveler.trace.judging import judge
from traveler.verdict.authority import AUTHORITY, ROLES, WITHOUT_PIN
from traveler.verdict.state import UnitState

HOUSE = Path(__file__).parents[2]
TODAY = date(2026, 11, 2)
STATES = [str(unit_state) for unit_state in UnitState]
MARK = "●"
UNSIGNED = ("issued", "building")
"""States in which nobody signed a build operation yet, so that nobody is a builder of the unit."""

Findings = tuple[Finding, ...]


def tables() -> list[dict[str, dict[str, bool]]]:
    """The tables of the page: row → column → whether there is a mark."""
    found: list[dict[str, dict[str, bool]]] = []
    for block in re.split(r"\n\s*\n", (HOUSE / "docs" / "gate.md").read_text(encoding="utf-8")):
        lines = [[cell.strip() for cell in line.strip().strip("|").split("|")] for line in block.splitlines()]
        if len(lines) < 3 or lines[0][0] != "action":
            continue
        assert all(len(line) == len(lines[0]) for line in lines), "a row with another number of cells"
        assert {cell for line in lines[2:] for cell in line[1:]} <= {MARK, ""}
        marks = {line[0].strip("`"): [cell == MARK for cell in line[1:]] for line in lines[2:]}
        found.append({row: dict(zip(lines[0][1:], cells, strict=True)) for row, cells in marks.items()})
    return found


WHO, WHEN = tables()
PERSONS = {
    **{role: role[:4] for role in ROLES},
    "no role": "noro", "left": "gone", "not yet": "soon", "stood in": "past", "quality for a time": "temp",
    "builder": "tkiln",
}  # fmt: skip
"""Column of the first table → who stands for it in the shop of this test."""


def people_yaml() -> str:
    """The people of the small shop, its builder with every role, and one person for each other column."""

    def held(roles: Any, **days: str) -> str:
        rest = "".join(f", {key}: {day}" for key, day in days.items())
        return "[" + ", ".join(f"{{role: {role}{rest}}}" for role in roles) + "]"

    every, since = [*ROLES], "2021-03-01"
    entered = [(PERSONS[role], held([role], since=since), "") for role in ROLES]
    entered += [
        ("noro", "[]", ""),
        ("gone", held(every, since=since), "\n    left: 2026-11-01"),
        ("soon", held(every, since="2026-12-01"), ""),
        ("past", held(every, since="2026-10-01", until="2026-11-01", instead_of="qmoor"), ""),
        ("temp", held(["quality"], since="2026-11-01", until="2026-11-30", instead_of="qmoor"), ""),
    ]
    text = (HOUSE / "tests" / "world" / "people.yaml").read_text(encoding="utf-8")
    old = "roles: [{role: assembler, since: 2021-03-01}]\n  - id: awick"
    assert old in text
    text = text.replace(old, f"roles: {held(every, since=since)}\n  - id: awick")
    more = (
        f"  - id: {id_}\n    name: {id_.title()}\n    roles: {roles}{left}\n" for id_, roles, left in entered
    )
    return text + "".join(more)


class OneCell(Store):
    """The store of the test: whatever jobs do within a ``cell`` is undone at its end, their commits too."""

    work: Transaction | None = None

    @contextmanager
    def cell(self) -> Iterator[None]:
        with self._engine.connect() as opened:
            connection = opened.execution_options(traveler_writes=True)
            with connection.begin() as begun:
                self.work = Transaction(connection)
                try:
                    yield
                finally:
                    self.work = None
                    begun.rollback()

    @contextmanager
    def transaction(self) -> Iterator[Transaction]:
        if self.work is None:
            with super().transaction() as work:
                yield work
            return
        connection = self.work._connection
        with connection.begin_nested() as part:
            work = Transaction(connection)
            yield work
            if work.abandoned:
                part.rollback()

    @contextmanager
    def reading(self) -> Iterator[Records]:
        if self.work is None:
            with super().reading() as records:
                yield records
            return
        yield Records(self.work._connection)


@dataclass
class Prepared:
    """A shop with one good unit in each state."""

    bench: Any
    units: dict[str, str]

    @property
    def session(self) -> Session:
        session: Session = self.bench.session
        return session

    @contextmanager
    def cell(self) -> Iterator[Session]:
        """The office in which everything is as before once the block ends, files too."""
        folder, store = self.session.shop.folder, self.session.store
        assert isinstance(store, OneCell)
        before = {file: file.read_bytes() for file in folder.glob("*.yaml")}
        with store.cell():
            yield self.session
        for file, content in before.items():
            file.write_bytes(content)


def in_every_state(bench: Any) -> dict[str, str]:
    units = {}
    for state in STATES:
        units[state] = bench.unit()
        brought(bench, units[state], state)
    bench.later(30)
    with bench.session.store.reading() as records:
        assert {state: records.unit(serial).state for state, serial in units.items()} == dict(
            zip(STATES, STATES, strict=True)
        )
    return units


def brought(bench: Any, serial: str, state: str) -> None:
    """The unit, good so far, in this state."""
    if state == "issued":
        return
    if state == "building":
        bench.record(serial, bench.fillings(serial, ["10"])[:-1])  # all but the signature
        return
    bench.record(serial, bench.fillings(serial))
    if state in ("stopped", "scrapped"):
        stopped = stop(bench.session, serial, "dent", "iwren")
        assert stopped.entry is not None
        if state == "scrapped":
            done = decide(bench.session, serial, stopped.entry.seq, Disposition("scrap"), "qmoor")
            assert done.entry is not None
    steps = ["released", "crated", "in stock", "shipped"]
    for step in steps[: steps.index(state) + 1] if state in steps else ():
        bench.later(5)
        assert not blocking(stepped(bench, serial, step))


def stepped(bench: Any, serial: str, step: str) -> Findings:
    """One step of the unit's life; the crate is packed as soon as it is released."""
    if step == "released":
        found = release(bench.session, serial, "qmoor").findings
        bench.record(serial, bench.fillings(serial, ["C"]))
        return found
    if step == "crated":
        return crate(bench.session, serial, "pstrap").findings
    if step == "in stock":
        return place(bench.session, serial, "Bay 3", "pstrap").findings
    return ship(bench.session, serial, Shipped(customer="Aldermoor"), "sdock").findings


def prepare(folder: Path, url: str, start: Any, make: Any) -> Iterator[Prepared]:
    (folder / "people.yaml").write_text(people_yaml(), encoding="utf-8")
    gauges = folder / "gauges.yaml"
    out = "    withdrawals: [{out: 2026-10-01, reason: dropped}]\n  - id: CS-01"
    text = gauges.read_text(encoding="utf-8").replace("  - id: CS-01", out, 1)
    gauges.write_text(text.replace("{on: 2024-02-02,", "{on: 2026-10-02,"), encoding="utf-8")
    opened = open_session(folder, start, database=url)
    assert opened.session is not None, opened.findings
    opened.session.store.close()
    with OneCell.open(url) as store:
        bench = make(replace(opened.session, store=store), {})
        yield Prepared(bench, in_every_state(bench))


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, bench_type: Any, tried: Any) -> Iterator[Prepared]:
    """The prepared shop on SQLite, made once: every cell leaves it as it was."""
    folder = tmp_path_factory.mktemp("gate") / "shop"
    shutil.copytree(HOUSE / "tests" / "world", folder)
    with pytest.MonkeyPatch.context() as patch:
        quick(patch, tried)
        yield from prepare(folder, f"sqlite:///{folder / 'records.db'}", bench_type.start, bench_type.make)


def quick(patch: pytest.MonkeyPatch, tried: Any) -> None:
    """Nothing is drawn: the table is about who may, not about what the sheet looks like."""
    patch.setattr("traveler.jobs.issue.render_traveler", lambda *_, **__: Printed("", (), ()))
    patch.setattr("traveler.jobs.print.print_sheet", lambda *given: Printed(given[1].unit.serial, (), ()))


def written(session: Session, serial: str, slot: str, by: str) -> Findings:
    """What the verdict has against who wrote this into the slot, or the file was refused for."""
    with session.store.reading() as records:
        before = judge(session, records, serial)
    spot = before.plan.by_slot[slot]
    filling = Filling(spot, "yes", by, session.now.astimezone(session.shop.zone))
    done = record(session, [(Path("one.csv"), as_csv([filling], serial, before.plan))])
    if blocking(done.files[0].findings):
        return done.files[0].findings
    assert done.files[0].added == 1
    (after,) = done.units
    told = add_entry.against(after, after.entries[len(before.entries) :])
    return tuple(finding for finding in told if finding.code.startswith("PER"))


def decided(session: Session, serial: str, by: str, **asked: Any) -> Findings:
    with session.store.reading() as records:
        slot = judge(session, records, serial).plan.operations[0].steps[0].slots[0].id
    stopped = stop(session, serial, "loose", "noro", slot=slot)
    assert stopped.entry is not None
    return decide(session, serial, stopped.entry.seq, Disposition(**asked), by).findings


def struck(session: Session, serial: str, by: str) -> Findings:
    noted = add_entry.note(session, serial, "a remark", "awick").entry
    assert noted is not None
    return add_entry.strike(session, serial, noted.seq, "wrong", by).findings


def withdrawn(session: Session, serial: str, by: str) -> Findings:
    if not (seqs := decisions(session, serial)):
        assert not blocking(decided(session, serial, "qmoor", decision="no_fault"))
        seqs = decisions(session, serial)
    return add_entry.strike(session, serial, seqs[-1], "wrong", by).findings


def decisions(session: Session, serial: str) -> list[int]:
    with session.store.reading() as records:
        return [entry.seq for entry in records.entries(serial) if entry.body.kind == "decided"]


def followed(session: Session, serial: str, by: str, step: str) -> Findings:
    assert complain(session, serial, Complaint("it hums"), "noro").case is not None
    return follow_up(session, serial, [CaseStep(step, "looked into it")], by).findings


ON_UNITS: dict[str, Callable[[Session, str, str], Findings]] = {
    "record": lambda session, serial, by: written(session, serial, "10-1", by),
    "inspect": lambda session, serial, by: written(session, serial, "Q-1", by),
    "pack": lambda session, serial, by: written(session, serial, "C-1/item=1", by),
    "stop": lambda session, serial, by: stop(session, serial, "scratched", by).findings,
    "note": lambda session, serial, by: add_entry.note(session, serial, "seen", by).findings,
    "complain": lambda session, serial, by: complain(session, serial, Complaint("it hums"), by).findings,
    "follow_up": lambda session, serial, by: followed(session, serial, by, "contained"),
    "close_case": lambda session, serial, by: followed(session, serial, by, "unfounded"),
    "reprint": lambda session, serial, by: next(iter(reprint(session, [serial], None, by))).findings,
    "decide": lambda session, serial, by: decided(session, serial, by, decision="rework"),
    "concede": lambda session, serial, by: decided(
        session, serial, by, decision="use_as_is", concession="C-1"
    ),
    "strike": struck,
    "withdraw": withdrawn,
    "release": lambda session, serial, by: release(session, serial, by).findings,
    "crate": lambda session, serial, by: crate(session, serial, by).findings,
    "place": lambda session, serial, by: place(session, serial, "Bay 4", by).findings,
    "ship": lambda session, serial, by: ship(session, serial, Shipped(customer="Ash"), by).findings,
}
"""Action on a unit → the job that does it, and what it says against it."""


def taken_over(session: Session, by: str) -> Findings:
    """A bag of the first unit, which is here already: so nothing is against it but who takes it over."""
    bag = session.shop.folder / "bag"
    if not bag.exists():
        with session.store.reading() as records:
            serial = records.units(limit=1)[0].serial
        export(session, serial, bag)
    return import_bag(session, bag, by).findings


CALIBRATED = gauge_care.Calibrated(TODAY, good=True, as_found="in", certificate="C-2300")
HANDED_ON = Delegation("inspector", "iwren", "noro", TODAY, TODAY + timedelta(days=7))

OF_THE_SHOP: dict[str, Callable[[Session, str], Findings]] = {
    "issue": lambda session, by: issue(session, IssueRequest("step-stool", "2", by)).findings,
    "calibrate": lambda session, by: gauge_care.calibrate(session, "IND-03", CALIBRATED, by).findings,
    "withdraw_gauge": lambda session, by: (
        gauge_care.withdraw_gauge(session, "IND-03", "dropped", by).findings
    ),
    "restore_gauge": lambda session, by: gauge_care.restore_gauge(session, "IND-07", by).findings,
    "delegate": lambda session, by: delegate(session, HANDED_ON, by).findings,
    "unlock": lambda session, by: unlock(session, "awick", by).findings,
    "enrol": lambda session, by: enrol(session, "newone", "N. One", ["packer"], TODAY, by).findings,
    "take_over": taken_over,
}
"""Action that is about no unit → its job."""


def test_the_page_has_every_action_person_and_state() -> None:
    assert list(WHO) == list(AUTHORITY)
    assert [list(row) for row in WHO.values()] == [list(PERSONS)] * len(AUTHORITY)
    assert set(WHEN) == set(ON_UNITS) == set(AUTHORITY) - set(OF_THE_SHOP)
    assert [set(row) for row in WHEN.values()] == [set(STATES)] * len(ON_UNITS)


def expected(action: str, state: str) -> dict[str, bool]:
    """What the two tables say of an action in a state: column → allowed."""
    may = WHO[action] | ({"builder": any(WHO[action].values())} if state in UNSIGNED else {})
    return {column: flag and WHEN[action][state] for column, flag in may.items()}


def cells(shop: Prepared, action: str, state: str, persons: dict[str, str]) -> dict[str, bool]:
    """Column → whether it was allowed, in a shop that is as before each time."""
    allowed = {}
    for column, by in persons.items():
        with shop.cell() as session:
            allowed[column] = not blocking(ON_UNITS[action](session, shop.units[state], by))
    return allowed


@pytest.mark.parametrize("action", ON_UNITS)
def test_every_person_in_every_state_is_allowed_or_refused_as_the_page_says(
    shop: Prepared, action: str
) -> None:
    for state in STATES:
        assert cells(shop, action, state, PERSONS) == expected(action, state), state


@pytest.mark.parametrize("action", OF_THE_SHOP)
def test_what_is_about_no_unit_is_allowed_or_refused_as_the_page_says(shop: Prepared, action: str) -> None:
    allowed = {}
    for column, by in PERSONS.items():
        with shop.cell() as session:
            allowed[column] = not blocking(OF_THE_SHOP[action](session, by))
    assert allowed == WHO[action]


def test_a_cell_leaves_the_shop_as_it_was(shop: Prepared) -> None:
    serial = shop.units["inspection"]
    with shop.cell() as session:
        assert release(session, serial, "qmoor").taken
        with session.store.reading() as records:
            assert records.unit(serial).state == "released"
    with shop.session.store.reading() as records:
        assert records.unit(serial).state == "inspection"


@pytest.mark.parametrize("action", [action for action in AUTHORITY if action not in WITHOUT_PIN])
def test_an_action_that_may_ask_for_a_pin_does_not_go_on_without(shop: Prepared, action: str) -> None:
    """The person who may do it, in the state for it: only the PIN is wanting."""
    by = PERSONS[next(column for column, may in WHO[action].items() if may)]
    state = next(iter([text for text in STATES if WHEN.get(action, {}).get(text)]), "")
    people = [
        person.model_copy(update={"pin": "$argon2id$v=19$m=8,t=1,p=1$c29tZXNhbHQ$aGFzaA"})
        if person.id == by
        else person
        for person in shop.session.shop.people.people
    ]
    asking = replace(
        shop.session.shop,
        people=type(shop.session.shop.people)(people=tuple(people)),
        settings=shop.session.shop.settings.model_copy(update={"pin_for": (action,)}),
    )
    for proven, wanting in ((frozenset(), ["PIN004"]), (frozenset({by}), [])):
        with shop.cell() as session:
            asked = replace(session, shop=asking, proven=proven)
            job = OF_THE_SHOP.get(action)
            found = job(asked, by) if job is not None else ON_UNITS[action](asked, shop.units[state], by)
            assert [finding.code for finding in blocking(found)] == wanting


@pytest.fixture
def on_either(
    store_url: str, shop_folder: Path, bench_type: Any, tried: Any, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Prepared]:
    """The prepared shop on SQLite and on PostgreSQL."""
    quick(monkeypatch, tried)
    yield from prepare(shop_folder, store_url, bench_type.start, bench_type.make)


def test_both_stores_hold_the_table_for_one_who_may_and_one_who_may_not(on_either: Prepared) -> None:
    for action, row in WHO.items():
        if action in OF_THE_SHOP:
            continue
        some = {next(column for column, may in row.items() if may is kind) for kind in (True, False)}
        persons = {column: PERSONS[column] for column in some}
        for state in ("building", "inspection", "stopped", "in stock"):
            wanted = {column: expected(action, state)[column] for column in some}
            assert cells(on_either, action, state, persons) == wanted, (action, state)


@pytest.mark.long
def test_both_stores_hold_every_cell(on_either: Prepared) -> None:
    for action in ON_UNITS:
        for state in STATES:
            assert cells(on_either, action, state, PERSONS) == expected(action, state), (action, state)
