"""Where templates come from, and that a sheet fetches nothing else."""

from __future__ import annotations

import pytest

from traveler.definition.plan import StepKind
from traveler.sheets.make import page_environment
from traveler.sheets.pdf.render import AssetSource
from traveler.sheets.templates import shipped_folder, templates
from traveler.sheets.traveler import traveler_pdf
from traveler.sheets.words import words


@pytest.fixture
def shop(tmp_path):
    (tmp_path / "templates" / "sheets").mkdir(parents=True)
    return tmp_path


def test_the_shops_own_template_wins_and_the_rest_is_shipped(shop):
    (shop / "templates" / "sheets" / "page.css").write_text("/* ours */", encoding="utf-8")
    shelf = templates(shop)
    assert shelf.read("sheets/page.css") == b"/* ours */"
    assert shelf.read("sheets/sheet.css") == (shipped_folder() / "sheets" / "sheet.css").read_bytes()


@pytest.mark.parametrize(
    "name", ["../pyproject.toml", "sheets/../../secret", "/etc/passwd", "sheets//page.css", ""]
)
def test_a_name_cannot_leave_the_folders(name):
    assert templates().find(name) is None
    with pytest.raises(FileNotFoundError):
        templates().read(name)


def test_undefined_names_fail_and_text_is_escaped():
    environment = page_environment(templates(), words("en", templates()))
    with pytest.raises(Exception, match="nothing_of_the_sort"):
        environment.from_string("{{ nothing_of_the_sort }}").render()
    assert environment.from_string("{{ text }}").render(text="<b>&") == "&lt;b&gt;&amp;"


def test_markup_in_a_definition_is_printed_as_written(plan_of, step, unit, settings, printed, reader):
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt <b>it</b> & {{ go }}"),))
    assert "Bolt <b>it</b> & {{ go }}" in reader(traveler_pdf(plan, unit, settings, printed).pdf).text()


@pytest.mark.parametrize(
    "url", ["file:///etc/passwd", "https://mmw.example/x.css", "picture:unknown.svg", "shop:../x"]
)
def test_a_sheet_fetches_nothing_but_what_it_was_given(url):
    with pytest.raises((ValueError, FileNotFoundError)):
        AssetSource(templates(), {}).take(url)


@pytest.mark.parametrize(
    "rule",
    [
        "p { no-such-property: red }",
        'p { font-family: "Never Heard" ',
        'body { background: url("https://mmw.example/x.png") }',
    ],
)
def test_what_the_page_engine_complains_about_is_a_finding(
    shop, rule, plan_of, step, unit, settings, printed
):
    css = (shipped_folder() / "sheets" / "sheet.css").read_text(encoding="utf-8")
    (shop / "templates" / "sheets" / "sheet.css").write_text(f"{css}\n{rule}", encoding="utf-8")
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it."),))
    sheet = traveler_pdf(plan, unit, settings, printed, templates=templates(shop))
    if "Never" in rule:
        assert sheet.printed
    else:
        assert {finding.code for finding in sheet.findings} == {"SHT010"}
        assert not sheet.printed


@pytest.mark.parametrize(
    ("page", "said"),
    [
        ("{{ nothing_of_the_sort }}", "nothing_of_the_sort"),
        ("{% if %}", "line 1"),
        ('{% include "sheets/none.html" %}', "none.html"),
        ("{{ 1 / 0 }}", "zero"),
    ],
)
def test_a_template_that_fails_is_a_finding(shop, page, said, plan_of, step, unit, settings, printed):
    (shop / "templates" / "sheets" / "traveler.html").write_text(page, encoding="utf-8")
    plan = plan_of((step("10", 1, StepKind.DO, "Bolt it."),))
    sheet = traveler_pdf(plan, unit, settings, printed, templates=templates(shop))
    assert [finding.code for finding in sheet.findings] == ["SHT011"]
    assert said in sheet.findings[0].what
