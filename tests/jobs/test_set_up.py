"""A new shop's folder opens without a finding, and what is there is never overwritten."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from traveler.finding import CannotDo
from traveler.jobs.open import open_session
from traveler.jobs.set_up import set_up
from traveler.shop.settings import Settings

NOW = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)
NAMES = ["Marrowby Machine Works", 'A "quoted" name: with # and {braces}', "Tür & Öl", "- dash", "0017", "no"]


@pytest.mark.parametrize("name", NAMES)
def test_a_new_shop_opens_and_keeps_its_name(name: str, tmp_path: Path) -> None:
    set_up(tmp_path / "shop", Settings(name=name, page_size="Letter", time_zone="Europe/Madrid"))
    opened = open_session(tmp_path / "shop", NOW)
    assert opened.findings == ()
    assert opened.session is not None
    settings = opened.session.shop.settings
    assert (settings.name, settings.page_size, settings.time_zone) == (name, "Letter", "Europe/Madrid")
    opened.session.store.close()


def test_the_examples_in_the_comments_are_right(tmp_path: Path) -> None:
    set_up(tmp_path, Settings(name="X"))
    for name in ("people.yaml", "gauges.yaml"):
        lines = (tmp_path / name).read_text("utf-8").splitlines()
        shown = [line[1:] if line.startswith("#  ") else line for line in lines]
        text = "\n".join(shown).replace(": []", ":")
        (tmp_path / name).write_text(text, "utf-8")
    opened = open_session(tmp_path, NOW)
    assert opened.findings == ()
    assert opened.session is not None
    assert opened.session.shop.people.by_id["rhale"].roles
    assert opened.session.shop.gauges.by_id["IND-03"].calibrations
    opened.session.store.close()


def test_a_shop_that_is_there_is_left_alone(shop_folder: Path) -> None:
    before = {path: path.read_bytes() for path in shop_folder.rglob("*.yaml")}
    with pytest.raises(CannotDo, match="already"):
        set_up(shop_folder, Settings(name="Other"))
    assert {path: path.read_bytes() for path in shop_folder.rglob("*.yaml")} == before


def test_a_register_that_is_there_is_kept(tmp_path: Path) -> None:
    (tmp_path / "people.yaml").write_text("people: []\n", "utf-8")
    made = set_up(tmp_path, Settings(name="X"))
    assert [file.name for file in made.files] == ["gauges.yaml", "shop.yaml"]
