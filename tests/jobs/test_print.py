"""Batches: stamped files are what a render gives, by one process or by many, each file whole."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from traveler import pool as workers
from traveler.files import write_together
from traveler.finding import CannotDo, blocking
from traveler.jobs.print import collate_again, collate_new, first_copies_missing, print_new, reprint
from traveler.record.entry import Reprinted
from traveler.sheets.batch import templates as kinds
from traveler.sheets.batch.compare import pdf_difference
from traveler.sheets.batch.print_job import PrintContext, PrintJob, SheetOrder
from traveler.sheets.batch.requests import PrintJobs, sheet_file


@pytest.fixture
def store_url(tmp_path: Path) -> str:
    """Batches do not depend on the kind of store."""
    return f"sqlite:///{tmp_path / 'records.db'}"


def rendered(bench: Any, serial: str) -> bytes:
    job = PrintJobs(bench.session).new(serial)
    return bytes(job.sheet.render(PrintContext(bench.session.shop, bench.session.now), job.unit).pdf)


def parts(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.name.endswith(".part")]


@pytest.fixture
def renders(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The serials that sheets are rendered for in this process."""
    seen: list[str] = []
    whole = SheetOrder.render

    def counted(self: SheetOrder, context: PrintContext, unit: Any) -> Any:
        seen.append(unit.serial)
        return whole(self, context, unit)

    monkeypatch.setattr(SheetOrder, "render", counted)
    return seen


def test_a_batch_is_rendered_twice_however_many_they_are(bench: Any, renders: list[str]) -> None:
    serials = bench.issue(count=7, order="4471").serials
    renders.clear()
    printed = list(print_new(bench.session, serials))
    assert sorted(printout.serial for printout in printed) == sorted(serials)
    assert len(renders) == 2, "one render with placeholders, one to check the first stamped sheet"
    assert [path.name for printout in printed for path in printout.files] == ["traveler.pdf"] * 7
    for serial in (serials[0], serials[-1]):
        assert (
            pdf_difference(
                sheet_file(bench.session, serial, "traveler").read_bytes(), rendered(bench, serial)
            )
            is None
        )
    assert parts(bench.session.shop.output) == []


def test_orders_and_due_days_need_no_render_of_their_own(bench: Any, renders: list[str]) -> None:
    from datetime import date

    import pypdf

    serials = [bench.unit(order=f"{4471 + day}", due=date(2026, 12, day), options=()) for day in range(1, 6)]
    renders.clear()
    list(print_new(bench.session, serials))
    assert len(renders) == 2
    for number, serial in enumerate(serials, start=1):
        text = pypdf.PdfReader(sheet_file(bench.session, serial, "traveler")).pages[0].extract_text()
        assert f"Order {4471 + number}" in text
        assert f"2026-12-0{number}" in text


def test_few_units_of_a_kind_are_rendered(bench: Any, renders: list[str]) -> None:
    serials = bench.issue(count=kinds.FEW - 2).serials
    renders.clear()
    list(print_new(bench.session, serials))
    assert renders == list(serials)


def test_a_template_that_cannot_be_stamped_is_rendered_and_told_once(bench: Any) -> None:
    own = bench.session.shop.folder / "templates" / "sheets"
    own.mkdir(parents=True)
    from traveler.sheets.templates import shipped_folder, templates

    style = (shipped_folder() / "sheets" / "page.css").read_text(encoding="utf-8")
    assert 'bold 24pt "Traveler Mono"' in style
    (own / "page.css").write_text(style.replace('bold 24pt "Traveler Mono"', 'bold 24pt "Traveler Sans"'))
    templates.cache_clear()
    serials = bench.issue(count=kinds.FEW).serials
    printed = list(print_new(bench.session, serials))
    told = [finding for printout in printed for finding in printout.findings if finding.code == "SHT012"]
    assert len(told) == 1
    assert not blocking(told)
    assert "Traveler-Sans-Bold" in told[0].what
    last = sheet_file(bench.session, serials[-1], "traveler").read_bytes()
    assert last == rendered(bench, serials[-1])


def test_reprints_of_many_are_numbered_and_noted_each(bench: Any, renders: list[str]) -> None:
    import pypdf

    serials = bench.issue(count=5, order="4471").serials
    renders.clear()
    printed = list(reprint(bench.session, (), "4471", "tkiln"))
    assert len(renders) == 2
    assert {path.name for printout in printed for path in printout.files} == {"traveler-copy-2.pdf"}
    with bench.session.store.reading() as records:
        noted = [records.entries(serial)[-1].body for serial in serials]
    assert noted == [Reprinted(sheet="traveler", copy_number=2)] * 5
    text = pypdf.PdfReader(printed[0].files[0]).pages[1].extract_text()
    assert "COPY 2, reprint" in text


def test_whoever_may_not_reprint_gets_findings_and_no_sheet(bench: Any) -> None:
    bench.issue(count=5, order="4471")
    printed = list(reprint(bench.session, (), "4471", "oldhand"))
    assert len(printed) == 5
    assert all(blocking(printout.findings) and not printout.files for printout in printed)


def test_one_file_that_cannot_be_written_does_not_stop_the_others(tmp_path: Path) -> None:
    (tmp_path / "b").write_text("in the way of a folder")
    files = [(tmp_path / name / "t.pdf", name.encode()) for name in ("a", "b", "c")]
    problems = write_together(files)
    assert list(problems) == [tmp_path / "b" / "t.pdf"]
    assert [path.read_bytes() for path, _ in (files[0], files[2])] == [b"a", b"c"]
    assert parts(tmp_path) == []


def test_many_are_printed_by_processes_of_their_own(bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workers, "MANY", 5)
    serials = bench.issue(count=20).serials
    printed = list(print_new(bench.session, serials))
    assert sorted(printout.serial for printout in printed if printout.files) == sorted(serials)
    assert pdf_difference(printed[-1].files[0].read_bytes(), rendered(bench, printed[-1].serial)) is None
    assert first_copies_missing(bench.session) == ()


def test_a_process_that_is_ended_is_reported_and_the_rest_goes_on_later(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(workers, "MANY", 2)
    with workers.worker_pool(5) as pool:
        if pool.pool is None:
            pytest.fail("two cores are needed")
        begun = (pool.start(_die) for _ in range(3))
        with pytest.raises(CannotDo, match="ended a process") as problem:
            list(workers.finished(pool, begun))
    assert "--missing" in problem.value.hint


def _die() -> None:
    import os

    os._exit(9)


def test_a_collated_file_has_all_units_in_printing_order_and_a_list(bench: Any) -> None:
    import pypdf

    serials = bench.issue(count=5).serials
    batch = collate_new(bench.session, serials, duplex=True)
    printed = list(batch.printed)
    assert [printout.serial for printout in printed] == list(serials)
    with batch.into.file.with_suffix(".csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [row["serial"] for row in rows] == list(serials)
    with pikepdf.open(batch.into.file) as pdf:
        assert len(pdf.pages) == batch.into.pages == sum(int(row["pages"]) for row in rows)
    reader = pypdf.PdfReader(batch.into.file)
    for row in rows:
        first = int(row["first page"])
        assert first % 2 == 1
        assert row["serial"] in reader.pages[first - 1].extract_text()
    assert first_copies_missing(bench.session) == ()


def test_a_collated_file_that_is_lost_is_missing_again(bench: Any) -> None:
    serials = bench.issue(count=2).serials
    batch = collate_new(bench.session, serials, duplex=False)
    list(batch.printed)
    assert first_copies_missing(bench.session) == ()
    batch.into.file.unlink()
    assert first_copies_missing(bench.session) == tuple(sorted(serials))


def test_a_collated_reprint_leaves_out_who_has_no_such_sheet_and_never_overwrites(bench: Any) -> None:
    bench.issue(count=2, order="4471")
    first = collate_again(bench.session, (), "4471", "tkiln", "crating-sheet", duplex=False)
    units = list(first.printed)
    again = collate_again(bench.session, (), "4471", "tkiln", "crating-sheet", duplex=False)
    assert [bool(unit.files) for unit in units] == [first.into.file.exists()] * 2
    list(again.printed)
    assert again.into.file != first.into.file or not first.into.file.exists()
    refused = collate_again(bench.session, (), "4471", "oldhand", "traveler", duplex=False)
    assert all(blocking(printout.findings) for printout in refused.printed)
    assert not refused.into.file.exists()
    with pytest.raises(CannotDo, match="--collate does not work"):
        collate_again(bench.session, (), "4471", "qmoor", "certificate", duplex=False)


def test_a_full_disk_leaves_no_half_collated_file(bench: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    import errno

    from traveler.sheets.batch.collate import CollatedFile

    serials = bench.issue(count=2).serials
    batch = collate_new(bench.session, serials, duplex=False)

    def full(_: CollatedFile) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(CollatedFile, "close", full)
    printed = list(batch.printed)
    assert [finding.code for finding in printed[-1].findings] == ["PRT001"]
    assert not batch.into.file.exists()
    assert batch.into.pages == 0
    assert parts(bench.session.shop.output) == []


def test_jobs_of_one_kind_share_their_pictures(bench: Any) -> None:
    jobs = PrintJobs(bench.session)
    first, other = (jobs.new(serial) for serial in bench.issue(count=2).serials)
    assert isinstance(first, PrintJob)
    assert first.sheet.pictures is other.sheet.pictures
    assert first.kind == other.kind


def test_a_list_that_was_spoilt_makes_no_trouble(bench: Any) -> None:
    serials = bench.issue(count=2).serials
    batch = collate_new(bench.session, serials, duplex=False)
    list(batch.printed)
    batch.into.file.with_suffix(".csv").write_bytes(b"\xff\x00\r\n" + serials[0].encode() + b",1,4\r\n\xfe")
    assert first_copies_missing(bench.session) == (serials[1],)
