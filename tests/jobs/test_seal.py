"""A release seals the record; what is cut from it afterwards is found, by the seal and by the certificate."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, create_engine, text, update

from traveler.finding import CannotDo
from traveler.jobs.seal import seal
from traveler.jobs.shipping import release
from traveler.record.seal import add_lines, last_seal_line, seal_file_held
from traveler.record.tables import entry_table
from traveler.shop.folder import seal_files
from traveler.trace.verify import check_certificate, verify_records


@contextmanager
def intruder(url: Any) -> Iterator[Connection]:
    """A connection for which no guard holds."""
    engine = create_engine(url)
    with engine.begin() as connection:
        if engine.dialect.name == "sqlite":
            asked = text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
            guards = connection.execute(asked).all()
            for name, _ in guards:
                connection.execute(text(f"DROP TRIGGER {name}"))
        else:
            connection.execute(text("SET session_replication_role = replica"))
            for table in ("entry", "ref", "definition"):
                connection.execute(text(f"GRANT ALL ON {table} TO CURRENT_USER"))
        yield connection
        if engine.dialect.name == "sqlite":  # somebody who knows the store puts the guards back
            for _, sql in guards:
                connection.execute(text(sql))
    engine.dispose()


def found(bench: Any, seals: list[Path] | None = None, serials: tuple[str, ...] = ()) -> set[str]:
    return {finding.code for finding in verify_records(bench.session, serials, seals).findings}


@pytest.fixture
def released(bench: Any) -> str:
    serial = bench.built()
    step = release(bench.session, serial, "qmoor")
    assert step.taken, step.findings
    assert step.findings == ()
    return serial


def cut(bench: Any, serial: str, last: int) -> None:
    """The last entries gone, and everything that is noted of them put right."""
    with intruder(bench.session.store.url) as connection:
        values = {"serial": serial, "last": last}
        connection.execute(text("DELETE FROM ref WHERE unit = :serial AND seq > :last"), values)
        connection.execute(text("DELETE FROM entry WHERE unit = :serial AND seq > :last"), values)
        head = connection.execute(
            text("SELECT hash FROM entry WHERE unit = :serial AND seq = :last"), values
        ).scalar_one()
        asked = "UPDATE unit SET entries = :last, head = :head, state = 'inspection' WHERE serial = :serial"
        connection.execute(text(asked), {**values, "head": head})


def entries(bench: Any, serial: str) -> tuple[Any, ...]:
    with bench.session.store.reading() as records:
        return tuple(records.entries(serial))


def test_a_release_is_sealed_and_verifies(bench: Any, released: str) -> None:
    (file,) = seal_files(bench.session.shop)
    assert file.is_file()
    assert found(bench) == set()
    assert verify_records(bench.session).seals == (str(file),)


def test_the_cut_end_of_a_released_unit_is_found_with_the_seal_and_only_with_it(
    bench: Any, released: str
) -> None:
    count = len(entries(bench, released))
    cut(bench, released, count - 1)
    assert found(bench, []) == set(), "the chain alone fits together"
    assert found(bench) == {"SEA005", "SEA007"}
    assert found(bench, serials=(released,)) == {"SEA005"}


def test_a_unit_taken_out_whole_is_found(bench: Any, released: str) -> None:
    other = bench.unit()
    with intruder(bench.session.store.url) as connection:
        for table, column in (("ref", "unit"), ("entry", "unit"), ("seen_file", "unit"), ("unit", "serial")):
            connection.execute(text(f"DELETE FROM {table} WHERE {column} = :it"), {"it": released})  # noqa: S608
    assert found(bench, []) == set()
    assert found(bench) == {"SEA004", "SEA007"}
    assert found(bench, serials=(released,)) == {"SEA004"}
    assert found(bench, serials=(other,)) == set()


def test_a_chain_written_anew_is_found(bench: Any, released: str) -> None:
    from traveler.record.chain import GENESIS, link_row
    from traveler.record.entry import Draft, Read

    previous, rows = GENESIS, []
    for entry in entries(bench, released):
        body = entry.body
        if isinstance(body, Read):
            body = body.model_copy(update={"written": "0.011 mm", "value": "0.011"})
        draft = Draft.model_validate({**entry.model_dump(include=set(Draft.model_fields)), "body": body})
        rows.append(link_row(draft, entry.seq, previous, entry.recorded))
        previous = rows[-1].hash
    with intruder(bench.session.store.url) as connection:
        for row in rows:
            changed = update(entry_table).where(entry_table.c.unit == row.unit, entry_table.c.seq == row.seq)
            connection.execute(changed.values(body=row.body, previous=row.previous, hash=row.hash))
        asked = "UPDATE unit SET head = :head WHERE serial = :serial"
        connection.execute(text(asked), {"head": previous, "serial": released})
    assert found(bench, []) == set(), "the new chain fits together"
    assert found(bench) == {"SEA006"}


def test_a_state_without_entries_that_lead_to_it_is_found(bench: Any) -> None:
    serial = bench.unit()
    with intruder(bench.session.store.url) as connection:
        connection.execute(text("UPDATE unit SET state = 'released'"))
    assert found(bench, serials=(serial,)) == {"CHN010"}


def test_a_seal_file_cut_back_is_found_by_the_next_release(bench: Any, released: str) -> None:
    (file,) = seal_files(bench.session.shop)
    lines = file.read_bytes().splitlines(keepends=True)
    second = bench.built()
    assert release(bench.session, second, "qmoor").taken
    file.write_bytes(b"".join(lines[:2]))
    assert found(bench) == {"SEA008"}
    file.write_bytes(b"".join(lines))
    assert found(bench) == {"SEA009"}, "only the lines after the last release are cut: a warning"
    file.unlink()
    assert found(bench) == {"SEA008"}


def test_a_unit_that_was_never_released_is_sealed_on_demand(bench: Any, tmp_path: Path) -> None:
    serial = bench.built()
    done = seal(bench.session, tmp_path / "stick.jsonl")
    assert (done.units, len(done.files), done.findings) == (1, 2, ())
    assert seal(bench.session).units == 0, "nothing grew"
    cut(bench, serial, 3)
    assert found(bench, [tmp_path / "stick.jsonl"]) == {"SEA005", "SEA007", "CHN010"}


def test_copies_are_kept_and_a_missing_or_foreign_one_is_a_warning(
    bench: Any, shop_folder: Path, tmp_path: Path
) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    names = ("seals.jsonl", str(stick / "seals.jsonl"), str(tmp_path / "pulled" / "seals.jsonl"))
    settings = bench.session.shop.settings.model_copy(update={"seals": names})
    bench.session = replace(bench.session, shop=replace(bench.session.shop, settings=settings))
    serial = bench.built()
    step = release(bench.session, serial, "qmoor")
    assert step.taken
    assert [(finding.code, str(finding.weight)) for finding in step.findings] == [("SEA010", "warning")]
    assert (stick / "seals.jsonl").read_bytes() == (shop_folder / "seals.jsonl").read_bytes()
    (stick / "seals.jsonl").write_bytes(b"something else\n")
    assert [finding.code for finding in seal(bench.session).findings] == ["SEA011", "SEA010"]
    assert "SEA003" in found(bench)


def test_two_copies_that_differ_are_found(bench: Any, released: str, tmp_path: Path) -> None:
    (file,) = seal_files(bench.session.shop)
    other = tmp_path / "other.jsonl"
    shutil.copy(file, other)
    bench.later()
    seal(bench.session)
    assert found(bench, [file, other]) == set()
    lines = other.read_bytes().splitlines(keepends=True)
    content = b"".join(lines[:-1])
    other.write_bytes(content)
    with seal_file_held(other) as opened:
        end = last_seal_line(opened)
        assert end is not None
        add_lines(
            opened, end, "2026-12-01T00:00:00.000000Z", "Marrowby", [("store", {"units": 1, "entries": 1})]
        )
    (differs,) = verify_records(bench.session, seals=[file, other]).findings
    assert (differs.code, str(differs.weight), differs.place.line) == ("SEA011", "blocking", 3)


def test_the_seal_files_of_two_computers_are_told_from_copies(
    bench: Any, released: str, tmp_path: Path
) -> None:
    (file,) = seal_files(bench.session.shop)
    other = file.rename(tmp_path / "other-computer.jsonl")
    bench.later()
    serial = bench.built()
    assert release(bench.session, serial, "qmoor").taken
    (apart,) = verify_records(bench.session, seals=[file, other]).findings
    assert (apart.code, str(apart.weight)) == ("SEA011", "warning")


def test_an_altered_seal_file_does_not_hold_up_a_release_and_is_not_added_to(
    bench: Any, released: str
) -> None:
    (file,) = seal_files(bench.session.shop)
    altered = file.read_bytes().replace(b'"units":1', b'"units":0')
    file.write_bytes(altered)
    serial = bench.built()
    step = release(bench.session, serial, "qmoor")
    assert step.taken
    assert [finding.code for finding in step.findings] == ["SEA010"]
    assert file.read_bytes() == altered
    assert "SEA001" in found(bench)


def test_the_seal_of_another_shop_is_told(
    bench: Any, released: str, edit_name: Callable[[str], None]
) -> None:
    edit_name("Other Works")
    assert found(bench) == {"SEA012"}


@pytest.fixture
def edit_name(bench: Any) -> Callable[[str], None]:
    def change(name: str) -> None:
        settings = bench.session.shop.settings.model_copy(update={"name": name})
        bench.session = replace(bench.session, shop=replace(bench.session.shop, settings=settings))

    return change


def test_a_certificate_is_held_against_the_record(bench: Any, released: str) -> None:
    said = next(entry.body for entry in entries(bench, released) if entry.body.kind == "released")
    assert check_certificate(bench.session, released, said.head, said.count)[1] == ()
    assert (
        check_certificate(bench.session, released, f" {said.head[:8].upper()} {said.head[8:20]}", said.count)[
            1
        ]
        == ()
    )
    (wrong,) = check_certificate(bench.session, released, "f" * 64, said.count)[1]
    assert wrong.code == "CHN011"
    cut(bench, released, said.count - 2)
    assert "CHN011" in {
        finding.code for finding in check_certificate(bench.session, released, said.head, said.count)[1]
    }
    with pytest.raises(CannotDo, match="a head has 64 digits"):
        check_certificate(bench.session, released, "12", 3)


def test_a_seal_file_that_is_not_there_cannot_be_asked(bench: Any) -> None:
    with pytest.raises(CannotDo, match="cannot be read"):
        verify_records(bench.session, seals=[Path("/nowhere/seals.jsonl")])


def test_a_shop_without_seal_files_seals_nothing(bench: Any) -> None:
    settings = bench.session.shop.settings.model_copy(update={"seals": ()})
    bench.session = replace(bench.session, shop=replace(bench.session.shop, settings=settings))
    serial = bench.built()
    step = release(bench.session, serial, "qmoor")
    assert (step.taken, step.findings) == (True, ())
    with pytest.raises(CannotDo, match="keeps no seal file"):
        seal(bench.session)
