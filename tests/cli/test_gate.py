"""The whole job through the command line: issue, record, adjust, release, crate, place, ship, trace."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pytest

GOOD = {
    "10-1": "yes", "10-2": "P-9001/77", "10-3": "P-9002/4100", "10-4/side=left": "0.031",
    "10-4/side=right": "0.028", "10-5": "iwren", "10-6": "yes", "10/sign": "tkiln", "Q-1": "yes",
    "Q-2/side=left": "0.030", "Q/sign": "iwren",
}  # fmt: skip
CRATING = {"C-1/item=1": "yes", "C-1/item=2": "yes", "C-2": "box.jpg", "C-3": "7.05", "C/sign": "pstrap"}
GAUGES = {"10-4": "IND-03", "Q-2": "IND-03", "C-3": "CS-01"}
WHO = {"Q": "iwren", "C": "pstrap", "10-5": "iwren"}
LATER = "2026-11-02T15:00:00+00:00"

Fill = Callable[..., Path]


@pytest.fixture
def fill(command: Any, tmp_path: Path) -> Fill:
    """Fills in a blank, as somebody does with a spreadsheet, and saves it."""

    def filled(serial: str, values: dict[str, str], name: str = "results.csv", **changed: str) -> Path:
        text = command("unit", "blank", serial, "--format", "csv").out
        lines, minute = [], 0
        for blank in text.splitlines():
            line, slot = blank, re.match(r'"([^"]+)"|([^,]*)', blank)
            key = (slot[1] or slot[2]) if slot else ""
            if key in values | changed:
                minute += 1
                value = (values | changed)[key]
                step = key.split("/")[0]
                by = WHO.get(step) or WHO.get(step.split("-")[0], "tkiln")
                unit = {"10-4": "mm", "Q-2": "mm", "C-3": "kg"}.get(step, "")
                hour = 14 if key.startswith("C") else 9
                row = [
                    f'"{key}"',
                    "",
                    "",
                    value,
                    unit,
                    GAUGES.get(step, ""),
                    by,
                    f"2026-11-02 {hour:02}:{minute:02}",
                ]
                line = ",".join([*row, "", ""])
            lines.append(line)
        path = tmp_path / name
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return path

    return filled


def issued(command: Any, count: int = 1, **options: str) -> list[str]:
    extra = [part for name, value in options.items() for part in (f"--{name}", value)]
    said = command(
        "issue", "step-stool", "--variant", "2", "--count", count, "--by", "rhale", "--json", *extra
    )
    assert said.code == 0, said.out
    return [unit["serial"] for unit in said.json["units"]]


def test_a_unit_from_issue_to_shipment(command: Any, fill: Fill, shop_folder: Path) -> None:
    said = command("issue", "step-stool", "--variant", "2", "--order", "4471", "--by", "rhale")
    assert (said.code, said.err) == (0, "")
    assert "issued 1 of step-stool 2, revision A" in said.out
    serial, file = re.search(r"^  (\S+)  (\S+)$", said.out, re.MULTILINE).groups()  # type: ignore[union-attr]
    assert Path(file).read_bytes().startswith(b"%PDF")

    said = command("record", fill(serial, GOOD), now=LATER)
    assert (said.code, said.err.count("(warning)")) == (0, 0)
    assert f"results.csv: {serial}, 11 entries added, 0 recorded before" in said.out
    assert f"{serial}  step-stool 2 A  inspection: 11 of 16 slots, no blocking findings" in said.out

    said = command("release", serial, "--by", "qmoor", now=LATER)
    assert said.code == 0, said.err
    assert f"{serial}: released" in said.out
    assert {path.name for path in (shop_folder / "travelers" / serial).iterdir()} == {
        "traveler.pdf", "certificate.pdf", "arrival-check.pdf", "packing-list.pdf", "unit-label.pdf",
        "crate-label.pdf",
    }  # fmt: skip

    assert command("record", fill(serial, CRATING, "crating.csv"), now=LATER).code == 0
    assert command("crate", serial, "--by", "pstrap", now=LATER).code == 0
    assert command("place", serial, "--to", "Bay 3", "--by", "pstrap", now=LATER).code == 0
    said = command("ship", serial, "--to", "Aldermoor Weavers", "--by", "sdock", "--json", now=LATER)
    assert (said.code, said.json["units"][0]["state"]) == (0, "shipped")

    said = command("trace", serial, now=LATER)
    assert "shipped to Aldermoor Weavers on 2026-11-02" in said.out
    life = command("trace", serial, "--json", now=LATER).json
    assert [entry["body"]["kind"] for entry in life["entries"][-4:]] == [
        "released",
        "crated",
        "placed",
        "shipped",
    ]
    assert life["count"] == len(life["entries"]) == 21
    for option, value in (
        ("--lot", "p-9001/77"), ("--part-serial", "P-9002/4100"), ("--gauge", "IND-03"),
        ("--person", "tkiln"),
        ("--customer", "aldermoor  weavers"), ("--order", "4471"),
    ):  # fmt: skip
        units = command("trace", option, value, "--json").json["units"]
        assert [(unit["serial"], unit["where"]) for unit in units] == [
            (serial, "shipped to Aldermoor Weavers on 2026-11-02")
        ], option
    assert command("records", "verify").code == 0
    assert command("validate", "--all", now=LATER).code == 0


def test_a_filled_traveler_gives_the_same_verdict_as_the_csv(
    command: Any, fill: Fill, shop_folder: Path, tmp_path: Path
) -> None:
    first, second = issued(command, 2)
    command("record", fill(first, GOOD), now=LATER)
    boxes = {**GOOD, "10-3": "P-9002/4101", "10-4#gauge": "IND-03", "Q-2#gauge": "IND-03"}
    boxes |= {f"{step}#by": "tkiln" for step in ("10-1", "10-2", "10-3", "10-4", "10-6")}
    boxes |= {
        "Q-1#by": "iwren",
        "Q-2#by": "iwren",
        "10-5#at": "2026-11-02 09:06",
        "10/sign#at": "2026-11-02 09:08",
    }
    boxes |= {"Q/sign#at": "2026-11-02 09:11"}
    with pikepdf.open(shop_folder / "travelers" / second / "traveler.pdf") as pdf:
        for field in pdf.Root.AcroForm.Fields:
            name = str(field.T)
            if name in boxes:
                tick = field.get("/FT") == "/Btn"
                field.V = pikepdf.Name.on if tick else pikepdf.String(boxes.pop(name))
                boxes.pop(name, None)
        pdf.save(tmp_path / "filled.pdf")
    assert boxes == {}
    said = command("record", tmp_path / "filled.pdf", "--json", now=LATER)
    assert said.code == 0, said.out
    assert said.json["files"][0]["added"] == 11
    slots = []
    for serial in (first, second):
        (unit,) = command("validate", serial, "--json", now=LATER).json["units"]
        unit["slots"].pop("10-3")
        slots.append({name: {**slot, "entry": None} for name, slot in unit["slots"].items()})
    assert slots[0] == slots[1]


def test_a_reading_out_is_told_adjusted_and_read_again(command: Any, fill: Fill, tmp_path: Path) -> None:
    (serial,) = issued(command)
    slot = "10-4/side=left"
    said = command("record", fill(serial, {slot: "0.150"}), now=LATER)
    assert said.code == 1
    assert "REA001" in said.err
    assert f"{serial} {slot}: 0.150 mm against max 0.05 mm: turn ⅝ clockwise" in said.out
    said = command("adjust", serial, "play", now=LATER)
    assert (said.code, said.out.startswith(f"{slot}: 0.150 mm against max 0.05 mm: turn ⅝ clockwise")) == (
        0,
        True,
    )
    said = command(
        "adjust", serial, slot, "--done", "hinge screw", "--amount", "5/8 turn clockwise", "--followed",
        "--by", "tkiln", now="2026-11-02T15:05:00+00:00",
    )  # fmt: skip
    assert said.code == 0, said.err
    again = tmp_path / "again.yaml"
    again.write_text(
        f"serial: {serial}\nby: tkiln\nresults:\n"
        f'  "{slot}": {{value: 0.025 mm, gauge: IND-03, at: 2026-11-02 15:10}}\n'
    )
    said = command("record", again, "--json", now="2026-11-02T15:12:00+00:00")
    assert (said.code, said.json["units"][0]["slots"][slot]["state"]) == (0, "in")
    kinds = [entry["body"]["kind"] for entry in command("trace", serial, "--json").json["entries"]]
    assert kinds == ["issued", "read", "adjusted", "read"]


def test_a_release_is_refused_with_everything_that_stands_against_it(command: Any, fill: Fill) -> None:
    (serial,) = issued(command)
    values = {key: value for key, value in GOOD.items() if key != "10-6"}
    text = fill(serial, values).read_text().replace("IND-03", "IND-07")
    path = fill(serial, values)
    path.write_text(text)
    assert command("record", path, now=LATER).code == 1
    said = command("release", serial, "--by", "awick", "--json", now=LATER)
    assert (said.code, said.json["units"][0]["done"], said.json["units"][0]["files"]) == (1, False, [])
    assert said.codes >= {"GAU004", "MIS002", "SEQ001", "GAT002"}
    assert said.json["units"][0]["state"] == "inspection"


def test_a_changed_definition_is_refused_with_the_change_and_older_units_keep_theirs(
    command: Any, fill: Fill, shop_folder: Path
) -> None:
    (old,) = issued(command)
    file = shop_folder / "product_defs" / "step-stool.yaml"
    file.write_text(file.read_text().replace("max 0.05 mm", "max 0.02 mm"))
    said = command("issue", "step-stool", "--variant", "2", "--by", "rhale")
    assert said.code == 1
    assert "10.4 Play of the hinge: max 0.05 mm → max 0.02 mm" in said.out
    assert "STO001" in said.err
    assert "raise the revision" in said.err
    file.write_text(file.read_text().replace("revision: A", "revision: B"))
    (new,) = issued(command)
    assert command("record", fill(old, GOOD), now=LATER).code == 0
    said = command("record", fill(new, GOOD, "new.csv", **{"10-3": "P-9002/4101"}), "--json", now=LATER)
    assert (said.code, said.codes & {"REA001"}) == (1, {"REA001"})


def test_a_struck_entry_is_shown_as_struck_and_stays(command: Any, fill: Fill) -> None:
    (serial,) = issued(command)
    command("record", fill(serial, {"10-1": "yes"}), now=LATER)
    said = command("unit", "strike", serial, 2, "--reason", "wrong stool", "--by", "tkiln", now=LATER)
    assert (said.code, said.out) == (0, f"{serial} #3: struck out #2\n")
    said = command("trace", serial, now=LATER)
    assert "STRUCK OUT by #3: " in said.out
    entry = command("trace", serial, "--json").json["entries"][1]
    assert (entry["struck_by"], entry["body"]["kind"]) == (3, "ticked")


def test_serials_may_be_typed_in_small_letters(command: Any) -> None:
    (serial,) = issued(command)
    assert command("validate", serial.lower()).code == 0


def test_a_reprint_is_marked_and_recorded(command: Any, shop_folder: Path) -> None:
    (serial,) = issued(command)
    said = command("print", serial, "--by", "tkiln", "--json")
    assert (said.code, Path(said.json["units"][0]["files"][0]).name) == (0, "traveler-copy-2.pdf")
    (shop_folder / "travelers" / serial / "traveler.pdf").unlink()
    said = command("print", "--missing", "--json")
    assert [value["serial"] for value in said.json["units"]] == [serial]
    assert command("print", "--missing").out == "nothing to print\n"
    assert command("print", serial).code == 2
    assert command("print", serial, "--sheet", "poster", "--by", "tkiln").code == 2


def test_a_blank_is_written_whole_and_never_over_another_file(command: Any, tmp_path: Path) -> None:
    (serial,) = issued(command)
    assert command("unit", "blank", serial, "--format", "csv", "--to", tmp_path / "r.csv").code == 0
    said = command("unit", "blank", serial, "--format", "yaml", "--to", tmp_path / "r.csv")
    assert (said.code, "is there already" in said.err) == (2, True)
    assert command("record", tmp_path / "r.csv").code == 0


def test_every_answer_in_json_has_findings_and_exit(command: Any) -> None:
    (serial,) = issued(command)
    for arguments in (
        ["validate", serial], ["trace", serial], ["trace", "--gauge", "IND-03"], ["records", "verify"],
        ["unit", "blank", serial],
        ["note", serial, "x", "--by", "tkiln"], ["release", serial, "--by", "qmoor"],
        ["adjust", serial, "play"],
        ["record", "nosuch.csv"], ["print", serial, "--by", "tkiln"],
        ["issue", "x", "--variant", "2", "--by", "y"],
    ):  # fmt: skip
        said = command(*arguments, "--json")
        document = json.loads(said.out)
        assert (document["exit"], isinstance(document["findings"], list)) == (said.code, True), arguments
