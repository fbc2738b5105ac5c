"""A blank: every slot in it, harmless in a spreadsheet, and no result when it is read back."""

from __future__ import annotations

import csv
import io

import yaml

from traveler.record.readers.blank import blank_csv, blank_yaml
from traveler.record.readers.files import read_results


def rows(text: str) -> list[dict[str, str]]:
    lines = [line for line in text.lstrip("\ufeff").splitlines() if not line.lstrip('"').startswith("#")]
    return list(csv.DictReader(lines))


def test_a_blank_read_back_holds_no_result_and_no_finding(desk):
    for file, content in (
        ("b.csv", blank_csv(desk.plan, desk.serial)),
        ("b.yaml", blank_yaml(desk.plan, desk.serial)),
    ):
        read = desk.read(content.encode(), file)
        assert (read.drafts, read.findings, read.known) == ((), (), 0)
        head = read_results(content.encode(), file).head
        assert {name: cell.text for name, cell in head.items()} == {
            "serial": desk.serial, "revision": "D", "digest": desk.digest,
        }  # fmt: skip


def test_a_blank_names_every_slot_the_floor_writes_to(desk):
    wanted = [slot.id for slot in desk.plan.slots() if slot.kind != "worked"]
    assert [row["slot"] for row in rows(blank_csv(desk.plan, desk.serial))] == wanted
    assert list(yaml.safe_load(blank_yaml(desk.plan, desk.serial))["results"]) == wanted


def test_a_reading_typed_into_a_blank_takes_the_unit_that_stands_there(desk):
    filled = rows(blank_csv(desk.plan, desk.serial))
    for row in filled:
        if row["slot"].startswith("10-4/"):
            row["value"] = "0,041"
    made = io.StringIO()
    writer = csv.DictWriter(made, list(filled[0]))
    writer.writeheader()
    writer.writerows(filled)
    drafts = desk.read(f"# serial: {desk.serial}\n{made.getvalue()}".encode()).drafts
    assert [(draft.body.value, draft.body.unit) for draft in drafts] == [("0.041", "mm")] * 2


def test_a_filled_yaml_blank_is_read(desk):
    text = blank_yaml(desk.plan, desk.serial).replace("by:", "by: tkiln").replace('"10-1":', '"10-1": yes')
    text = text.replace('{value: , unit: "kg", gauge: }', '{value: 48.3, unit: "kg", gauge: SCALE-1}')
    drafts = desk.read(text.encode(), "b.yml", by=None).drafts
    assert [(draft.slot, draft.by) for draft in drafts] == [("10-1", "tkiln"), ("C-3", "tkiln")]


def test_no_cell_of_a_blank_is_a_formula(desk):
    text = blank_csv(desk.plan, desk.serial)
    cells = [cell for row in rows(text) for cell in row.values()]
    assert "'=Bolt both end plates" in cells
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t", "\r"))]
    assert text.startswith("\ufeff#"), "a spreadsheet takes the text for UTF-8 by this mark"
