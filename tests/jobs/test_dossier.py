"""The dossier: everything about a unit, the cause first, and files that stand for themselves."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest

from traveler.finding import Weight
from traveler.jobs.add_entry import strike
from traveler.jobs.cannot import CannotDo
from traveler.jobs.complain import Complaint, complain
from traveler.jobs.decide import Disposition, decide
from traveler.jobs.dossier import dossier
from traveler.jobs.dossier_files import chosen_formats, write_dossier
from traveler.jobs.life import crate, place, release, ship
from traveler.jobs.stop import stop
from traveler.record.entry import Shipped
from traveler.shop.gauges import Calibration, GaugeRegister
from traveler.trace.dossier.whole import Dossier

if TYPE_CHECKING:
    from conftest import Bench

LEFT = "10-4/side=left"
PNG = (
    b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\1\0\0\0\1\x08\6\0\0\0\x1f\x15\xc4\x89\0\0\0\nIDATx\x9cc\0\1\0\0\5\0\1\r\n-\xb4"
    b"\0\0\0\0IEND\xaeB`\x82"
)


@dataclass
class Shop:
    """The bench, and winders through its whole life in one call."""

    bench: Bench

    def ship(self, *, lot: str = "P-9001/77", play: str | None = None, **changes: Any) -> str:
        bench = self.bench
        serial = bench.unit()
        made = [
            replace(one, value=lot) if one.value == "P-9001/77" else one for one in bench.fillings(serial)
        ]
        if play is not None:
            made = [replace(one, value=play) if one.slot.id == LEFT else one for one in made]
        made = [changes.get(one.slot.id, one) for one in made]
        bench.record(serial, made)
        self.leave(serial)
        return serial

    def leave(self, serial: str) -> None:
        bench = self.bench
        self.took(release(bench.office, serial, "qmoor"))
        bench.record(serial, bench.fillings(serial, ["C"]))
        self.took(crate(bench.office, serial, "pstrap"))
        self.took(place(bench.office, serial, "Bay 1", "pstrap"))
        self.took(ship(bench.office, serial, Shipped(customer="Aldermoor Weavers"), "sdock"))

    def took(self, taken: Any) -> None:
        self.bench.later(5)
        assert taken.taken, [str(one) for one in taken.findings]

    def complain(self, serial: str, text: str = "Hums", **more: Any) -> None:
        done = complain(self.bench.office, serial, Complaint(text, ("noise",), **more), "sdock")
        assert done.case is not None, done.findings

    def dossier(self, serial: str) -> Dossier:
        with self.bench.office.store.reading() as records:
            return dossier(self.bench.office, records, serial)


@pytest.fixture
def shop(bench: Bench) -> Shop:
    settings = bench.office.shop.settings.model_copy(
        update={"symptoms": {"noise": "Runs loudly"}, "suppliers": {"P-9001/*": "Northmill"}}
    )
    bench.office = replace(bench.office, shop=replace(bench.office.shop, settings=settings))
    return Shop(bench)


def kinds(found: Dossier) -> list[str]:
    return [one.kind for one in found.remarks]


def test_a_plain_unit_has_nothing_unusual_and_its_whole_life(shop: Shop) -> None:
    serial = shop.ship()
    found = shop.dossier(serial)
    assert kinds(found) == []
    assert found.where.startswith("shipped to Aldermoor Weavers")
    with shop.bench.office.store.reading() as records:
        assert {one.seq for one in found.life} == {one.seq for one in records.entries(serial)}
    assert [one.kind for one in found.shipping] == ["released", "crated", "placed", "shipped"]
    assert {one.id for one in found.people} == {"rhale", "tkiln", "iwren", "qmoor", "pstrap", "sdock"}
    assert next(one for one in found.people if one.id == "qmoor").roles == "quality, inspector"


def test_a_lot_shared_with_other_complaints_comes_first(shop: Shop) -> None:
    good = [shop.ship(lot="P-9001/76") for _ in range(4)]
    bad = [shop.ship(play="0.046") for _ in range(4)]
    for serial in bad[:3]:
        shop.complain(serial)
    found = shop.dossier(bad[0])
    first = found.remarks[0]
    assert (first.kind, first.strong) == ("shared", True)
    assert "lot P-9001/77" in first.head
    assert first.text.startswith("3 of the 4 units with it that left were complained about alike")
    assert "of the 4 units around it that have another lot, none" in first.text
    assert [one.serial for one in found.others if one.complained] == sorted(bad[1:3])
    assert not {one.serial for one in found.others} & set(good)
    assert found.contain.startswith("traveler contain --lot P-9001/77 --from")
    (part,) = (one for one in found.parts if one.number == "P-9001")
    assert part.trail is not None
    assert part.trail.supplier == "Northmill"


def test_a_reading_is_shown_among_those_before_and_after(shop: Shop) -> None:
    before, middle, after = (shop.ship(play=play) for play in ("0.030", "0.046", "0.033"))
    reading = next(one for one in shop.dossier(middle).readings if one.slot == LEFT)
    assert [(one.serial, one.value) for one in reading.before] == [(before, Fraction("0.030"))]
    assert [(one.serial, one.value) for one in reading.after] == [(after, Fraction("0.033"))]
    assert reading.near
    assert reading.place == "higher than 2 of 2 other units"
    assert reading.as_dict()["value"] == "0.046"
    assert "near" in kinds(shop.dossier(middle))


def test_the_same_slot_of_another_revision_is_compared_only_if_it_is_the_same_check(
    shop: Shop, edit: Callable[[str, str], None]
) -> None:
    shop.ship(play="0.030")
    edit("revision: A", "revision: B\nchange: Another step before.")
    edit("      - fit: Tread\n", "      - do: Sweep the bench.\n      - fit: Tread\n")
    serial = shop.ship()
    play = next(one for one in shop.dossier(serial).readings if one.check == "play")
    assert play.slot == "10-5/side=left"
    assert [str(one.value) for one in play.before] == ["3/100"]


def test_what_was_struck_adjusted_conceded_and_late_is_told(shop: Shop) -> None:
    bench = shop.bench
    serial = bench.unit()
    made = bench.fillings(serial)
    left = next(one for one in made if one.slot.id == LEFT)
    right = next(one for one in made if one.slot.id == "10-4/side=right")
    found_so = replace(left, value="0.062", as_found=True)
    bench.record(serial, [found_so, replace(right, value="0.070"), replace(left, value="0.020")], "a.csv")
    with bench.office.store.reading() as records:
        wrong = records.entries(serial)[-1].seq
    assert strike(bench.office, serial, wrong, "Wrong side.", "tkiln").entry
    bench.later(60 * 40)
    bench.record(serial, [one for one in made if one is not right], "b.csv")
    seq = stop(bench.office, serial, "play 0.070 mm", "iwren", slot=right.slot.id).entry
    assert seq is not None
    done = decide(
        bench.office, serial, seq.seq, Disposition("use_as_is", concession="C-1", text="ok"), "qmoor"
    )
    assert done.entry, done.findings
    found = shop.dossier(serial)
    assert {"struck", "conceded", "adjusted", "late"} <= set(kinds(found))
    marks = {mark for line in found.life for mark in line.marks}
    assert {"as found", "conceded", "stopped", "strikes out"} <= marks
    assert any(mark.startswith("late, 4") for mark in marks)
    assert any(line.struck for line in found.life)


def test_a_gauge_found_wrong_later_is_told(shop: Shop) -> None:
    serial = shop.ship()
    office = shop.bench.office
    gauges = tuple(
        one.model_copy(
            update={
                "calibrations": (*one.calibrations, Calibration(on=date(2026, 12, 1), as_found="0.02 mm off"))
            }
        )
        if one.id == "IND-03"
        else one
        for one in office.shop.gauges.gauges
    )
    register = GaugeRegister(gauges=gauges)
    shop.bench.office = replace(office, shop=replace(office.shop, gauges=register))
    found = shop.dossier(serial)
    (told,) = (one for one in found.remarks if one.kind == "gauge")
    assert told.strong
    assert "found 0.02 mm off on 2026-12-01" in told.text
    gauge = next(one for one in found.gauges if one.id == "IND-03")
    assert (gauge.before[:10], gauge.after[:10]) == ("2026-02-02", "2026-12-01")


class Page(HTMLParser):
    """What a page asks for from elsewhere, and what is drawn and written in it."""

    def __init__(self, content: str) -> None:
        super().__init__()
        self.outside: list[str] = []
        self.drawings, self.text = 0, ""
        self.feed(content)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.drawings += tag == "svg"
        for name, value in attrs:
            if name in ("src", "href", "data", "action") and not (value or "").startswith(("data:", "#")):
                self.outside.append(f"{tag} {name}={value}")

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_files_stand_for_themselves(shop: Shop, tmp_path: Path) -> None:
    serial = shop.ship(play="0.046")
    shop.complain(
        serial, "Hums <b>loudly</b> 中", readings=(("play/side=left", "0.071 mm"),), photos=(("a.png", PNG),)
    )
    done = write_dossier(shop.bench.office, serial, to=tmp_path)
    assert [one.name for one in done.files] == [
        "dossier.pdf", "dossier-record.pdf", "dossier.html", "dossier.json",
    ]  # fmt: skip
    assert not any(one.weight is Weight.BLOCKING for one in done.findings)
    html = (tmp_path / "dossier.html").read_text(encoding="utf-8")
    page = Page(html)
    assert page.outside == []
    assert not re.search(r"url\((?!\"?data:)", html)
    assert page.drawings >= len(done.found.readings)
    assert "Hums <b>loudly</b> 中" in page.text
    assert "data:image/png;base64," in html
    found = json.loads((tmp_path / "dossier.json").read_text(encoding="utf-8"))
    assert found["serial"] == serial
    assert found["cases"][0]["values"][0]["change"] == "0.025"
    with pikepdf.open(BytesIO((tmp_path / "dossier.pdf").read_bytes())) as pdf:
        assert set(pdf.attachments) == {"plan.json", "dossier.json"}
        assert len(pdf.pages) >= 3


def test_only_the_formats_asked_for_are_written(shop: Shop) -> None:
    serial = shop.bench.unit()
    done = write_dossier(shop.bench.office, serial, formats=("json",))
    assert [one.name for one in done.files] == ["dossier.json"]
    assert chosen_formats("PDF, json,pdf") == ("pdf", "json")
    for text in ("word", "", ","):
        with pytest.raises(CannotDo):
            chosen_formats(text)


def test_a_unit_that_is_only_issued_has_a_dossier_too(shop: Shop, tmp_path: Path) -> None:
    done = write_dossier(shop.bench.office, shop.bench.unit(), to=tmp_path, formats=("html", "json"))
    assert "Nobody has complained about this unit." in (tmp_path / "dossier.html").read_text("utf-8")
    assert done.found.readings == ()
