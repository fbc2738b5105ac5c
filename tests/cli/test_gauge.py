"""The commands about gauges: register, due list, calibration, withdrawal, recall."""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from traveler.demo.floor import Floor, as_csv
from traveler.jobs.open import open_session
from traveler.record.plans import plan_of

LATER = "2026-11-03T08:00:00+00:00"


@pytest.fixture
def unit(command: Any, shop_folder: Path) -> str:
    """A unit built and inspected, its left hinge read as 0.041 mm with IND-03."""
    said = command("issue", "step-stool", "--variant", "2", "--by", "rhale", "--json")
    serial: str = said.json["units"][0]["serial"]
    opened = open_session(shop_folder, datetime(2026, 11, 2, 8, 0, tzinfo=UTC))
    assert opened.session is not None
    with opened.session.store as store, store.reading() as records:
        known = records.unit(serial)
        assert known is not None
        plan = plan_of(records, known)
    floor = Floor(opened.session.shop.gauges, "tkiln")
    made = [
        replace(filling, value="0.041", gauge="IND-03") if filling.slot.id == "10-4/side=left" else filling
        for filling in floor.fillings(plan, datetime(2026, 11, 2, 8, 10, tzinfo=UTC))
    ]
    (shop_folder / "r.csv").write_bytes(as_csv(made, serial, plan))
    assert command("record", "r.csv", now="2026-11-02T12:00:00+00:00").code == 0
    return serial


def test_the_register_is_shown_with_its_state_and_use(command: Any, unit: str) -> None:
    said = command("gauge", "list")
    assert said.code == 0
    line = next(value for value in said.out.splitlines() if "IND-03" in value)
    assert [word for word in ("0 to 1 mm", "0.003 mm", "fit", "2027-02-02") if word not in line] == []
    document = command("gauge", "list", "IND-03", "--json").json
    (gauge,) = document["gauges"]
    assert (gauge["state"], gauge["units"]) == ("fit", 1)
    assert gauge["calibrations"][0]["certificate"] == "C-2201"


def test_due_gauges_are_listed_within_a_time(command: Any) -> None:
    assert "IND-07" in command("gauge", "due").out
    assert command("gauge", "due", "--within", "14w", "--json").json["within_days"] == 98
    assert len(command("gauge", "due", "--within", "14w", "--json").json["gauges"]) == 3
    refused = command("gauge", "due", "--within", "soon")
    assert (refused.code, refused.err) == (
        2,
        "traveler: not a duration: 'soon'; write it as 30d, 6w, 6m or 1y\n",
    )


def test_a_gauge_goes_through_withdrawal_calibration_and_recall(
    command: Any, unit: str, shop_folder: Path
) -> None:
    out = command("gauge", "withdraw", "IND-03", "--reason", "Dropped.", "--by", "tkiln", now=LATER)
    assert (out.code, "IND-03 is out of use" in out.out) == (0, True)
    calibrated = (
        "gauge", "calibrate", "IND-03", "--on", "2026-11-03", "--result", "good", "--as-found", "out",
        "--error", "-0.01 mm", "--certificate", "C-9",
    )  # fmt: skip
    refused = command(*calibrated, "--by", "tkiln", "--json", now=LATER)
    assert (refused.code, refused.codes >= {"GAT002"}) == (1, True)
    done = command(*calibrated, "--by", "qmoor", "--json", now=LATER)
    assert (done.code, done.codes) == (0, {"CAL003", "CAL005"})
    assert done.json["written"]["error"] == "-0.01 mm"
    assert command("gauge", "restore", "IND-03", "--by", "qmoor", now=LATER).code == 0
    listed = command("gauge", "list", "IND-03").out
    assert "was out of use from 2026-11-03 08:00 until 2026-11-03 08:00" in listed

    found = command("gauge", "recall", "IND-03", "--to", "a.csv", now=LATER)
    assert found.code == 1
    since = "since its last good calibration on 2026-02-02"
    assert f"readings from 2026-02-02 to 2026-11-03, {since}" in found.out
    assert "1 unit with 1 slot would not have been accepted; 0 of them shipped" in found.out
    assert f"{unit}: inspection" in found.out
    assert "0.051 mm" in found.out
    assert "RCL001" in found.err
    with (shop_folder / "a.csv").open(encoding="utf-8", newline="") as file:
        assert [row["change"] for row in csv.DictReader(file)] == ["fails", "", ""]

    everything = command("gauge", "recall", "IND-03", "--all", now=LATER)
    assert everything.out.count("10-4/side=right") == 1
    stopped = command("gauge", "recall", "IND-03", "--stop", "--by", "qmoor", "--json", now=LATER)
    assert [item["serial"] for item in stopped.json["stopped"]] == [unit]
    assert "stopped" in command("trace", unit).out


def test_a_recall_that_changes_nothing_is_fine(command: Any, unit: str) -> None:
    said = command("gauge", "recall", "IND-03", "--error", "+0.02 mm", now=LATER)
    assert (said.code, said.err) == (0, "")
    assert f"still accepted: {unit}" in said.out


WRONG = [
    (("gauge", "recall", "IND-03", "--error", "0.02 mm"), "does not say which way"),
    (("gauge", "recall", "IND-3", "--error", "+0.02 mm"), "did you mean 'IND-03'?"),
    (("gauge", "recall", "IND-03"), "neither given nor in the register"),
    (("gauge", "recall", "IND-03", "--error", "+0.02 mm", "--since", "monday"), "is not a day"),
    (("gauge", "recall", "IND-03", "--error", "+0.02 mm", "--stop"), "--stop needs to know who"),
    (("gauge", "withdraw", "IND-03", "--reason", "", "--by", "tkiln"), "needs a reason"),
    (("gauge", "list", "IND-3"), "did you mean 'IND-03'?"),
    (
        ("gauge", "calibrate", "IND-03", "--on", "2026-02-30", "--result", "good", "--as-found", "in",
         "--by", "qmoor"),
        "is not a day",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("words", "said"), WRONG)
def test_what_cannot_be_done_is_said_in_one_line(command: Any, words: tuple[str, ...], said: str) -> None:
    answer = command(*words)
    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err
    assert answer.err.count("\n") == 1


def test_every_command_says_alike_through_which_day_a_gauge_was_good(command: Any, units: list[str]) -> None:
    serial = units[0]
    command("enter", serial, "10-4/side=left", "0.031 mm", "--gauge", "IND-07", "--by", "tkiln")
    due = command("gauge", "list", "IND-07", "--json").json["gauges"][0]["due"]
    says = f"was good through {due}"
    watched = command("shop", "watch", "--json").json["notices"]
    told = {
        "watch": next(notice["what"] for notice in watched if notice["subject"] == "gauge"),
        "validate": command("validate", serial, "--json").out,
        "dossier": command("unit", "dossier", serial, "--format", "html", "--json").out,
    }
    assert [name for name, text in told.items() if says not in text] == []
    assert [name for name, text in told.items() if re.search(rf"(since|out on) {due}", text)] == []
