"""Sheets as files: where they lie, which there are when, copies counted and recorded, whole or not at all."""

from __future__ import annotations

import errno
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from traveler import files as whole_file
from traveler.definition.plan import Plan
from traveler.finding import CannotDo
from traveler.jobs.print import first_copies_missing, print_new, reprint
from traveler.jobs.shipping import release
from traveler.record.entry import Reprinted
from traveler.record.plans import plan_of
from traveler.sheets.batch.catalog import print_sheet, step_sheets
from traveler.sheets.batch.print_job import TRAVELER
from traveler.sheets.batch.requests import sheet_file
from traveler.trace.judging import judge


@pytest.fixture
def store_url(tmp_path: Path) -> str:
    """Sheets do not depend on the kind of store."""
    return f"sqlite:///{tmp_path / 'records.db'}"


def text_of(path: Path) -> str:
    import pypdf

    return "\n".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(path.read_bytes())).pages)


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_the_first_traveler_lies_in_the_units_folder_and_names_it(bench: Any) -> None:
    serial = bench.unit(order="4471")
    (printed,) = print_new(bench.session, [serial])
    assert printed.files == (bench.session.shop.folder / "travelers" / serial / "traveler.pdf",)
    assert names(printed.files[0].parent) == ["traveler.pdf"]
    text = text_of(printed.files[0])
    assert serial in text
    assert "4471" in text
    with pikepdf.open(printed.files[0]) as pdf:
        fields = {str(field.T) for field in pdf.Root.AcroForm.Fields}
        inside = pdf.attachments["plan.json"].get_file().read_bytes()
    with bench.session.store.reading() as records:
        assert Plan.model_validate_json(inside) == plan_of(records, records.unit(serial))
    assert {slot.id for slot in bench.plans[serial].slots()} <= fields


def test_a_reprint_says_so_on_the_sheet_and_in_the_record(bench: Any) -> None:
    serial = bench.unit()
    copies = [next(reprint(bench.session, [serial], None, "tkiln")).files[0] for _ in range(2)]
    assert [copy.name for copy in copies] == ["traveler-copy-2.pdf", "traveler-copy-3.pdf"]
    assert "copy 3" in text_of(copies[1]).lower()
    with bench.session.store.reading() as records:
        bodies = [entry.body for entry in records.entries(serial)[1:]]
    assert bodies == [Reprinted(sheet="traveler", copy_number=2), Reprinted(sheet="traveler", copy_number=3)]


def test_all_units_of_an_order_are_printed_again_together(bench: Any) -> None:
    serials = bench.issue(count=2, order="4471").serials
    bench.issue(order="4472")
    assert [printout.serial for printout in reprint(bench.session, (), "4471", "tkiln")] == sorted(serials)
    with pytest.raises(CannotDo, match="no unit was issued for order"):
        reprint(bench.session, (), "9999", "tkiln")


def test_who_may_not_print_prints_nothing(bench: Any) -> None:
    serial = bench.unit()
    (refused,) = reprint(bench.session, [serial], None, "oldhand")
    assert (refused.files, [finding.code for finding in refused.findings]) == ((), ["PER003"])
    assert not sheet_file(bench.session, serial, TRAVELER, 2).exists()


def test_a_certificate_comes_with_the_release_and_not_before(bench: Any) -> None:
    serial = bench.built()
    (early,) = reprint(bench.session, [serial], None, "qmoor", "certificate")
    assert (early.files, [finding.code for finding in early.findings]) == ((), ["PRT002"])
    taken = release(bench.session, serial, "qmoor")
    printed = step_sheets(bench.session, taken.judged, "released")
    assert [file.name for file in printed.files] == [
        "certificate.pdf", "arrival-check.pdf", "packing-list.pdf", "unit-label.pdf", "crate-label.pdf",
    ]  # fmt: skip
    text = text_of(printed.files[0])
    assert taken.judged.unit.head != (sealed := taken.judged.entries[-1].body.head)
    assert sealed[:8] in text.replace(" ", "")
    assert "IND-03" in text
    (again,) = reprint(bench.session, [serial], None, "qmoor", "certificate")
    assert [file.name for file in again.files] == ["certificate-copy-2.pdf"]


def test_the_same_unit_at_the_same_time_gives_the_same_bytes(bench: Any) -> None:
    serial = bench.unit()
    (first,) = print_new(bench.session, [serial])
    before = first.files[0].read_bytes()
    first.files[0].unlink()
    assert first_copies_missing(bench.session) == (serial,)
    (second,) = print_new(bench.session, first_copies_missing(bench.session))
    assert second.files[0].read_bytes() == before
    assert first_copies_missing(bench.session) == ()


def test_a_full_disk_is_told_leaves_no_half_file_and_the_rest_for_later(
    bench: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    serials = bench.issue(count=2).serials

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as disk:
        disk.setattr(whole_file.os, "fsync", full)
        (printed,) = print_new(bench.session, serials)
    assert (printed.files, [finding.code for finding in printed.findings]) == ((), ["PRT001"])
    assert "No space left" in printed.findings[0].what
    assert names(bench.session.shop.output / serials[0]) == []
    assert first_copies_missing(bench.session) == tuple(sorted(serials))


def test_a_shops_own_template_wins(bench: Any) -> None:
    serial = bench.built()
    with bench.session.store.reading() as records:
        judged = judge(bench.session, records, serial)
    shipped = Path(__file__).parents[2] / "templates" / "sheets" / "unit_label.html"
    own = bench.session.shop.folder / "templates" / "sheets" / "unit_label.html"
    own.parent.mkdir(parents=True)
    own.write_text(shipped.read_text("utf-8").replace("{{ revision }}", "OWN {{ revision }}"), "utf-8")
    printed = print_sheet(bench.session, judged, "unit-label")
    assert printed.files, printed.findings
    assert "OWN rev. A" in text_of(printed.files[0])


def test_the_record_is_printed_as_it_stands_and_counts_no_copies(bench: Any) -> None:
    serial = bench.built()
    with bench.session.store.reading() as records:
        before = records.entries(serial)
    (first,) = reprint(bench.session, [serial], None, "", "record")
    (second,) = reprint(bench.session, [serial], None, "", "record")
    assert first.files == second.files == (sheet_file(bench.session, serial, "record"),)
    with bench.session.store.reading() as records:
        assert records.entries(serial) == before
    text = text_of(first.files[0])
    assert f"Entries: {len(before)}." in text
    assert before[-1].hash in "".join(text.split())
    with pikepdf.open(first.files[0]) as pdf:
        assert "/AcroForm" not in pdf.Root
        assert set(pdf.attachments) == {"plan.json", "entries.json"}
