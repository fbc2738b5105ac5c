"""A bag out of one shop and into another: whole, and checkable by hand."""

from __future__ import annotations

import errno
import hashlib
import io
import json
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from traveler.finding import CannotDo
from traveler.jobs.import_bag import import_bag
from traveler.jobs.shipping import release
from traveler.record.attachments import EVERY, examined
from traveler.record.entry import Noted, Photographed
from traveler.record.errors import StoreDamaged
from traveler.record.store import Store
from traveler.sheets.batch.catalog import SHEETS
from traveler.sheets.sheet import Sheet
from traveler.shop.people import People
from traveler.trace.export_bag import export
from traveler.trace.verify import verify_records

PHOTO = b"\x89PNG\r\n\x1a\n" + b"photograph of the crate" * 40


@pytest.fixture
def unit(bench: Any) -> str:
    """A released unit with a photograph."""
    serial = str(bench.built())
    photo = examined(PHOTO, "crate.png", EVERY)
    with bench.session.store.transaction() as work:
        work.keep_file(photo, PHOTO, bench.session.now)
        body = Photographed(file=photo.digest, name="crate.png")
        work.append(bench.session.draft(serial, "tkiln", body), bench.session.now)
    step = release(bench.session, serial, "qmoor")
    assert step.taken, step.findings
    return serial


@pytest.fixture
def quick_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sheets that take no time to print; what is on them is proved elsewhere."""

    def quick(_office: Any, judged: Any, _copy: int) -> Sheet:
        return Sheet(f"%PDF-1.7 of {judged.unit.serial}".encode())

    quicker = {name: replace(kind, render=quick) for name, kind in SHEETS.items()}
    monkeypatch.setattr("traveler.trace.export_bag.SHEETS", quicker)


@pytest.fixture(autouse=True)
def beside(bench: Any, tmp_path: Path) -> None:
    """Both databases keep their attachments in the same place."""
    bench.session.store._attachments = tmp_path / "kept"


@pytest.fixture
def bag(bench: Any, unit: str, tmp_path: Path, quick_sheets: None) -> Path:
    done = export(bench.session, unit, tmp_path / "bag")
    assert done.findings == ()
    return done.path


@pytest.fixture
def elsewhere(bench: Any, tmp_path: Path) -> Iterator[Any]:
    """Another shop of the same people, with empty records."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    with Store.open(f"sqlite:///{folder / 'records.db'}") as store:
        yield replace(bench.session, store=store, shop=replace(bench.session.shop, folder=folder))


def codes(session: Any, bag: Path) -> set[str]:
    return {finding.code for finding in import_bag(session, bag, "qmoor").findings}


def rows(session: Any, serial: str) -> Any:
    with session.store.reading() as records:
        return records.rows(serial)


def test_a_bag_is_one_that_the_library_calls_valid_and_holds_everything(
    bench: Any, bag: Path, unit: str
) -> None:
    import bagit

    assert bagit.Bag(str(bag)).is_valid()
    names = {str(path.relative_to(bag / "data")) for path in (bag / "data").rglob("*") if path.is_file()}
    assert {
        "README.txt", "entries.jsonl", "unit.json", "definition.json", "people.json", "gauges.json",
        "seals.jsonl", "verdict.json", "attachments.json", "sheets/traveler.pdf", "sheets/certificate.pdf",
    } <= names  # fmt: skip
    assert (bag / "data" / "attachments" / f"{hashlib.sha256(PHOTO).hexdigest()}.png").read_bytes() == PHOTO
    people = json.loads((bag / "data" / "people.json").read_bytes())
    assert {"tkiln", "qmoor", "rhale"} <= {person["id"] for person in people}
    assert all(set(person) <= {"id", "name", "roles", "left"} for person in people), "nothing about PINs"
    gauges = json.loads((bag / "data" / "gauges.json").read_bytes())
    assert [gauge["id"] for gauge in gauges] == ["IND-03"]
    assert gauges[0]["calibrations"]
    assert unit in (bag / "data" / "seals.jsonl").read_text()
    assert not list(bag.parent.glob(".bag*")), "nothing is left beside it"


def test_the_note_in_the_bag_checks_it_with_programs_that_are_not_ours(bag: Path, unit: str) -> None:
    text = (bag / "data" / "README.txt").read_text()
    block: list[str] = []
    recipes: list[str] = []
    for line in [*text.splitlines(), ""]:
        if line.startswith("    "):
            block.append(line[4:])
        elif block:
            recipes.append("\n".join(block))
            block = []
    check, shell, python = recipes
    assert subprocess.run(check, shell=True, cwd=bag, capture_output=True, text=True).returncode == 0  # noqa: S602
    said = [
        subprocess.run(words, cwd=bag, capture_output=True, text=True)
        for words in (["sh", "-c", shell], [sys.executable, "-I", "-c", python])
    ]
    known = json.loads((bag / "data" / "unit.json").read_bytes())
    assert {value.stdout.strip() for value in said} == {f"{known['count']} {known['head']}"}, said
    assert max(len(recipe.splitlines()) for recipe in recipes) <= 20
    file = bag / "data" / "entries.jsonl"
    file.write_bytes(file.read_bytes().replace(b"0.038", b"0.048", 1))
    assert subprocess.run(check, shell=True, cwd=bag, capture_output=True).returncode != 0  # noqa: S602
    for words in (["sh", "-c", shell], [sys.executable, "-I", "-c", python]):
        assert subprocess.run(words, cwd=bag, capture_output=True).returncode != 0


def test_a_bag_read_in_another_shop_is_the_same_record(
    bench: Any, elsewhere: Any, bag: Path, unit: str
) -> None:
    done = import_bag(elsewhere, bag, "qmoor")
    assert (done.findings, done.serial, done.attachments) == ((), unit, 1)
    assert rows(elsewhere, unit) == rows(bench.session, unit)
    assert elsewhere.store.attachments.get(hashlib.sha256(PHOTO).hexdigest()) == PHOTO
    assert verify_records(elsewhere, seals=[]).findings == ()
    with elsewhere.store.reading() as there, bench.session.store.reading() as here:
        assert there.unit(unit) == here.unit(unit)
        assert there.units_using("gauge", "IND-03")
    twice = import_bag(elsewhere, bag, "qmoor")
    assert twice == replace(done, entries=0, attachments=0), "a second time adds nothing"
    again = export(elsewhere, unit, bag.parent / "again")
    for name in ("entries.jsonl", "definition.json", "unit.json", "attachments.json"):
        assert (again.path / "data" / name).read_bytes() == (bag / "data" / name).read_bytes()


def test_a_unit_sealed_in_one_shop_is_sealed_anew_in_the_other(
    bench: Any, elsewhere: Any, unit: str, tmp_path: Path, quick_sheets: None
) -> None:
    serial = bench.built()
    assert release(bench.session, serial, "qmoor").taken, (
        "its release names a line of the first shop's seal file"
    )
    done = import_bag(elsewhere, export(bench.session, serial, tmp_path / "second.zip").path, "qmoor")
    assert done.findings == ()
    assert (elsewhere.shop.folder / "seals.jsonl").is_file()
    (other,) = verify_records(replace(elsewhere, now=bench.session.now)).findings
    assert (other.code, str(other.weight)) == ("SEA009", "warning")


def test_a_bag_of_its_own_shop_adds_nothing(bench: Any, bag: Path, unit: str) -> None:
    done = import_bag(bench.session, bag, "qmoor")
    assert (done.entries, done.findings) == (0, ())


def test_a_later_bag_adds_the_tail_and_an_older_one_is_noted(
    bench: Any, elsewhere: Any, bag: Path, unit: str, tmp_path: Path
) -> None:
    import_bag(elsewhere, bag, "qmoor")
    with bench.session.store.transaction() as work:
        for text in ("one", "two"):
            work.append(bench.session.draft(unit, "rhale", Noted(text=text)), bench.session.now)
    later = export(bench.session, unit, tmp_path / "later.zip").path
    assert import_bag(elsewhere, later, "qmoor").entries == 2
    assert rows(elsewhere, unit) == rows(bench.session, unit)
    old = import_bag(elsewhere, bag, "qmoor")
    assert [(finding.code, str(finding.weight)) for finding in old.findings] == [("BAG010", "note")]
    assert verify_records(elsewhere, seals=[]).findings == ()


def test_a_unit_that_went_on_otherwise_is_refused(bench: Any, elsewhere: Any, bag: Path, unit: str) -> None:
    import_bag(elsewhere, bag, "qmoor")
    for session, text in ((bench.session, "here"), (elsewhere, "there")):
        with session.store.transaction() as work:
            work.append(session.draft(unit, "rhale", Noted(text=text)), session.now)
    before = rows(elsewhere, unit)
    other = export(bench.session, unit, bag.parent / "other").path
    assert codes(elsewhere, other) == {"BAG009"}
    assert rows(elsewhere, unit) == before


def test_another_definition_under_the_same_revision_is_refused(bench: Any, elsewhere: Any, bag: Path) -> None:
    from traveler.record.records import IssuedDefinition

    content = '{"title":"other"}'
    digest = hashlib.sha256(content.encode()).hexdigest()
    with elsewhere.store.transaction() as work:
        work.put_definition(IssuedDefinition("step-stool", "A", digest, content, bench.session.now))
    assert codes(elsewhere, bag) == {"STO001"}
    with elsewhere.store.reading() as records:
        assert records.units() == ()


def test_the_same_record_and_moment_give_the_same_zip_file(
    bench: Any, unit: str, tmp_path: Path, quick_sheets: None
) -> None:
    first, second = (export(bench.session, unit, tmp_path / name).path for name in ("a.zip", "b.zip"))
    assert first.read_bytes() == second.read_bytes()
    with zipfile.ZipFile(io.BytesIO(first.read_bytes())) as archive:
        assert archive.testzip() is None


def test_a_bag_is_not_written_over_anything_nor_from_a_broken_record(
    bench: Any, bag: Path, unit: str, tmp_path: Path
) -> None:
    with pytest.raises(CannotDo, match="already"):
        export(bench.session, unit, bag)
    photo = hashlib.sha256(PHOTO).hexdigest()
    bench.session.store.attachments.path(photo).write_bytes(b"something else")
    with pytest.raises(StoreDamaged, match="changed"):
        export(bench.session, unit, tmp_path / "second")
    assert not list(tmp_path.glob("*second*"))


def test_a_bag_of_an_open_unit_has_the_sheets_there_are_now(bench: Any, tmp_path: Path) -> None:
    done = export(bench.session, bench.unit(), tmp_path / "early.zip")
    assert (done.count, done.findings) == (1, ())
    with zipfile.ZipFile(done.path) as archive:
        sheets = {
            name.split("/")[-1]: archive.read(name) for name in archive.namelist() if "/sheets/" in name
        }
    assert {"traveler.pdf", "record.pdf", "unit-label.pdf"} <= set(sheets)
    assert "certificate.pdf" not in sheets
    assert all(pikepdf.open(io.BytesIO(content)).pages for content in sheets.values())


def test_a_sheet_that_was_printed_goes_into_the_bag_as_it_was(
    bench: Any, unit: str, tmp_path: Path, quick_sheets: None
) -> None:
    folder = bench.session.shop.output / unit
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "traveler.pdf").write_bytes(b"%PDF-1.7 as it was printed")
    done = export(bench.session, unit, tmp_path / "bag")
    assert (done.path / "data/sheets/traveler.pdf").read_bytes() == b"%PDF-1.7 as it was printed"
    assert (done.path / "data/sheets/certificate.pdf").read_bytes() == f"%PDF-1.7 of {unit}".encode()


def test_a_full_disk_leaves_nothing_of_a_bag(
    bench: Any, unit: str, tmp_path: Path, quick_sheets: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("traveler.files._sync", full)
    with pytest.raises(OSError, match="No space left"):
        export(bench.session, unit, tmp_path / "bag.zip")
    assert not list(tmp_path.glob("*bag.zip*"))


def test_nobody_brings_entries_in_past_the_gate_by_a_bag(bag: Path, elsewhere: Any, unit: str) -> None:
    """A written chain could hold a release: importing one needs quality, and its PIN."""
    for by, code in (("pstrap", "GAT002"), ("tkiln", "GAT002"), ("nobody", "PER001"), ("oldhand", "PER003")):
        refused = import_bag(elsewhere, bag, by)
        assert ([finding.code for finding in refused.findings], refused.entries) == ([code], 0)
    hashed = {"pin": "$argon2id$v=19$m=8,t=1,p=1$c29tZXNhbHQ$aGFzaA"}
    people = [
        person.model_copy(update=hashed) if person.id == "qmoor" else person
        for person in elsewhere.shop.people.people
    ]
    asking = replace(elsewhere, shop=replace(elsewhere.shop, people=People(people=tuple(people))))
    assert [finding.code for finding in import_bag(asking, bag, "qmoor").findings] == ["PIN004"]
    with elsewhere.store.reading() as records:
        assert records.unit(unit) is None
    assert import_bag(replace(asking, proven=frozenset({"qmoor"})), bag, "qmoor").entries > 0
