"""The dossier: everything about a unit, the cause first, and files that stand for themselves."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pikepdf
import pytest

from traveler.finding import CannotDo, Weight
from traveler.jobs.append import strike
from traveler.jobs.case import CaseStep, follow_up
from traveler.jobs.complain import Complaint, complain
from traveler.jobs.contain import ContainRequest, contain
from traveler.jobs.shipping import crate, place, release, ship
from traveler.jobs.stop import Disposition, decide, stop
from traveler.record.entry import Shipped
from traveler.shop.gauges import Calibration, GaugeRegister
from traveler.trace.common_causes import Cause, affected, common_causes
from traveler.trace.dossier.gather import chosen_formats, dossier, write_dossier
from traveler.trace.dossier.result import Dossier
from traveler.trace.judging import judge
from traveler.trace.watch import watch

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
            replace(filling, value=lot) if filling.value == "P-9001/77" else filling
            for filling in bench.fillings(serial)
        ]
        if play is not None:
            made = [replace(reading, value=play) if reading.slot.id == LEFT else reading for reading in made]
        made = [changes.get(reading.slot.id, reading) for reading in made]
        bench.record(serial, made)
        self.leave(serial)
        return serial

    def leave(self, serial: str) -> None:
        bench = self.bench
        self.took(release(bench.session, serial, "qmoor"))
        bench.record(serial, bench.fillings(serial, ["C"]))
        self.took(crate(bench.session, serial, "pstrap"))
        self.took(place(bench.session, serial, "Bay 1", "pstrap"))
        self.took(ship(bench.session, serial, Shipped(customer="Aldermoor Weavers"), "sdock"))

    def took(self, taken: Any) -> None:
        self.bench.later(5)
        assert taken.taken, [str(finding) for finding in taken.findings]

    def complain(self, serial: str, text: str = "Hums", **more: Any) -> None:
        done = complain(self.bench.session, serial, Complaint(text, ("noise",), **more), "sdock")
        assert done.case is not None, done.findings

    def dossier(self, serial: str) -> Dossier:
        with self.bench.session.store.reading() as records:
            judged = judge(self.bench.session, records, serial)
            return dossier(self.bench.session, records, judged)


@pytest.fixture
def shop(bench: Bench) -> Shop:
    settings = bench.session.shop.settings.model_copy(
        update={"symptoms": {"noise": "Runs loudly"}, "suppliers": {"P-9001/*": "Northmill"}}
    )
    bench.session = replace(bench.session, shop=replace(bench.session.shop, settings=settings))
    return Shop(bench)


def kinds(found: Dossier) -> list[str]:
    return [remark.kind for remark in found.remarks]


def test_a_plain_unit_has_nothing_unusual_and_its_whole_life(shop: Shop) -> None:
    serial = shop.ship()
    found = shop.dossier(serial)
    assert kinds(found) == []
    assert found.where.startswith("shipped to Aldermoor Weavers")
    with shop.bench.session.store.reading() as records:
        assert {entry.seq for entry in found.life} == {entry.seq for entry in records.entries(serial)}
    assert [life_line.kind for life_line in found.shipping] == ["released", "crated", "placed", "shipped"]
    assert {person.id for person in found.people} == {"rhale", "tkiln", "iwren", "qmoor", "pstrap", "sdock"}
    assert next(person for person in found.people if person.id == "qmoor").roles == "quality, inspector"


def test_a_lot_shared_with_other_complaints_comes_first(shop: Shop) -> None:
    good = [shop.ship(lot="P-9001/76") for _ in range(4)]
    bad = [shop.ship(play="0.046") for _ in range(4)]
    for serial in bad[:3]:
        shop.complain(serial)
    found = shop.dossier(bad[0])
    first = found.remarks[0]
    assert (first.kind, first.strong) == ("shared", True)
    assert "lot P-9001/77" in first.head
    assert first.text.startswith("3 of the 4 units shipped with it have the same complaint")
    assert "of the 4 units around it that have another lot, none" in first.text
    assert [other_unit.serial for other_unit in found.others if other_unit.complained] == sorted(bad[1:3])
    assert not {other_unit.serial for other_unit in found.others} & set(good)
    assert found.contain.startswith(f"traveler case contain {found.unit.serial}")
    (part,) = (part_shown for part_shown in found.parts if part_shown.number == "P-9001")
    assert part.trail is not None
    assert part.trail.supplier == "Northmill"


def test_the_dossier_and_the_common_causes_count_the_same_complaints(shop: Shop) -> None:
    """Cases closed as unfounded count in neither; opened again they count in both."""
    for _ in range(4):
        shop.ship(lot="P-9001/76")
    bad = [shop.ship(play="0.046") for _ in range(4)]
    for serial in bad[:3]:
        shop.complain(serial)

    def both() -> tuple[list[str], list[str], str]:
        with shop.bench.session.store.reading() as records:
            causes = common_causes(shop.bench.session, records, bad[0])
            judged = judge(shop.bench.session, records, bad[0])
            found = dossier(shop.bench.session, records, judged)
        alike = [unit.serial for unit in found.others if unit.complained]
        assert list(found.told[1:]) == list(causes.sentences)
        return list(causes.complained), sorted([bad[0], *alike]), found.contain

    assert both() == (sorted(bad[:3]), sorted(bad[:3]), both()[2])
    assert "--lot P-9001/77" in both()[2]
    for serial in bad[1:3]:
        follow_up(shop.bench.session, serial, [CaseStep("unfounded", "It was not levelled.")], "qmoor")
    assert both() == ([bad[0]], [bad[0]], "")
    assert not any(observation.kind == "shared" for observation in shop.dossier(bad[0]).remarks)
    follow_up(shop.bench.session, bad[1], [CaseStep("reopened", "It was levelled.")], "qmoor")
    assert both()[:2] == (sorted(bad[:2]), sorted(bad[:2]))


def test_a_unit_that_is_stopped_at_the_customer_still_counts_as_shipped(shop: Shop) -> None:
    """In the dossier's lots, in the common causes and in the containment alike."""
    first, second = shop.ship(), shop.ship()
    shop.complain(first)
    shop.complain(second)
    assert stop(shop.bench.session, second, "Hums", "qmoor").entry
    with shop.bench.session.store.reading() as records:
        counted = common_causes(shop.bench.session, records, first).found.counted
        _, units = affected(shop.bench.session, records, first, Cause("lot", "P-9001/77"))
    (other,) = shop.dossier(first).others
    assert (other.serial, other.left) == (second, True)
    assert counted == {first, second}
    assert {unit.unit.serial for unit in units if unit.left} == {first, second}


def test_the_dossier_and_the_containment_find_the_same_units_in_the_shop(shop: Shop) -> None:
    bad = [shop.ship(play="0.046") for _ in range(3)]
    for serial in bad[:2]:
        shop.complain(serial)
    bench = shop.bench
    scrapped, kept = bench.built(), bench.built()
    stopped = stop(bench.session, scrapped, "Cracked.", "tkiln")
    assert stopped.entry is not None
    assert decide(bench.session, scrapped, stopped.entry.seq, Disposition("scrap"), "qmoor").entry is not None
    found = shop.dossier(bad[0])
    trail = next(part.trail for part in found.parts if part.number == "P-9001")
    assert trail is not None
    contained = contain(bench.session, ContainRequest(bad[0], Cause("lot", "P-9001/77")))
    assert [[*trail.here], [unit.unit.serial for unit in contained.here]] == [[kept], [kept]]
    assert sorted(trail.left) == sorted({unit.unit.serial for unit in contained.left} - {bad[0]})
    assert "1 unit with it is still here" in found.remarks[0].text


def test_what_is_contained_is_not_asked_for_again(shop: Shop) -> None:
    """The dossier and the watch know what was contained under another case about the same."""
    bad, bench = [shop.ship(play="0.046") for _ in range(3)], shop.bench
    for serial in bad[:2]:
        shop.complain(serial)
    bench.built()

    def told() -> dict[str, str]:
        found = watch(bench.session, bench.session.now - timedelta(days=7))
        whats = (notice.what for notice in found.notices if notice.subject == "complaint")
        return {what[: len(bad[0])]: what.split(", ")[2].removesuffix(": Hums") for what in whats}

    assert told() == dict.fromkeys(bad[:2], "not contained yet")
    assert shop.dossier(bad[1]).contain.startswith(f"traveler case contain {bad[1]}")
    done = contain(bench.session, ContainRequest(bad[0], Cause("lot", "P-9001/77"), stop=True, by="qmoor"))
    assert len(done.stopped) == 1
    assert told() == {bad[0]: "contained", bad[1]: f"contained under {done.case}"}
    assert [shop.dossier(serial).contain for serial in bad[:2]] == ["", ""]
    assert "1 unit with it is still here, stopped" in shop.dossier(bad[0]).remarks[0].text
    bench.built()
    assert shop.dossier(bad[1]).contain.startswith(f"traveler case contain {bad[1]}")
    assert "2 units with it are still here, 1 of them stopped" in shop.dossier(bad[0]).remarks[0].text


def test_a_reading_is_shown_among_those_before_and_after(shop: Shop) -> None:
    before, middle, after = (shop.ship(play=play) for play in ("0.030", "0.046", "0.033"))
    reading = next(reading for reading in shop.dossier(middle).readings if reading.slot == LEFT)
    assert [(neighbour.serial, neighbour.value) for neighbour in reading.before] == [
        (before, Fraction("0.030"))
    ]
    assert [(neighbour.serial, neighbour.value) for neighbour in reading.after] == [
        (after, Fraction("0.033"))
    ]
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
    play = next(reading for reading in shop.dossier(serial).readings if reading.check == "play")
    assert play.slot == "10-5/side=left"
    assert [str(neighbour.value) for neighbour in play.before] == ["3/100"]


def test_what_was_struck_adjusted_conceded_and_late_is_told(shop: Shop) -> None:
    bench = shop.bench
    serial = bench.unit()
    made = bench.fillings(serial)
    left = next(filling for filling in made if filling.slot.id == LEFT)
    right = next(filling for filling in made if filling.slot.id == "10-4/side=right")
    found_so = replace(left, value="0.062", as_found=True)
    bench.record(serial, [found_so, replace(right, value="0.070"), replace(left, value="0.020")], "a.csv")
    with bench.session.store.reading() as records:
        wrong = records.entries(serial)[-1].seq
    assert strike(bench.session, serial, wrong, "Wrong side.", "tkiln").entry
    bench.later(60 * 40)
    bench.record(serial, [filling for filling in made if filling is not right], "b.csv")
    seq = stop(bench.session, serial, "play 0.070 mm", "iwren", slot=right.slot.id).entry
    assert seq is not None
    done = decide(
        bench.session, serial, seq.seq, Disposition("use_as_is", concession="C-1", text="ok"), "qmoor"
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
    session = shop.bench.session
    gauges = tuple(
        gauge.model_copy(
            update={
                "calibrations": (
                    *gauge.calibrations,
                    Calibration(on=date(2026, 12, 1), as_found="0.02 mm off"),
                )
            }
        )
        if gauge.id == "IND-03"
        else gauge
        for gauge in session.shop.gauges.gauges
    )
    register = GaugeRegister(gauges=gauges)
    shop.bench.session = replace(session, shop=replace(session.shop, gauges=register))
    found = shop.dossier(serial)
    (told,) = (remark for remark in found.remarks if remark.kind == "gauge")
    assert told.strong
    assert "found 0.02 mm off on 2026-12-01" in told.text
    gauge = next(gauge_shown for gauge_shown in found.gauges if gauge_shown.id == "IND-03")
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
    done = write_dossier(shop.bench.session, serial, to=tmp_path)
    assert [file.name for file in done.files] == [
        "dossier.pdf", "dossier-record.pdf", "dossier.html", "dossier.json",
    ]  # fmt: skip
    assert not any(finding.weight is Weight.BLOCKING for finding in done.findings)
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
    done = write_dossier(shop.bench.session, serial, formats=("json",))
    assert [file.name for file in done.files] == ["dossier.json"]
    assert chosen_formats("PDF, json,pdf") == ("pdf", "json")
    for text in ("word", "", ","):
        with pytest.raises(CannotDo):
            chosen_formats(text)


def test_a_unit_that_is_only_issued_has_a_dossier_too(shop: Shop, tmp_path: Path) -> None:
    done = write_dossier(shop.bench.session, shop.bench.unit(), to=tmp_path, formats=("html", "json"))
    assert "There is no complaint about this unit." in (tmp_path / "dossier.html").read_text("utf-8")
    assert done.found.readings == ()
