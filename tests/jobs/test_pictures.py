"""Where pictures of steps are looked for: beside the definition, and nowhere else."""

from __future__ import annotations

from pathlib import Path

import pytest

from traveler.jobs.products import picture


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
