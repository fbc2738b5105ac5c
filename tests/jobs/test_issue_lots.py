"""Parts made in lots: issued with a quantity, counted, released, and watched where they are fitted."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from traveler.demo.floor import Filling, Floor
from traveler.demo.stage import DATA, gauges_yaml
from traveler.jobs.append import add
from traveler.jobs.open import open_session
from traveler.jobs.shipping import release
from traveler.record.entry import Stopped
from traveler.trace.judging import judge

PRODUCTS = Path(__file__).parents[2] / "product_defs"


@pytest.fixture
def shop_folder(tmp_path: Path) -> Path:
    """The small shop with the demonstration's end plate, its people and its gauges."""
    folder = Path(shutil.copytree(Path(__file__).parents[1] / "world", tmp_path / "shop"))
    shutil.copy(DATA / "people.yaml", folder)
    (folder / "gauges.yaml").write_text(gauges_yaml(date(2026, 11, 2)), encoding="utf-8")
    shutil.copy(PRODUCTS / "end-plate.yaml", folder / "product_defs")
    shutil.copytree(PRODUCTS / "pictures", folder / "product_defs" / "pictures")
    return folder


@pytest.fixture
def lot(bench: Any) -> tuple[str, list[Filling]]:
    """A lot of 20, and good results for all of it."""
    serial = bench.unit(product="end-plate", variant="std", quantity=20)
    floor = Floor(bench.session.shop.gauges, "mchip", pieces=20)
    start = (bench.session.now + timedelta(minutes=1)).astimezone(bench.session.shop.zone)
    made = list(floor.fillings(bench.plans[serial], start))
    bench.session = replace(bench.session, now=made[-1].at + timedelta(minutes=5))
    return serial, made


def test_a_good_lot_is_released(bench: Any, lot: tuple[str, list[Filling]]) -> None:
    serial, made = lot
    done = bench.record(serial, made)
    assert done.files[0].findings == ()
    taken = release(bench.session, serial, "qmoor")
    assert taken.taken, [str(finding) for finding in taken.findings]
    assert (taken.judged.unit.quantity, taken.judged.unit.state) == (20, "released")


def test_pieces_that_vanish_stop_the_release(bench: Any, lot: tuple[str, list[Filling]]) -> None:
    serial, made = lot
    bench.record(
        serial, [replace(filling, value="19") if filling.slot.id == "20-4" else filling for filling in made]
    )
    taken = release(bench.session, serial, "qmoor")
    assert "LOT001" in {finding.code for finding in taken.findings}


def test_a_stopped_lot_is_found_where_it_is_fitted(bench: Any, lot: tuple[str, list[Filling]]) -> None:
    serial, _ = lot
    stool = bench.unit()
    made = [
        replace(filling, value=serial) if filling.slot.id == "10-2" else filling
        for filling in bench.fillings(stool)
    ]
    bench.record(stool, made)
    assert "PAR003" not in codes(bench, stool)
    assert add(bench.session, serial, Stopped(what="cracks at the bend"), "mchip").entry is not None
    assert "PAR003" in codes(bench, stool)
    refused = release(bench.session, stool, "qmoor")
    assert "PAR003" in {finding.code for finding in refused.findings}


def test_a_bought_lot_is_not_asked_for_and_a_mistyped_one_of_ours_is(bench: Any) -> None:
    stool = bench.unit()
    made = bench.fillings(stool)
    bench.record(
        stool,
        [replace(filling, value="HEAT 4711") if filling.slot.id == "10-2" else filling for filling in made],
    )
    assert "PAR004" not in codes(bench, stool)
    other = bench.unit()
    never_given = "EP-2648-0010"
    made = [
        replace(filling, value=never_given) if filling.slot.id == "10-2" else filling
        for filling in bench.fillings(other)
    ]
    bench.record(other, made)
    assert "PAR004" in codes(bench, other)


def codes(bench: Any, serial: str) -> set[str]:
    with bench.session.store.reading() as records:
        return {finding.code for finding in judge(bench.session, records, serial).verdict.findings}


def test_the_shop_of_these_tests_is_sound(shop_folder: Path, bench: Any) -> None:
    assert open_session(shop_folder, bench.session.now).findings == ()
