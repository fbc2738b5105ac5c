"""Statistics over the store: what is asked, what is refused, the same on both stores."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from traveler.finding import CannotDo
from traveler.jobs.open import open_session
from traveler.record.errors import StoreDamaged
from traveler.trace.stats.product_report import StatisticsRequest, statistics
from traveler.trace.stats.report_pages import write_report

PRODUCT = "skein-reel"


def test_both_stores_say_the_same(shop_folder: Path, store_url: str, year_of_work: Any, year: Any) -> None:
    opened = open_session(shop_folder, year.now, database=store_url)
    assert opened.session is not None
    with opened.session.store:
        year_of_work.build(opened.session.store, shop_folder)
        whole = statistics(opened.session, StatisticsRequest(PRODUCT)).as_dict()
        check = statistics(opened.session, StatisticsRequest(PRODUCT, "taper", position={})).as_dict()
    assert whole == statistics(year, StatisticsRequest(PRODUCT)).as_dict()
    assert check == statistics(year, StatisticsRequest(PRODUCT, "taper")).as_dict()


def test_one_check_alone_says_what_it_says_among_all(year: Any) -> None:
    """Only the slots of the check are read then, and of a worked-out one those it is worked out from."""
    whole = {
        check_series.series.label: check_series.as_dict()
        for check_series in statistics(year, StatisticsRequest(PRODUCT)).series
    }
    for check in ("runout", "taper", "brake", "belt-pull", "gross-mass"):
        for check_series in statistics(year, StatisticsRequest(PRODUCT, check)).series:
            assert check_series.as_dict() == whole[check_series.series.label]


def test_variant_revision_and_position_narrow(year: Any) -> None:
    four = statistics(year, StatisticsRequest(PRODUCT, "belt-pull", variant="4"))
    assert [(check_series.series.limits_text, check_series.series.mark) for check_series in four.series] == [
        ("16.0 to 20.0 N", "")
    ]
    late = statistics(year, StatisticsRequest(PRODUCT, "runout", revision="B", position={"end": "near"}))
    assert [(check_series.series.limits_text, check_series.series.again) for check_series in late.series] == [
        ("max 0.05 mm", False),
        ("max 0.05 mm", True),
    ]
    assert late.units == 30


def test_a_window_reads_only_units_worked_on_since(year: Any, built_year: Any) -> None:
    since = year.now - timedelta(days=40)
    late = statistics(year, StatisticsRequest(PRODUCT, since=since))
    assert late.units < 20
    assert all(point.at >= since for check_series in late.series for point in check_series.series.points)
    early = statistics(year, StatisticsRequest(PRODUCT, until=since - timedelta(microseconds=1)))

    def key(check_series: Any) -> tuple[str, str, str]:
        return check_series.series.name, check_series.series.place, check_series.series.limits_text

    counted = {
        key(check_series): check_series.n
        for check_series in statistics(year, StatisticsRequest(PRODUCT)).series
    }
    for check_series in (*late.series, *early.series):
        counted[key(check_series)] -= check_series.n
    assert set(counted.values()) == {0}


REFUSED = {
    "a product nobody made": (StatisticsRequest("skein-rel"), "no unit of 'skein-rel' was ever issued",
    "skein-reel"),
    "a check nobody knows": (StatisticsRequest(PRODUCT, "runot"), "has no check 'runot'",
    "did you mean 'runout'?"),
    "a position it is not read at": (
        StatisticsRequest(PRODUCT, "runout", position={"end": "middle"}), "no position end=middle",
        "end=far, end=near",
    ),
    "a position of a check without any": (
        StatisticsRequest(PRODUCT, "brake", position={"end": "far"}), "no position end=far",
        "positions are none",
    ),
    "a variant never issued": (StatisticsRequest(PRODUCT, variant="8"), "with variant '8'", ""),
    "a revision never issued": (StatisticsRequest(PRODUCT, revision="C"), "with revision 'C'", ""),
}  # fmt: skip


@pytest.mark.parametrize(("asked", "what", "hint"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_answered_is_refused(
    year: Any, asked: StatisticsRequest, what: str, hint: str
) -> None:
    with pytest.raises(CannotDo) as refused:
        statistics(year, asked)
    assert what in refused.value.what
    assert hint in refused.value.hint


def test_progress_is_told_unit_by_unit(year: Any) -> None:
    seen = []

    def watched(items: Any, total: int) -> Any:
        for item in items:
            seen.append(total)
            yield item

    statistics(year, StatisticsRequest(PRODUCT, "brake"), watched)
    assert seen == [60] * 60


def test_a_unit_without_an_issue_is_damage(shop_folder: Path, year_of_work: Any, tmp_path: Path) -> None:
    opened = open_session(shop_folder, year_of_work.BEGUN, database=f"sqlite:///{tmp_path / 'r.db'}")
    assert opened.session is not None
    with opened.session.store as store:
        built = year_of_work.build(store, shop_folder)
        with store.transaction() as work:
            work.ask(text("DROP TRIGGER IF EXISTS entry_no_delete"))
            for (name,) in work.ask(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")).all():
                work.ask(text(f"DROP TRIGGER {name}"))
            work.ask(text("PRAGMA defer_foreign_keys = ON"))
            gone = {"unit": built.serials[3]}
            work.ask(text("DELETE FROM ref WHERE unit = :unit AND seq = 1").bindparams(**gone))
            work.ask(text("DELETE FROM entry WHERE unit = :unit AND seq = 1").bindparams(**gone))
        with pytest.raises(StoreDamaged, match="do not begin with its issue"):
            statistics(opened.session, StatisticsRequest(PRODUCT))


def test_files_are_written_whole_and_named(year: Any, tmp_path: Path) -> None:
    report = statistics(year, StatisticsRequest(PRODUCT, "brake"))
    done = write_report(
        year, report, pdf=tmp_path / "b.pdf", html=tmp_path / "b.html", png=tmp_path / "pictures"
    )
    assert done.findings == ()
    names = {file.relative_to(tmp_path).as_posix() for file in done.files}
    assert names == {
        "b.pdf", "b.html", "pictures/tolerances-1.png", "pictures/troubles.png", "pictures/brake-chart.png",
        "pictures/brake-histogram.png", "pictures/brake-adjusting.png",
    }  # fmt: skip
    starts = {".pdf": b"%PDF", ".html": b"<!doctype html>", ".png": b"\x89PNG"}
    assert all(file.read_bytes().startswith(starts[file.suffix]) for file in done.files)


def test_without_a_window_the_units_issued_last_are_looked_at(year: Any, built_year: Any) -> None:
    last = statistics(year, StatisticsRequest(PRODUCT, "pin-height", last=20))
    (series,) = last.series
    assert {point.unit for point in series.series.points} == set(built_year[1].serials[-20:])
    assert last.notes[0] == "Of 60 units the 20 issued last were looked at"
    assert statistics(year, StatisticsRequest(PRODUCT, "pin-height", last=0)).units == 60
    window = statistics(
        year, StatisticsRequest(PRODUCT, "pin-height", last=20, since=year.now - timedelta(days=300))
    )
    assert (window.units, window.notes) == (60, ())
