"""Pictures of steps: where they lie, what is said of those that cannot be printed, which ones are kept."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from PIL import Image

from traveler.jobs.definitions import load_beside
from traveler.record.audit import named_files
from traveler.record.entry import KeptPicture
from traveler.sheets.batch.catalog import SHEETS
from traveler.sheets.definition_pictures import picture, picture_reader
from traveler.trace.judging import judge


def test_a_picture_lies_beside_the_definition_or_in_its_folder_of_pictures(tmp_path: Path) -> None:
    (tmp_path / "pictures").mkdir()
    for place in (tmp_path / "a.svg", tmp_path / "pictures" / "b.svg"):
        place.write_text("<svg/>")
        assert picture(tmp_path, place.name) == place


@pytest.mark.parametrize(
    "name", ["../a.svg", "pictures/../../a.svg", "/etc/hostname", "..", ".", "a\x00.svg", ""]
)
def test_a_name_that_leads_elsewhere_is_no_picture(tmp_path: Path, name: str) -> None:
    (tmp_path / "a.svg").write_text("<svg/>")
    (tmp_path / "defs").mkdir()
    assert picture(tmp_path / "defs", name) is None


def test_a_picture_that_cannot_be_printed_is_told_where_it_is_named(tmp_path: Path) -> None:
    definition = shutil.copy(Path(__file__).parents[1] / "world/product_defs/step-stool.yaml", tmp_path)
    file = Path(definition)
    named = file.read_text("utf-8").replace(
        "- do: Rivet the legs to the treads.",
        "- do: Rivet the legs to the treads.\n        picture: legs.svg",
    )
    file.write_text(named, "utf-8")
    for content, said in (
        (None, "'legs.svg' is not there"),
        (b"GIF89a", "'legs.svg' is neither SVG nor PNG nor JPEG"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "nothing in a drawing may run"),
        (b"<svg>" + b" " * 12_000_000, "12,000,005 bytes"),
    ):
        if content is not None:
            (tmp_path / "legs.svg").write_bytes(content)
        (finding,) = load_beside(file, None).findings
        assert finding.code == "DEF105"
        assert said in finding.what
        assert finding.place.line == 1 + named[: named.index("legs.svg")].count("\n")
    (tmp_path / "legs.svg").write_bytes(b"<svg xmlns='http://www.w3.org/2000/svg'/>")
    assert load_beside(file, None).findings == ()


def square(colour: str) -> str:
    return f"<svg xmlns='http://www.w3.org/2000/svg'><rect width='9' height='9' fill='{colour}'/></svg>"


RED, GREEN = square("#f00000"), square("#00f000")


@pytest.fixture
def pictured(shop_folder: Path, edit: Callable[[str, str], None]) -> Path:
    """The small product with a red picture in its first step."""
    first = "- do: Rivet the legs to the treads."
    edit(first, f"{first}\n        picture: legs.svg")
    picture_file = shop_folder / "product_defs" / "legs.svg"
    picture_file.write_text(RED, "utf-8")
    return picture_file


def shown(bench: Any, serial: str, name: str = "legs.svg") -> bytes | None:
    """The picture as a sheet of the unit printed now gets it."""
    with bench.session.store.reading() as records:
        unit = records.unit(serial)
    return picture_reader(bench.session, unit.digest)(name)


def test_a_traveler_printed_again_shows_the_picture_of_the_issue(bench: Any, pictured: Path) -> None:
    serial = bench.unit()
    with bench.session.store.reading() as records:
        judged = judge(bench.session, records, serial)
        (kept,) = records.attachments()
    assert judged.entries[0].body.pictures == (KeptPicture(name="legs.svg", file=kept.digest),)
    assert bench.session.store.attachments.get(kept.digest) == RED.encode()
    pictured.write_text(GREEN, "utf-8")
    again = SHEETS["traveler"].render(bench.session, judged, 2)
    with pikepdf.open(BytesIO(again.pdf)) as pdf:
        drawn = b"".join(content.read_bytes() for page in pdf.pages for content in page.Contents)
    assert (b"0.941176 0 0 rg" in drawn, b"0 0.941176 0 rg" in drawn) == (True, False)


def test_units_of_one_definition_share_their_pictures_and_a_change_is_told(
    bench: Any, pictured: Path
) -> None:
    first = bench.unit()
    pictured.write_text(GREEN, "utf-8")
    done = bench.issue(variant="3")
    assert [finding.code for finding in done.findings] == ["ISS004"]
    assert "legs.svg was changed since revision A" in done.findings[0].what
    with bench.session.store.reading() as records:
        bodies = [records.entries(serial)[0].body for serial in (first, *done.serials)]
    assert bodies[0].pictures == bodies[1].pictures
    assert shown(bench, done.serials[0]) == RED.encode()


def test_a_picture_that_is_the_same_or_gone_is_no_change(bench: Any, pictured: Path) -> None:
    first = bench.unit()
    assert bench.issue().findings == ()
    pictured.unlink()
    assert shown(bench, first) == RED.encode()


def test_a_raised_revision_takes_the_new_picture(
    bench: Any, pictured: Path, edit: Callable[[str, str], None]
) -> None:
    old = bench.unit()
    pictured.write_text(GREEN, "utf-8")
    edit("revision: A", "revision: B\nchange: New picture")
    new = bench.unit()
    assert (shown(bench, old), shown(bench, new)) == (RED.encode(), GREEN.encode())


def test_a_kept_picture_that_is_lost_is_missing_and_no_other_takes_its_place(
    bench: Any, pictured: Path
) -> None:
    serial = bench.unit()
    pictured.write_text(GREEN, "utf-8")
    with bench.session.store.reading() as records:
        (kept,) = records.attachments()
    bench.session.store.attachments.path(kept.digest).unlink()
    assert shown(bench, serial) is None


def test_a_picture_of_the_product_is_kept_too_and_one_that_came_later_is_not_shown(
    bench: Any, pictured: Path
) -> None:
    cover = pictured.with_name("step-stool.png")
    Image.new("L", (8, 8)).save(cover)
    serial = bench.unit()
    before = cover.read_bytes()
    cover.unlink()
    pictured.with_name("step-stool.svg").write_text(GREEN, "utf-8")
    assert (shown(bench, serial, "step-stool.png"), shown(bench, serial, "step-stool.svg")) == (before, None)


def test_without_kept_pictures_those_of_the_folder_are_shown(bench: Any, shop_folder: Path) -> None:
    serial = bench.unit()
    (shop_folder / "product_defs" / "step-stool.svg").write_text(GREEN, "utf-8")
    assert shown(bench, serial, "step-stool.svg") == GREEN.encode()


def test_kept_pictures_go_into_the_bag_of_a_unit(bench: Any, pictured: Path) -> None:
    serial = bench.unit()
    with bench.session.store.reading() as records:
        (named,) = named_files(records.entries(serial))
        kept = records.attachment(named)
    assert kept is not None
    assert (kept.name, kept.size) == ("legs.svg", len(RED))
