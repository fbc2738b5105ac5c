"""``--language``: sheets in another language than the shop's, or in two; one that nobody wrote is refused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture
def store_url(tmp_path: Path) -> str:
    """Sheets do not depend on the kind of store."""
    return f"sqlite:///{tmp_path / 'records.db'}"


def text_of(file: str) -> str:
    import pypdf

    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(file).pages).split())


def issued(command: Any, *more: str) -> tuple[str, str]:
    said = command("issue", "step-stool", "--variant", "2", "--by", "rhale", "--json", *more)
    assert said.code == 0, said.err
    (unit,) = said.json["units"]
    return unit["serial"], unit["files"][0]


def test_sheets_are_printed_in_the_language_asked_for(command: Any) -> None:
    serial, file = issued(command, "--language", "es")
    assert "Hoja de ruta" in text_of(file)
    again = command("print", serial, "--by", "rhale", "--language", "es+en", "--json")
    text = text_of(again.json["units"][0]["files"][0])
    assert "Hoja de ruta / Traveler" in text
    assert text.index("Comprobaciones finales") < text.index("Final checks")
    english = command("print", serial, "--by", "rhale", "--sheet", "final-checklist", "--json")
    assert "Operation Q complete" in text_of(english.json["units"][0]["files"][0])


def test_the_shop_settles_the_language(command: Any, shop_folder: Path) -> None:
    with (shop_folder / "shop.yaml").open("a", encoding="utf-8") as file:
        file.write("language: es\n")
    _, sheet = issued(command)
    assert "Hoja de ruta" in text_of(sheet)


@pytest.mark.parametrize(
    ("language", "why"),
    [("fr", "no words for sheets in 'fr'"), ("es+es", "twice"), ("en+es+en", "at most 2"), ("", "no words")],
)
def test_a_language_that_cannot_be_printed_is_refused_before_anything_is_done(
    command: Any, shop_folder: Path, language: str, why: str
) -> None:
    said = command("issue", "step-stool", "--variant", "2", "--by", "rhale", "--language", language)
    assert said.code == 2
    assert why in said.err
    assert not (shop_folder / "travelers").exists()


def test_a_misspelt_language_of_the_shop_is_told_with_its_line(command: Any, shop_folder: Path) -> None:
    with (shop_folder / "shop.yaml").open("a", encoding="utf-8") as file:
        file.write("language: spanish\n")
    said = command("issue", "step-stool", "--variant", "2", "--by", "rhale", "--json")
    assert said.code != 0
    assert "SHP004" in said.codes
