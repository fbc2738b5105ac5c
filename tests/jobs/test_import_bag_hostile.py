"""Bags that are not whole, or made to do damage: refused with a finding, and nothing taken over."""

from __future__ import annotations

import hashlib
import json
import os
import random
import shutil
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from traveler.finding import CannotDo
from traveler.jobs.import_bag import import_bag
from traveler.jobs.open import open_session
from traveler.record.archive.bag import opened_bag
from traveler.record.attachments import EVERY, examined
from traveler.record.entry import Photographed
from traveler.record.store import Store
from traveler.shop.session import Session
from traveler.trace.export_bag import export

PHOTO = b"\x89PNG\r\n\x1a\n" + b"photograph of the crate" * 40
PHOTO_DIGEST = hashlib.sha256(PHOTO).hexdigest()


@pytest.fixture(scope="module")
def made(large_store: Any, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Session, str]:
    """A bag, the office it came from, and its unit; made once, copied for every test."""
    folder = tmp_path_factory.mktemp("made") / "shop"
    large_store.write_shop(folder, 30)
    built = large_store.build(f"sqlite:///{folder / 'records.db'}", units=1, entries=30, processes=1)
    session = open_session(folder, datetime(2024, 1, 10, tzinfo=UTC)).session
    assert session is not None
    photo = examined(PHOTO, "crate.png", EVERY)
    with session.store.transaction() as work:
        work.keep_file(photo, PHOTO, session.now)
        body = Photographed(file=photo.digest, name="crate.png")
        work.append(session.draft(built.serials[0], "tkiln", body), session.now)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("traveler.trace.export_bag.SHEETS", {})
        done = export(session, built.serials[0], folder / "bag")
    return done.path, session, built.serials[0]


@pytest.fixture
def session(made: tuple[Path, Session, str]) -> Session:
    return made[1]


@pytest.fixture
def unit(made: tuple[Path, Session, str]) -> str:
    return made[2]


@pytest.fixture
def bag(made: tuple[Path, Session, str], tmp_path: Path) -> Path:
    return Path(shutil.copytree(made[0], tmp_path / "bag"))


@pytest.fixture
def elsewhere(session: Session, tmp_path: Path) -> Iterator[Session]:
    """Another shop of the same people, with empty records."""
    with Store.open(f"sqlite:///{tmp_path / 'elsewhere.db'}") as store:
        yield replace(session, store=store)


def codes(session: Session, bag: Path) -> set[str]:
    return {finding.code for finding in import_bag(session, bag, "qmoor").findings}


def rows(session: Session, serial: str) -> Any:
    with session.store.reading() as records:
        return records.rows(serial)


def bagged_again(bag: Path) -> Path:
    """The manifests put right after a change, as somebody would who wants the change to pass."""
    import bagit

    for manifest in bag.glob("*manifest-*.txt"):
        manifest.unlink()
    (bag / "bagit.txt").unlink()
    (bag / "bag-info.txt").unlink()
    inner = bag.with_name("again")
    (bag / "data").rename(inner)
    shutil.rmtree(bag)
    inner.rename(bag)
    bagit.make_bag(str(bag), {}, checksums=["sha256", "sha512"])
    return bag


def edit(name: str, old: bytes, new: bytes) -> Callable[[Path], None]:
    def change(bag: Path) -> None:
        file = bag / name
        assert old in file.read_bytes()
        file.write_bytes(file.read_bytes().replace(old, new, 1))

    return change


def chained(bag: Path, change: Callable[[list[dict]], None]) -> None:
    """The entries changed and chained again, unit.json put right: what a forger with this program makes."""
    import rfc8785

    file = bag / "data" / "entries.jsonl"
    entries = [json.loads(line) for line in file.read_bytes().splitlines()]
    change(entries)
    previous, lines = "0" * 64, []
    for seq, entry in enumerate(entries, start=1):
        entry |= {"seq": seq, "previous": previous}
        lines.append(rfc8785.dumps(entry))
        previous = hashlib.sha256(lines[-1]).hexdigest()
    file.write_bytes(b"".join(line + b"\n" for line in lines))
    unit = bag / "data" / "unit.json"
    said = json.loads(unit.read_bytes()) | {
        "count": len(lines),
        "head": previous,
        "serial": entries[0]["unit"],
    }
    unit.write_text(json.dumps(said))


PLAIN = {  # changed, the manifests left as they are
    "a changed byte": (edit("data/entries.jsonl", b"0.02", b"0.03"), "BAG004"),
    "a file missing": (lambda bag: (bag / "data" / "definition.json").unlink(), "BAG004"),
    "a file added": (lambda bag: (bag / "data" / "extra.txt").write_text("x"), "BAG004"),
    "a manifest missing": (lambda bag: (bag / "manifest-sha256.txt").unlink(), "BAG004"),
    "a manifest entry gone": (
        lambda bag: (bag / "manifest-sha256.txt").write_text("0" * 64 + "  data/README.txt\n"),
        "BAG004",
    ),
    "another encoding": (edit("bagit.txt", b"UTF-8", b"UTF-7"), "BAG005"),
    "another version": (edit("bagit.txt", b"BagIt-Version: ", b"BagIt-Version: 9"), "BAG005"),
    "no bagit.txt": (lambda bag: (bag / "bagit.txt").unlink(), "BAG001"),
    "files to fetch": (lambda bag: (bag / "fetch.txt").write_text("http://x/ 1 data/x\n"), "BAG004"),
    "a link": (lambda bag: (bag / "data" / "link").symlink_to("/etc/passwd"), "BAG002"),
    "a linked folder": (lambda bag: (bag / "data" / "folder").symlink_to("/etc"), "BAG002"),
    "a pipe": (lambda bag: os.mkfifo(bag / "data" / "pipe"), "BAG002"),
    "a manifest that leads out": (
        lambda bag: (bag / "manifest-sha256.txt").write_text("0" * 64 + "  data/../../../etc/passwd\n"),
        "BAG004",
    ),
    "a manifest that is not text": (
        lambda bag: (bag / "manifest-sha256.txt").write_bytes(b"\xff\xfe\x00"),
        "BAG004",
    ),
}


@pytest.mark.parametrize("what", PLAIN)
def test_a_bag_that_is_not_whole_is_refused(what: str, elsewhere: Session, bag: Path) -> None:
    change, code = PLAIN[what]
    change(bag)
    assert codes(elsewhere, bag) == {code}
    with elsewhere.store.reading() as records:
        assert records.units() == ()


def drop(number: int) -> Callable[[Path], None]:
    def change(bag: Path) -> None:
        file = bag / "data" / "entries.jsonl"
        lines = file.read_bytes().splitlines(keepends=True)
        del lines[number]
        file.write_bytes(b"".join(lines))

    return change


def attachments(listed: object) -> Callable[[Path], None]:
    return lambda bag: (bag / "data" / "attachments.json").write_text(json.dumps(listed))  # type: ignore[return-value]


AGAIN = {  # changed, and the manifests made anew
    "a value": (edit("data/entries.jsonl", b"0.02", b"0.03"), "BAG007"),
    "a line that is no JSON": (edit("data/entries.jsonl", b"{", b"("), "BAG006"),
    "a deep line": (lambda bag: (bag / "data/entries.jsonl").write_text("[" * 100_000 + "\n"), "BAG006"),
    "a line with a blank": (edit("data/entries.jsonl", b'":', b'": '), "BAG006"),
    "no entries": (lambda bag: (bag / "data/entries.jsonl").write_text(""), "BAG006"),
    "an entry gone": (drop(3), "BAG007"),
    "the issue gone": (drop(0), "BAG007"),
    "the last entry gone": (drop(-1), "BAG008"),
    "the definition": (edit("data/definition.json", b"0.050 mm", b"0.500 mm"), "BAG008"),
    "no unit.json": (lambda bag: (bag / "data/unit.json").unlink(), "BAG006"),
    "another head": (edit("data/unit.json", b'"count":', b'"count":1'), "BAG008"),
    "unit.json no JSON": (lambda bag: (bag / "data/unit.json").write_text("[" * 100_000), "BAG008"),
    "the photograph": (edit(f"data/attachments/{PHOTO_DIGEST}.png", b"crate", b"fence"), "BAG008"),
    "an attachment elsewhere": (
        attachments([{"digest": PHOTO_DIGEST, "file": "../../../etc/passwd", "name": "x"}]), "BAG006",
    ),
    "an attachment nobody named": (
        attachments([{"digest": "0" * 64, "file": "README.txt", "name": "x"}]), "BAG008",
    ),
    "an attachment that is not listed": (attachments([]), "BAG006"),
    "attachments that are no list": (attachments({"a": 1}), "BAG006"),
}  # fmt: skip


@pytest.mark.parametrize("what", AGAIN)
def test_a_record_that_is_not_what_was_written_is_refused(what: str, elsewhere: Session, bag: Path) -> None:
    change, code = AGAIN[what]
    change(bag)
    assert code in codes(elsewhere, bagged_again(bag))
    with elsewhere.store.reading() as records:
        assert records.units() == ()


def test_entries_chained_anew_by_a_forger_need_the_units_own_definition_and_serial(
    elsewhere: Session, bag: Path, unit: str
) -> None:
    def another_serial(entries: list[dict]) -> None:
        for entry in entries:
            entry["unit"] = "CW6-2336-00001X"

    chained(bag, another_serial)
    assert codes(elsewhere, bagged_again(bag)) == {"SER001"}
    chained(bag, lambda entries: entries[0].update(unit=unit) or entries[0]["body"].update(variant="9"))
    assert codes(elsewhere, bagged_again(bag)) & {"BAG006", "BAG007"}


def test_a_forged_record_is_refused_where_the_true_one_is_kept(
    session: Session, bag: Path, unit: str
) -> None:
    def better(entries: list[dict]) -> None:
        next(entry for entry in entries if entry["body"]["kind"] == "read")["body"]["value"] = "0.001"

    before = rows(session, unit)
    chained(bag, better)
    assert codes(session, bagged_again(bag)) == {"BAG009"}
    assert rows(session, unit) == before


def zipped(bag: Path, target: Path, more: Callable[[zipfile.ZipFile], None] = lambda _: None) -> Path:
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(bag.rglob("*")):
            if path.is_file():
                archive.write(path, f"bag/{path.relative_to(bag)}")
        more(archive)
    return target


def link(archive: zipfile.ZipFile) -> None:
    entry = zipfile.ZipInfo("bag/data/link")
    entry.external_attr = 0o120777 << 16
    archive.writestr(entry, "/etc/passwd")


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize(
    ("more", "code"),
    [
        (lambda archive: archive.writestr("../out.txt", "x"), "BAG002"),
        (lambda archive: archive.writestr("/tmp/out.txt", "x"), "BAG002"),  # noqa: S108
        (lambda archive: archive.writestr("bag/data/../../out.txt", "x"), "BAG002"),
        (lambda archive: archive.writestr("bag\\data\\out.txt", "x"), "BAG002"),
        (lambda archive: archive.writestr("C:/out.txt", "x"), "BAG002"),
        (lambda archive: archive.writestr("bag/data/README.txt", "x"), "BAG002"),
        (lambda archive: archive.writestr("bag/data/readme.TXT", "x"), "BAG002"),
        (link, "BAG002"),
        (lambda archive: archive.writestr("bag/data/bomb.txt", b"0" * 30_000_000), "BAG003"),
        (lambda archive: [archive.writestr(f"bag/data/{n}", "") for n in range(5_001)], "BAG003"),
        (lambda archive: archive.writestr("second/bagit.txt", "x"), "BAG001"),
        (lambda archive: archive.writestr("bag/data/more.txt", "x"), "BAG004"),
    ],
)  # fmt: skip
def test_a_hostile_zip_file_is_refused(
    more: Any, code: str, elsewhere: Session, bag: Path, tmp_path: Path
) -> None:
    before = set(tmp_path.rglob("*"))
    hostile = zipped(bag, tmp_path / "hostile.zip", more)
    assert codes(elsewhere, hostile) == {code}
    assert set(tmp_path.rglob("*")) - before == {hostile}
    assert not Path("/tmp/out.txt").exists()  # noqa: S108


def test_a_zip_file_that_lies_about_a_size_is_refused(elsewhere: Session, bag: Path, tmp_path: Path) -> None:
    whole = zipped(bag, tmp_path / "small.zip", lambda a: a.writestr("bag/data/big.txt", b"1" * 900_000))
    content = whole.read_bytes()
    lied = content.replace((900_000).to_bytes(4, "little"), (9).to_bytes(4, "little"))
    assert lied != content
    whole.write_bytes(lied)
    assert codes(elsewhere, whole) & {"BAG001", "BAG003"}


def test_what_is_no_bag_at_all_is_refused(elsewhere: Session, tmp_path: Path) -> None:
    (tmp_path / "letter.zip").write_text("dear supplier")
    (tmp_path / "empty").mkdir()
    with zipfile.ZipFile(tmp_path / "none.zip", "w"):
        pass
    for name in ("letter.zip", "empty", "none.zip"):
        assert codes(elsewhere, tmp_path / name) == {"BAG001"}, name
    with pytest.raises(CannotDo, match="there is no bag"):
        import_bag(elsewhere, tmp_path / "nothing.zip", "qmoor")


def test_a_damaged_zip_file_is_refused_wherever_it_is_damaged(
    elsewhere: Session, bag: Path, tmp_path: Path
) -> None:
    import bagit

    whole = zipped(bag, tmp_path / "bag.zip").read_bytes()
    chance = random.Random(4)
    for number in range(60):
        at = chance.randrange(len(whole))
        damaged = bytearray(whole)
        damaged[at] ^= 1 << chance.randrange(8)
        file = tmp_path / f"{number}.zip"
        file.write_bytes(damaged if number % 3 else whole[:at])
        with opened_bag(file) as opened:  # a flipped bit in what a ZIP file says of times does no harm
            assert not isinstance(opened, Path) or bagit.Bag(str(opened)).is_valid()
