"""Exports as files: complete, exact, whole or not there, and safe to open."""

import csv
import sqlite3
from datetime import timedelta
from fractions import Fraction
from io import StringIO

import pytest

from traveler.finding import CannotDo
from traveler.trace.export import ExportRequest, export_readings
from traveler.trace.export_tables import BY_NAME, TABLES, VIEWS


def rows_of(path):
    content = path.read_bytes()
    assert content.startswith("\ufeff".encode())
    return list(csv.DictReader(StringIO(content.decode("utf-8-sig"), newline="")))


@pytest.fixture(scope="module")
def sqlite_file(year, tmp_path_factory):
    path = tmp_path_factory.mktemp("export") / "all.sqlite"
    export_readings(year, ExportRequest(path, findings=True))
    return path


def test_csv_holds_every_reading_that_was_ever_made(year, tmp_path):
    done = export_readings(year, ExportRequest(tmp_path / "r.csv"))
    rows = rows_of(done.file)
    with year.store.reading() as records:
        kept = {
            (entry.unit, str(entry.seq)): entry.body
            for unit in records.units()
            for entry in records.entries(unit.serial)
            if entry.body.kind == "read"
        }
    assert {(row["serial"], row["seq"]) for row in rows} == set(kept)
    assert all(row["value"] == kept[row["serial"], row["seq"]].value for row in rows)
    assert done.rows == {"readings": len(rows)}
    assert done.units == 60


def test_csv_is_as_rfc_4180_wants_it(year, tmp_path):
    path = tmp_path / "u.csv"
    export_readings(year, ExportRequest(path, table="units"))
    text = path.read_bytes().decode("utf-8-sig")
    lines = text.split("\r\n")
    assert lines[0] == ",".join(BY_NAME["units"].names)
    assert lines[-1] == ""
    assert "\n" not in text.replace("\r\n", "")
    assert len(lines) == 60 + 2


@pytest.mark.parametrize("table", BY_NAME)
def test_every_table_can_be_had_as_csv(year, tmp_path, table):
    done = export_readings(year, ExportRequest(tmp_path / "t.csv", table=table))
    assert len(rows_of(done.file)) == done.rows[table]


def test_the_sqlite_file_holds_all_tables_and_views(sqlite_file, year):
    with sqlite3.connect(sqlite_file) as base:
        names = {
            row[0] for row in base.execute("SELECT name FROM sqlite_master WHERE type IN ('table', 'view')")
        }
        assert names == {*(table.name for table in TABLES), *VIEWS, "columns"}
        for table in TABLES:
            columns = [row[1] for row in base.execute(f"PRAGMA table_info({table.name})")]
            assert columns == list(table.names)
        assert base.execute("SELECT count(*) FROM units").fetchone() == (60,)
        assert base.execute("SELECT count(*) FROM findings").fetchone()[0] > 0
        assert base.execute("SELECT count(*) FROM columns").fetchone()[0] == sum(
            len(table.columns) for table in TABLES
        )
        assert base.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_the_views_count_what_counts(sqlite_file):
    with sqlite3.connect(sqlite_file) as base:
        struck, standing, every = (
            base.execute(asked).fetchone()[0]
            for asked in (
                "SELECT count(*) FROM readings WHERE struck_by IS NOT NULL",
                "SELECT count(*) FROM standing_readings",
                "SELECT count(*) FROM readings",
            )
        )
        assert struck == 1
        assert standing == every - struck
        twice = "SELECT serial, slot FROM counting_readings GROUP BY serial, slot HAVING count(*) > 1"
        assert base.execute(twice).fetchall() == []
        brake = base.execute(
            "SELECT units, right_first_time FROM first_time WHERE check_name = 'brake'"
        ).fetchone()
        assert brake == (54, 36)
        text, real = base.execute("SELECT value_in_limit_unit, number FROM counting_readings").fetchone()
        assert float(Fraction(text)) == real


def test_the_export_agrees_with_the_statistics(sqlite_file, year):
    from traveler.trace.stats.product_report import StatisticsRequest, statistics

    (series,) = statistics(year, StatisticsRequest("skein-reel", "arm-length")).series
    with sqlite3.connect(sqlite_file) as base:
        told = base.execute(
            "SELECT value_in_limit_unit FROM counting_readings WHERE check_name = 'arm-length'"
        ).fetchall()
    assert sorted(Fraction(item) for (item,) in told) == sorted(series.series.values)


def test_since_leaves_out_what_was_done_before_but_no_unit(year, built_year, tmp_path):
    since = year.now - timedelta(days=30)
    rows = rows_of(export_readings(year, ExportRequest(tmp_path / "r.csv", since=since)).file)
    assert rows
    assert all(row["at"] >= since.strftime("%Y-%m-%dT") for row in rows)
    units = export_readings(year, ExportRequest(tmp_path / "u.csv", since=since, table="units"))
    assert units.rows == {"units": 60}


def test_an_earlier_export_is_replaced_and_anything_else_is_left_alone(year, tmp_path):
    for name in ("r.csv", "all.sqlite"):
        path = tmp_path / name
        export_readings(year, ExportRequest(path))
        export_readings(year, ExportRequest(path))
        path.write_bytes(b"precious")
        with pytest.raises(CannotDo, match="is there already and is not an export"):
            export_readings(year, ExportRequest(path))
        assert path.read_bytes() == b"precious"


def test_the_records_themselves_are_not_overwritten(built_year, year, tmp_path):
    records = tmp_path / "records.sqlite"
    records.write_bytes((built_year[0] / "records.db").read_bytes())
    with pytest.raises(CannotDo, match="is not an export"):
        export_readings(year, ExportRequest(records))


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        ({"to": "r.xls"}, "neither a CSV nor a SQLite file"),
        ({"to": "r.csv", "table": "gauges"}, "there is no table 'gauges'"),
        ({"to": "r.csv", "product": "skein"}, "no unit of 'skein' was ever issued"),
    ],
)
def test_what_cannot_be_had_is_refused(year, tmp_path, wanted, said):
    path = tmp_path / wanted.pop("to")
    with pytest.raises(CannotDo, match=said):
        export_readings(year, ExportRequest(path, **wanted))
    assert list(tmp_path.iterdir()) == []


def test_a_product_misspelled_is_answered_with_the_nearest(year, tmp_path):
    with pytest.raises(CannotDo, match="was ever issued") as refused:
        export_readings(year, ExportRequest(tmp_path / "r.csv", product="skien-reel"))
    assert refused.value.hint == "did you mean 'skein-reel'?"


def test_an_interrupted_export_leaves_nothing(year, tmp_path):
    def stop(items, total):
        for at, item in enumerate(items):
            if at == 5:
                raise KeyboardInterrupt
            yield item

    for name in ("r.csv", "all.sqlite"):
        with pytest.raises(KeyboardInterrupt):
            export_readings(year, ExportRequest(tmp_path / name), stop)
    assert list(tmp_path.iterdir()) == []


def test_both_stores_give_the_same_export(shop_folder, store_url, year_of_work, year, built_year, tmp_path):
    from traveler.jobs.open import open_session

    opened = open_session(shop_folder, year.now, database=store_url)
    assert opened.session is not None
    with opened.session.store:
        year_of_work.build(opened.session.store, shop_folder)
        here = export_readings(opened.session, ExportRequest(tmp_path / "here.csv"))
    there = export_readings(year, ExportRequest(tmp_path / "there.csv"))
    assert here.file.read_bytes() == there.file.read_bytes()
