"""Where pictures of steps are looked for: beside the definition, and nowhere else."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from traveler.jobs.products import load_beside, picture


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
