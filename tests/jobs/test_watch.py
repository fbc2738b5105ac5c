"""What a director is listed of a week, through the jobs that make it happen."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pikepdf
import pytest

from traveler.jobs.complain import Complaint, complain
from traveler.jobs.shipping import crate, place, release, ship
from traveler.jobs.stop import Disposition, decide, stop
from traveler.record.entry import Shipped
from traveler.trace.reports import write_watch
from traveler.trace.watch import LEVELS, SUBJECTS, watch

LEFT = "10-4/side=left"


def told(bench: Any, subject: str, days: int = 7) -> list[tuple[str, str]]:
    """Level and text of the notices on one subject."""
    found = watch(bench.session, bench.session.now - timedelta(days=days))
    return [(str(notice.level), notice.what) for notice in found.notices if notice.subject == subject]


def settings(bench: Any, **changed: Any) -> None:
    shop = bench.session.shop
    bench.session = replace(
        bench.session, shop=replace(shop, settings=shop.settings.model_copy(update=changed))
    )


def test_a_quiet_shop_has_only_its_overdue_gauge(bench: Any) -> None:
    bench.unit()
    found = watch(bench.session, bench.session.now - timedelta(days=7))
    assert [notice.subject for notice in found.notices] == ["gauge"]
    assert "IND-07" in found.notices[0].what
    assert found.notices[0].look == "traveler gauge due"
    assert found.pressing


def test_a_gauge_due_soon_is_looked_into_not_acted_on(bench: Any) -> None:
    assert len(told(bench, "gauge")) == 1
    bench.later(60 * 24 * 75)  # 2027-01-16: calibrations of 2026-02-02 hold a year
    levels = sorted(level for level, _ in told(bench, "gauge"))
    assert levels == ["act", "look", "look"]


def test_a_stop_becomes_pressing_when_nobody_decides(bench: Any) -> None:
    serial = bench.unit()
    assert stop(bench.session, serial, "Cracked weld.", "tkiln").entry is not None
    ((level, text),) = told(bench, "stop")
    assert (level, text) == ("look", f"{serial} has been stopped as a whole for 0 days: Cracked weld.")
    bench.later(60 * 24 * 4)
    ((level, text),) = told(bench, "stop")
    assert (level, "for 4 days" in text) == ("act", True)
    settings(bench, ageing_days={"stopped": 9})
    assert told(bench, "stop")[0][0] == "look"


def test_a_decided_stop_is_no_notice_but_a_concession_is(bench: Any) -> None:
    serial = bench.unit()
    stopped = stop(bench.session, serial, "Scratch on the tread.", "tkiln", slot=LEFT)
    assert stopped.entry is not None
    done = decide(
        bench.session, serial, stopped.entry.seq, Disposition("use_as_is", "C-12", "Underneath."), "qmoor"
    )
    assert done.entry is not None, done.findings
    assert told(bench, "stop") == []
    text = f"{serial} at {LEFT} is decided on: used as it is, concession C-12: Underneath."
    assert told(bench, "concession") == [("know", text)]
    bench.later(60 * 24 * 10)
    assert told(bench, "concession") == []


def test_an_open_complaint_is_pressing(bench: Any) -> None:
    serial = bench.built()
    assert release(bench.session, serial, "qmoor").taken
    bench.record(serial, bench.fillings(serial, ["C"]))
    crate(bench.session, serial, "pstrap")
    place(bench.session, serial, "Bay 1", "pstrap")
    ship(bench.session, serial, Shipped(customer="Aldermoor Weavers"), "sdock")
    bench.later()
    assert told(bench, "complaint") == []
    done = complain(bench.session, serial, Complaint("Wobbles."), "sdock")
    assert done.case is not None, done.findings
    ((level, text),) = told(bench, "complaint")
    assert level == "act"
    assert "not contained yet: Wobbles." in text


@pytest.mark.parametrize(("state", "days"), [("issued", 31), ("building", 15), ("in stock", 181)])
def test_a_unit_that_waits_too_long_is_told(bench: Any, state: str, days: int) -> None:
    serial = bench.unit() if state != "in stock" else bench.built()
    if state == "building":
        bench.record(serial, bench.fillings(serial, ["10"])[:1])
    if state == "in stock":
        assert release(bench.session, serial, "qmoor").taken
        bench.record(serial, bench.fillings(serial, ["C"]))
        crate(bench.session, serial, "pstrap")
        place(bench.session, serial, "Bay 1", "pstrap")
    bench.later(60 * 24 * (days - 2))
    assert told(bench, "waiting") == []
    bench.later(60 * 24 * 3)
    ((_, text),) = told(bench, "waiting")
    assert text.startswith(f"{serial} step-stool has been in '{state}' for {days + 1} days")
    settings(bench, ageing_days={state: days + 60})
    assert told(bench, "waiting") == []


def test_the_planted_drift_of_the_year_is_told_and_its_trouble(year: Any) -> None:
    found = watch(year, year.now - timedelta(days=60))
    by_subject = {notice.subject: notice for notice in found.notices}
    assert "skein-reel pin-height" in by_subject["drift"].what
    assert by_subject["drift"].look == "traveler readings statistics skein-reel pin-height"
    assert [notice.what for notice in found.notices if notice.subject == "drift"] == [
        by_subject["drift"].what
    ]
    assert "brake: out at the first reading" in by_subject["repeated"].what
    order = [(LEVELS.index(notice.level), SUBJECTS.index(notice.subject)) for notice in found.notices]
    assert order == sorted(order)


def test_both_stores_tell_the_same(shop_folder: Any, store_url: str, year_of_work: Any, year: Any) -> None:
    from traveler.jobs.open import open_session

    opened = open_session(shop_folder, year.now, database=store_url)
    assert opened.session is not None
    with opened.session.store:
        year_of_work.build(opened.session.store, shop_folder)
        here = watch(opened.session, year.now - timedelta(days=90))
    assert here.as_dict() == watch(year, year.now - timedelta(days=90)).as_dict()


def test_the_sheet_says_every_notice(year: Any, tmp_path: Any) -> None:
    import pypdf

    found = watch(year, year.now - timedelta(days=60))
    file = tmp_path / "week.pdf"
    assert write_watch(year, found, file) == ()
    text = "".join("".join(page.extract_text().split()) for page in pypdf.PdfReader(file).pages)
    for notice in found.notices:
        assert "".join(notice.what.split()) in text
        assert "".join(notice.look.split()) in text
    with pikepdf.open(file) as pdf:
        assert pdf.Root.MarkInfo.Marked
