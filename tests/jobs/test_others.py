"""Which other units, and what is done about them, on a store with a planted lot."""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from traveler.finding import CannotDo
from traveler.jobs.contain import ContainRequest, contain
from traveler.jobs.open import open_session
from traveler.record.entry import Complained, Fitted, Shipped
from traveler.shop.session import Session
from traveler.trace.cases import find_case
from traveler.trace.common_causes import Cause, affected, common_causes
from traveler.trace.factors import population

NOW = datetime(2026, 11, 2, 9, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def made(large_store: Any, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """A shop with 300 units, made once; eight of one casting lot were complained about."""
    folder = tmp_path_factory.mktemp("made") / "shop"
    large_store.write_shop(folder, 20)
    return folder, large_store.build(f"sqlite:///{folder / 'records.db'}", units=300, entries=20)


@pytest.fixture
def filled(made: tuple[Path, Any], tmp_path: Path) -> Iterator[tuple[Session, Any]]:
    """A copy of that shop, to be worked in."""
    folder = Path(shutil.copytree(made[0], tmp_path / "shop"))
    with opened_at(folder) as session:
        yield session, made[1]


@pytest.fixture
def on_both(large_store: Any, store_url: str, tmp_path: Path) -> Iterator[tuple[Session, Any]]:
    """A smaller one on each database."""
    large_store.write_shop(tmp_path / "shop", 12)
    built = large_store.build(store_url, units=150, entries=12, processes=1)
    with opened_at(tmp_path / "shop", store_url) as session:
        yield session, built


@contextmanager
def opened_at(folder: Path, database: str | None = None) -> Iterator[Session]:
    opened = open_session(folder, NOW, database=database)
    assert opened.session is not None, opened.findings
    with opened.session.store:
        yield opened.session


def test_on_both_databases_the_lot_is_named_and_contained(on_both: tuple[Session, Any]) -> None:
    session, built = on_both
    with session.store.reading() as records:
        found = common_causes(session, records, built.complained[0])
    assert f"lot of P-2101 {built.lot}" in found.ranked[0].name
    half = built.serials[-1]
    with session.store.transaction() as work:
        work.append(session.draft(half, "tkiln", Fitted(trace="lot", value=built.lot), slot="10-1"), NOW)
    done = contain(session, ContainRequest(built.complained[0], Cause("rank", "1"), stop=True, by="qmoor"))
    assert {affected.unit.serial for affected in done.left} == set(built.lot_units)
    done = contain(
        session, ContainRequest(built.complained[0], Cause("lot", built.lot), stop=True, by="qmoor")
    )
    assert [stopping.serial for stopping in done.stopped] == [half]


def test_the_planted_lot_comes_first_and_beyond_chance(filled: tuple[Session, Any]) -> None:
    session, built = filled
    with session.store.reading() as records:
        found = common_causes(session, records, built.complained[0])
    first = found.ranked[0]
    assert first.here
    assert first.shared.convincing
    assert f"lot of P-2101 {built.lot}" in first.name
    assert set(first.complained) == set(built.complained)
    assert set(first.units) == set(built.lot_units)
    assert found.as_dict()["complained"] == sorted(built.complained)


def test_with_one_complaint_it_says_that_the_numbers_are_too_small(filled: tuple[Session, Any]) -> None:
    session, built = filled
    shop = replace(
        session.shop, settings=session.shop.settings.model_copy(update={"symptoms": {"rough": "Shakes"}})
    )
    lonely = built.serials[3]
    with session.store.transaction() as work:
        draft = session.draft(lonely, "qmoor", Complained(text="Shakes", symptoms=("rough",)))
        work.append(draft, NOW)
    with session.store.reading() as records:
        found = common_causes(replace(session, shop=shop), records, lonely)
    assert found.complained == (lonely,)
    assert not any(suspect.shared.convincing for suspect in found.ranked)
    assert "Only 1 unit has this complaint" in " ".join(found.sentences)


def test_an_unfounded_complaint_does_not_count(filled: tuple[Session, Any]) -> None:
    from traveler.jobs.case import CaseStep, follow_up

    session, built = filled
    follow_up(
        session, built.complained[0], [CaseStep("unfounded", "The customer had not levelled it.")], "qmoor"
    )
    with session.store.reading() as records:
        found = common_causes(session, records, built.complained[1])
    assert built.complained[0] not in found.complained


def test_a_population_that_is_cut_holds_the_nearest_units(filled: tuple[Session, Any]) -> None:
    session, built = filled
    with session.store.reading() as records:
        middle, last = (records.unit(built.serials[at]) for at in (150, 299))
        assert middle is not None
        assert last is not None
        part = population(session, records, middle, most=51)
        late = population(session, records, last, most=51)
        whole = population(session, records, middle)
    assert set(part.units) == set(built.serials[125:176])
    assert set(late.units) == set(built.serials[249:])
    assert (part.of, part.whole) == (300, False)
    assert (whole.of, whole.whole) == (300, True)


def test_the_units_of_a_lot_are_listed_with_where_they_are(filled: tuple[Session, Any]) -> None:
    session, built = filled
    case = built.complained[0]
    with session.store.reading() as records:
        name, units = affected(session, records, case, Cause("lot", built.lot.lower()))
        assert {unit.unit.serial for unit in units} == set(built.lot_units)
        assert all(unit.left for unit in units)
        _, ranked = affected(session, records, case, Cause("rank", "1"))
        assert {affected.unit.serial for affected in ranked} == set(built.lot_units)
        for cause in (Cause("lot", "nothing"), Cause("rank", "999"), Cause("week", "1999-W01")):
            with pytest.raises(CannotDo):
                affected(session, records, case, cause)
    assert name.startswith("lot ")


def test_a_gauge_may_be_narrowed_to_when_it_was_used(filled: tuple[Session, Any]) -> None:
    session, built = filled
    case = built.complained[0]
    with session.store.reading() as records:
        _, all_of_it = affected(session, records, case, Cause("gauge", built.gauge))
        _, first = affected(session, records, case, Cause("gauge", built.gauge, until=date(2023, 9, 4)))
        _, of_week = affected(session, records, case, Cause("week", "2023-W36"))
    assert 0 < len(first) < len(all_of_it)
    assert {affected.unit.serial for affected in first} <= {affected.unit.serial for affected in of_week}


def test_a_struck_lot_is_not_counted(filled: tuple[Session, Any]) -> None:
    from traveler.jobs.append import strike

    session, built = filled
    with session.store.reading() as records:
        serial = next(unit for unit in built.lot_units if unit not in built.complained)
        fitted = next(
            entry for entry in records.entries(serial)
            if isinstance(entry.body, Fitted) and entry.body.value == built.lot
        )  # fmt: skip
    done = strike(session, serial, fitted.seq, "Read from the wrong box.", fitted.by)
    assert done.entry, done.findings
    with session.store.reading() as records:
        _, units = affected(session, records, built.complained[0], Cause("lot", built.lot))
    assert serial not in {unit.unit.serial for unit in units}


def in_stock(session: Session) -> str:
    with session.store.reading() as records:
        return records.units(state="in stock", limit=1)[0].serial


def test_those_here_are_stopped_once_and_letters_written_for_the_others(
    filled: tuple[Session, Any], tmp_path: Path
) -> None:
    session, built = filled
    here = in_stock(session)
    with session.store.transaction() as work:
        work.append(session.draft(here, "tkiln", Fitted(trace="lot", value=built.lot), slot="10-1"), NOW)
        evil = Shipped(customer="=HYPERLINK(1)", carrier="+van", reference="@x")
        work.append(session.draft(built.lot_units[0], "sdock", evil), NOW)
    file = tmp_path / "letters.csv"
    wanted = ContainRequest(built.complained[0], Cause("lot", built.lot), stop=True, by="qmoor", letters=file)
    done = contain(session, wanted)
    assert done.findings == ()
    assert [stopping.serial for stopping in done.stopped if stopping.new] == [here]
    assert done.letters == 25
    rows = list(csv.DictReader(io.StringIO(file.read_text(encoding="utf-8-sig"))))
    assert len(rows) == 25
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row.values())
    assert next(row for row in rows if row["serial"] == built.lot_units[0])["customer"] == "'=HYPERLINK(1)"
    assert all(row["serial"] in row["text"] for row in rows)
    again = contain(session, wanted)
    assert [stopping.new for stopping in again.stopped] == [False]
    with session.store.reading() as records:
        case = find_case(records, built.complained[0])
        assert records.unit(here).state == "stopped"
    assert [step.step for _, step in case.steps] == ["contained"]


def test_without_stop_and_letters_nothing_is_changed(filled: tuple[Session, Any]) -> None:
    session, built = filled
    with session.store.reading() as records:
        before = records.unit(built.complained[0]).head
    done = contain(session, ContainRequest(built.complained[0], Cause("lot", built.lot)))
    assert (len(done.left), done.stopped, done.letters) == (25, (), 0)
    with session.store.reading() as records:
        assert records.unit(built.complained[0]).head == before


def test_who_may_not_work_on_a_case_stops_nothing(filled: tuple[Session, Any]) -> None:
    session, built = filled
    with pytest.raises(CannotDo, match="who stops the units"):
        contain(session, ContainRequest(built.complained[0], Cause("lot", built.lot), stop=True))
    done = contain(
        session, ContainRequest(built.complained[0], Cause("lot", built.lot), stop=True, by="tkiln")
    )
    assert [finding.code for finding in done.findings] == ["GAT002"]
    assert done.stopped == ()


def test_a_letter_has_only_gaps_that_are_filled(filled: tuple[Session, Any], tmp_path: Path) -> None:
    session, built = filled
    case, cause = built.complained[0], Cause("lot", built.lot)
    with pytest.raises(CannotDo, match="name"):
        contain(session, ContainRequest(case, cause, letters=tmp_path / "x.csv", text="Dear {name}"))
    contain(
        session, ContainRequest(case, cause, letters=tmp_path / "x.csv", text="{customer}: {serial}, {day}")
    )
    assert f"{built.lot_units[0]}, 2023" in (tmp_path / "x.csv").read_text(encoding="utf-8-sig")


def test_a_lot_of_material_reaches_the_units_with_what_was_made_of_it(filled: tuple[Session, Any]) -> None:
    session, built = filled
    made, fitted_in = built.serials[0], built.serials[10]
    with session.store.transaction() as work:
        work.append(session.draft(made, "tkiln", Fitted(trace="lot", value="H-88214"), slot="10-1"), NOW)
        work.append(session.draft(fitted_in, "tkiln", Fitted(trace="lot", value=made), slot="10-2"), NOW)
    with session.store.reading() as records:
        _, units = affected(session, records, built.complained[0], Cause("lot", "h-88214"))
        assert {unit.unit.serial for unit in units} == {made, fitted_in}
        _, units = affected(session, records, built.complained[0], Cause("lot", made))
    assert {unit.unit.serial for unit in units} == {made, fitted_in}
