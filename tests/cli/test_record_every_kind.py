"""Every kind of entry, end to end: recorded by a command, judged, told in the unit's life, printed."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any, get_args

import pytest
from PIL import Image

from traveler.record.entry import Body

LOT = """\
format: 1
product: spacer
title: Spacer
revision: A
revised: 2026-01-12
approved_by: rhale
track: lot
serials: {pattern: "SP-{yy}{ww}-{n:04}"}
variants:
  std: {title: Standard}
operations:
  - number: 10
    title: Saw
    steps:
      - fit: Tube
        number: M-12
        trace: lot
      - count: Good, rework and scrap after sawing.
    sign: assembler
"""

LEFT, RIGHT = "10-4/side=left", "10-4/side=right"

LIFE = [  # minute, command; {unit} is the serial
    (5, ("enter", "{unit}", "10-1", "yes", "--by", "tkiln")),
    (6, ("enter", "{unit}", "10-2", "L-77", "--by", "tkiln")),
    (7, ("enter", "{unit}", "10-3", "H-4101", "--by", "tkiln")),
    (8, ("enter", "{unit}", LEFT, "0.125 mm", "--gauge", "IND-03", "--as-found", "--by", "tkiln")),
    (9, ("adjust", "{unit}", LEFT, "--done", "hinge screw", "--amount", "1/2 turn", "--by", "tkiln")),
    (10, ("enter", "{unit}", LEFT, "0.021 mm", "--gauge", "IND-03", "--by", "tkiln")),
    (11, ("enter", "{unit}", RIGHT, "0.091 mm", "--gauge", "IND-03", "--by", "tkiln")),
    (12, ("stop", "{unit}", "--reason", "Play of the right hinge", "--slot", RIGHT, "--by", "tkiln")),
    (13, ("unit", "decide", "{unit}", "{stop}", "--as", "rework", "--reason", "Shim it.", "--by", "qmoor")),
    (14, ("enter", "{unit}", RIGHT, "0.032 mm", "--gauge", "IND-03", "--by", "tkiln")),
    (15, ("enter", "{unit}", "10-5", "iwren", "--by", "iwren")),
    (16, ("enter", "{unit}", "10-6", "no", "--by", "tkiln")),
    (17, ("unit", "strike", "{unit}", "{last}", "--reason", "Ticked the wrong box.", "--by", "tkiln")),
    (18, ("enter", "{unit}", "10-6", "yes", "--by", "tkiln")),
    (19, ("note", "{unit}", "Long cable asked for.", "--by", "rhale")),
    (20, ("enter", "{unit}", "10/sign", "tkiln", "--by", "tkiln")),
    (21, ("enter", "{unit}", "Q-1", "yes", "--by", "iwren")),
    (22, ("enter", "{unit}", "Q-2/side=left", "0.022 mm", "--gauge", "IND-03", "--by", "iwren")),
    (22, ("enter", "{unit}", "Q/sign", "iwren", "--by", "iwren")),
    (23, ("release", "{unit}", "--by", "qmoor")),
    (24, ("enter", "{unit}", "C-1/item=1", "yes", "--by", "pstrap")),
    (25, ("enter", "{unit}", "C-1/item=2", "yes", "--by", "pstrap")),
    (26, ("unit", "attach", "{unit}", "crate.jpg", "--slot", "C-2", "--text", "Open carton",
          "--by", "pstrap")),
    (27, ("enter", "{unit}", "C-3", "7.00 kg", "--gauge", "CS-01", "--by", "pstrap")),
    (28, ("enter", "{unit}", "C/sign", "pstrap", "--by", "pstrap")),
    (29, ("crate", "{unit}", "--by", "pstrap")),
    (30, ("place", "{unit}", "--to", "Bay 3", "--by", "pstrap")),
    (31, ("ship", "{unit}", "--to", "Aldermoor Weavers", "--by", "sdock")),
    (32, ("print", "{unit}", "--sheet", "unit-label", "--by", "sdock")),
    (33, ("complain", "{unit}", "--text", "It rattles.", "--by", "sdock")),
    (34, ("case", "update", "{unit}", "--contained", "Two in stock were looked at.", "--by", "qmoor")),
]  # fmt: skip

TOLD = {  # kind → what the life of the unit says of it, what its printed record shows
    "issued": ("issued, variant 2, revision A", "issued"),
    "ticked": ("Rivet the legs to the treads: done", "Rivet the legs"),
    "fitted": ("fitted P-9001 lot L-77", "L-77"),
    "read": ("read 0.125 mm, with IND-03, as found", "0.125"),
    "adjusted": ("adjusted: hinge screw, 1/2 turn", "hinge screw"),
    "stopped": ("stopped: Play of the right hinge", "Play of the right hinge"),
    "decided": ("decided on #9, rework, Shim it.", "Shim it."),
    "witnessed": ("hold point signed", "iwren"),
    "confirmed": ("No burrs felt: confirmed", "No burrs felt"),
    "struck": ("Ticked the wrong box.", "Ticked the wrong box."),
    "noted": ("Long cable asked for.", "Long cable asked for."),
    "signed": ("signed", "tkiln"),
    "released": ("released after", "released"),
    "packed": ("packed", "Step stool"),
    "photographed": ("Open carton: photograph crate.jpg, Open carton, SHA-256", "Open carton"),
    "crated": ("crated, 7.00 kg", "7.00 kg"),
    "placed": ("placed: Bay 3", "Bay 3"),
    "shipped": ("shipped to Aldermoor Weavers", "Aldermoor Weavers"),
    "reprinted": ("reprinted: Unit label, copy 2", "reprinted"),
    "complained": ("complaint: It rattles.", "It rattles."),
    "followed_up": ("contained: Two in stock were looked at.", "Two in stock were looked at."),
    "counted": ("58 good, 1 rework, 1 scrap", "58"),
}


def at(minute: int) -> str:
    return f"2026-11-02T08:{minute:02}:00+00:00"


REFUSED_SO_FAR = {"8", "9", "11", "12", "16"}
"""Minutes after which something blocks: a reading that is out, a stop, a statement that is not so."""


def issue(command: Any, *words: str, now: str = at(0)) -> str:
    """The serial of a unit issued now."""
    said = command("issue", *words, "--by", "rhale", "--json", now=now)
    assert said.code == 0, said.out
    return str(said.json["units"][0]["serial"])


def run_life(command: Any, unit: str) -> dict[str, Any]:
    """Every step of the life, and then all of it as it is listed."""
    last = stop = 0
    for minute, words in LIFE:
        filled = [word.format(unit=unit, last=last, stop=stop) for word in words]
        said = command(*filled, "--json", now=at(minute))
        found = [value["what"] for value in said.json["findings"] if value["weight"] == "blocking"]
        assert not found or str(minute) in REFUSED_SO_FAR, (filled, found)
        if words[0] == "enter":
            last = said.json["entries"][-1]["seq"]
        elif words[0] == "stop":
            stop = said.json["stopped"][0]["stop"]
    return dict(command("trace", unit, "--json", now=at(40)).json)


def text_of(file: Path) -> str:
    import pypdfium2

    with pypdfium2.PdfDocument(file) as document:
        pages = [page.get_textpage().get_text_bounded() for page in document]
    return re.sub(r"\s+", " ", " ".join(pages))


@pytest.fixture
def crate(shop_folder: Path) -> Path:
    out = io.BytesIO()
    Image.new("RGB", (40, 20), "white").save(out, "JPEG")
    path = shop_folder / "crate.jpg"
    path.write_bytes(out.getvalue())
    return path


def test_every_kind_of_entry_is_recorded_judged_told_and_printed(
    command: Any, shop_folder: Path, crate: Path
) -> None:
    unit = issue(command, "step-stool", "--variant", "2")
    trail = run_life(command, unit)
    assert trail["where"] == "shipped to Aldermoor Weavers on 2026-11-02"
    verdict = command("validate", unit, "--json", now=at(41)).json
    assert (verdict["exit"], verdict["units"][0]["state"]) == (0, "shipped"), verdict["findings"]
    assert {slot["state"] for slot in verdict["units"][0]["slots"].values()} <= {"in", "done"}
    assert command("print", unit, "--sheet", "record", now=at(42)).code == 0
    printed = text_of(shop_folder / "travelers" / unit / "record.pdf")

    (shop_folder / "product_defs" / "spacer.yaml").write_text(LOT, encoding="utf-8")
    lot = issue(command, "spacer", "--variant", "std", "--quantity", "60", now=at(43))
    entered = command(
        "enter", lot, "10-2", "58 good, 1 rework, 1 scrap", "--by", "tkiln", "--json", now=at(44)
    )
    assert [entry["body"]["kind"] for entry in entered.json["entries"]] == ["counted"], entered.out
    assert command("print", lot, "--sheet", "record", now=at(45)).code == 0
    of_lot = text_of(shop_folder / "travelers" / lot / "record.pdf")
    lives = [*trail["entries"], *command("trace", lot, "--json", now=at(45)).json["entries"]]

    kinds = {argument.model_fields["kind"].default for argument in get_args(get_args(Body)[0])}
    assert set(TOLD) == kinds
    seen = {kind: [] for kind in kinds}
    for live in lives:
        seen[live["body"]["kind"]].append(f"{live['label'].rstrip('.')}: {live['text']}")
    missing = [kind for kind, (told, _) in TOLD.items() if not any(told in item for item in seen[kind])]
    assert missing == [], [seen[kind] for kind in missing]
    sheets = dict.fromkeys(kinds, printed) | {"counted": of_lot}
    assert [kind for kind, (_, shown) in TOLD.items() if shown not in sheets[kind]] == []
    assert command("records", "verify", now=at(46)).code == 0


def test_what_was_recorded_long_after_is_marked_late_everywhere(command: Any, shop_folder: Path) -> None:
    unit = issue(command, "step-stool", "--variant", "2")
    words = ("enter", unit, "10-1", "yes", "--by", "tkiln", "--at")
    late = "2026-11-05T09:00:00+00:00"
    done = command(*words, "2026-11-02T08:30", "--json", now=late)
    assert "SEQ007" in done.codes
    command("enter", unit, "10-2", "L-77", "--by", "tkiln", "--at", "2026-11-04T10:00", now=late)
    trail = command("trace", unit, "--json", now=late).json["entries"]
    assert [entry["late_hours"] for entry in trail] == [None, 72, None]
    assert "done (LATE: recorded 3 days afterwards)" in command("trace", unit, now=late).out
    slots = command("validate", unit, "--slots", now=late).out.splitlines()
    assert next(line for line in slots if line.lstrip().startswith("10-1 ")).endswith("done, recorded late")
    assert not any("10-2 " in line and "late" in line for line in slots)
    assert command("print", unit, "--sheet", "record", now=late).code == 0
    assert "late" in text_of(shop_folder / "travelers" / unit / "record.pdf").lower()
