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

from traveler.jobs.affected import Cause, affected
from traveler.jobs.cannot import CannotDo
from traveler.jobs.contain import Wanted, contain
from traveler.jobs.find_case import find_case
from traveler.jobs.office import Office
from traveler.jobs.opening import open_office
from traveler.jobs.others import others
from traveler.jobs.population import population
from traveler.record.entry import Complained, Fitted, Shipped

NOW = datetime(2026, 11, 2, 9, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def made(large_store: Any, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """A shop with 300 units, made once; eight of one casting lot were complained about."""
    folder = tmp_path_factory.mktemp("made") / "shop"
    large_store.write_shop(folder, 20)
    return folder, large_store.build(f"sqlite:///{folder / 'records.db'}", units=300, entries=20)


@pytest.fixture
def filled(made: tuple[Path, Any], tmp_path: Path) -> Iterator[tuple[Office, Any]]:
    """A copy of that shop, to be worked in."""
    folder = Path(shutil.copytree(made[0], tmp_path / "shop"))
    with opened_at(folder) as office:
        yield office, made[1]


@pytest.fixture
def on_both(large_store: Any, store_url: str, tmp_path: Path) -> Iterator[tuple[Office, Any]]:
    """A smaller one on each database."""
    large_store.write_shop(tmp_path / "shop", 12)
    built = large_store.build(store_url, units=150, entries=12, processes=1)
    with opened_at(tmp_path / "shop", store_url) as office:
        yield office, built


@contextmanager
def opened_at(folder: Path, database: str | None = None) -> Iterator[Office]:
    opened = open_office(folder, NOW, database=database)
    assert opened.office is not None, opened.findings
    with opened.office.store:
        yield opened.office


def test_on_both_databases_the_lot_is_named_and_contained(on_both: tuple[Office, Any]) -> None:
    office, built = on_both
    with office.store.reading() as records:
        found = others(office, records, built.complained[0])
    assert f"lot of P-2101 {built.lot}" in found.ranked[0].name
    half = built.serials[-1]
    with office.store.transaction() as work:
        work.append(office.draft(half, "tkiln", Fitted(trace="lot", value=built.lot), slot="10-1"), NOW)
    done = contain(office, Wanted(built.complained[0], Cause("rank", "1"), stop=True, by="qmoor"))
    assert {one.unit.serial for one in done.left} == set(built.lot_units)
    done = contain(office, Wanted(built.complained[0], Cause("lot", built.lot), stop=True, by="qmoor"))
    assert [one.serial for one in done.stopped] == [half]


def test_the_planted_lot_comes_first_and_beyond_chance(filled: tuple[Office, Any]) -> None:
    office, built = filled
    with office.store.reading() as records:
        found = others(office, records, built.complained[0])
    first = found.ranked[0]
    assert first.here
    assert first.shared.convincing
    assert f"lot of P-2101 {built.lot}" in first.name
    assert set(first.complained) == set(built.complained)
    assert set(first.units) == set(built.lot_units)
    assert found.as_dict()["complained"] == sorted(built.complained)


def test_with_one_complaint_it_says_that_the_numbers_are_too_small(filled: tuple[Office, Any]) -> None:
    office, built = filled
    shop = replace(
        office.shop, settings=office.shop.settings.model_copy(update={"symptoms": {"rough": "Shakes"}})
    )
    lonely = built.serials[3]
    with office.store.transaction() as work:
        draft = office.draft(lonely, "qmoor", Complained(text="Shakes", symptoms=("rough",)))
        work.append(draft, NOW)
    with office.store.reading() as records:
        found = others(replace(office, shop=shop), records, lonely)
    assert found.complained == (lonely,)
    assert not any(one.shared.convincing for one in found.ranked)
    assert "Only 1 complained unit" in " ".join(found.sentences)


def test_an_unfounded_complaint_does_not_count(filled: tuple[Office, Any]) -> None:
    from traveler.jobs.follow_up import Step, follow_up

    office, built = filled
    follow_up(office, built.complained[0], [Step("unfounded", "The customer had not levelled it.")], "qmoor")
    with office.store.reading() as records:
        found = others(office, records, built.complained[1])
    assert built.complained[0] not in found.complained


def test_a_population_that_is_cut_holds_the_nearest_units(filled: tuple[Office, Any]) -> None:
    office, built = filled
    with office.store.reading() as records:
        middle, last = (records.unit(built.serials[at]) for at in (150, 299))
        assert middle is not None
        assert last is not None
        part = population(office, records, middle, most=51)
        late = population(office, records, last, most=51)
        whole = population(office, records, middle)
    assert set(part.units) == set(built.serials[125:176])
    assert set(late.units) == set(built.serials[249:])
    assert (part.of, part.whole) == (300, False)
    assert (whole.of, whole.whole) == (300, True)


def test_the_units_of_a_lot_are_listed_with_where_they_are(filled: tuple[Office, Any]) -> None:
    office, built = filled
    case = built.complained[0]
    with office.store.reading() as records:
        name, units = affected(office, records, case, Cause("lot", built.lot.lower()))
        assert {one.unit.serial for one in units} == set(built.lot_units)
        assert all(one.left for one in units)
        _, ranked = affected(office, records, case, Cause("rank", "1"))
        assert {one.unit.serial for one in ranked} == set(built.lot_units)
        for cause in (Cause("lot", "nothing"), Cause("rank", "999"), Cause("week", "1999-W01")):
            with pytest.raises(CannotDo):
                affected(office, records, case, cause)
    assert name.startswith("lot ")


def test_a_gauge_may_be_narrowed_to_when_it_was_used(filled: tuple[Office, Any]) -> None:
    office, built = filled
    case = built.complained[0]
    with office.store.reading() as records:
        _, all_of_it = affected(office, records, case, Cause("gauge", built.gauge))
        _, first = affected(office, records, case, Cause("gauge", built.gauge, until=date(2023, 9, 4)))
        _, of_week = affected(office, records, case, Cause("week", "2023-W36"))
    assert 0 < len(first) < len(all_of_it)
    assert {one.unit.serial for one in first} <= {one.unit.serial for one in of_week}


def test_a_struck_lot_is_not_counted(filled: tuple[Office, Any]) -> None:
    from traveler.jobs.add_entry import strike

    office, built = filled
    with office.store.reading() as records:
        serial = next(one for one in built.lot_units if one not in built.complained)
        fitted = next(
            one for one in records.entries(serial)
            if isinstance(one.body, Fitted) and one.body.value == built.lot
        )  # fmt: skip
    done = strike(office, serial, fitted.seq, "Read from the wrong box.", fitted.by)
    assert done.entry, done.findings
    with office.store.reading() as records:
        _, units = affected(office, records, built.complained[0], Cause("lot", built.lot))
    assert serial not in {one.unit.serial for one in units}


def in_stock(office: Office) -> str:
    with office.store.reading() as records:
        return records.units(state="in stock", limit=1)[0].serial


def test_those_here_are_stopped_once_and_letters_written_for_the_others(
    filled: tuple[Office, Any], tmp_path: Path
) -> None:
    office, built = filled
    here = in_stock(office)
    with office.store.transaction() as work:
        work.append(office.draft(here, "tkiln", Fitted(trace="lot", value=built.lot), slot="10-1"), NOW)
        evil = Shipped(customer="=HYPERLINK(1)", carrier="+van", reference="@x")
        work.append(office.draft(built.lot_units[0], "sdock", evil), NOW)
    file = tmp_path / "letters.csv"
    wanted = Wanted(built.complained[0], Cause("lot", built.lot), stop=True, by="qmoor", letters=file)
    done = contain(office, wanted)
    assert done.findings == ()
    assert [one.serial for one in done.stopped if one.new] == [here]
    assert done.letters == 25
    rows = list(csv.DictReader(io.StringIO(file.read_text(encoding="utf-8-sig"))))
    assert len(rows) == 25
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row.values())
    assert next(row for row in rows if row["serial"] == built.lot_units[0])["customer"] == "'=HYPERLINK(1)"
    assert all(row["serial"] in row["text"] for row in rows)
    again = contain(office, wanted)
    assert [one.new for one in again.stopped] == [False]
    with office.store.reading() as records:
        case = find_case(records, built.complained[0])
        assert records.unit(here).state == "stopped"
    assert [step.step for _, step in case.steps] == ["contained"]


def test_without_stop_and_letters_nothing_is_changed(filled: tuple[Office, Any]) -> None:
    office, built = filled
    with office.store.reading() as records:
        before = records.unit(built.complained[0]).head
    done = contain(office, Wanted(built.complained[0], Cause("lot", built.lot)))
    assert (len(done.left), done.stopped, done.letters) == (25, (), 0)
    with office.store.reading() as records:
        assert records.unit(built.complained[0]).head == before


def test_who_may_not_work_on_a_case_stops_nothing(filled: tuple[Office, Any]) -> None:
    office, built = filled
    with pytest.raises(CannotDo, match="who stops them"):
        contain(office, Wanted(built.complained[0], Cause("lot", built.lot), stop=True))
    done = contain(office, Wanted(built.complained[0], Cause("lot", built.lot), stop=True, by="tkiln"))
    assert [one.code for one in done.findings] == ["GAT002"]
    assert done.stopped == ()


def test_a_letter_has_only_gaps_that_are_filled(filled: tuple[Office, Any], tmp_path: Path) -> None:
    office, built = filled
    case, cause = built.complained[0], Cause("lot", built.lot)
    with pytest.raises(CannotDo, match="name"):
        contain(office, Wanted(case, cause, letters=tmp_path / "x.csv", text="Dear {name}"))
    contain(office, Wanted(case, cause, letters=tmp_path / "x.csv", text="{customer}: {serial}, {day}"))
    assert f"{built.lot_units[0]}, 2023" in (tmp_path / "x.csv").read_text(encoding="utf-8-sig")


def test_a_lot_of_material_reaches_the_units_with_what_was_made_of_it(filled: tuple[Office, Any]) -> None:
    office, built = filled
    made, fitted_in = built.serials[0], built.serials[10]
    with office.store.transaction() as work:
        work.append(office.draft(made, "tkiln", Fitted(trace="lot", value="H-88214"), slot="10-1"), NOW)
        work.append(office.draft(fitted_in, "tkiln", Fitted(trace="lot", value=made), slot="10-2"), NOW)
    with office.store.reading() as records:
        _, units = affected(office, records, built.complained[0], Cause("lot", "h-88214"))
        assert {one.unit.serial for one in units} == {made, fitted_in}
        _, units = affected(office, records, built.complained[0], Cause("lot", made))
    assert {one.unit.serial for one in units} == {made, fitted_in}
