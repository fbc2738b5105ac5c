"""``status``: the floor, and for one unit its state, what blocks it, and the one next command."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

LEFT, RIGHT = "10-4/side=left", "10-4/side=right"
Wrong = Callable[[str], str]


def issue(command: Any, *more: str, **clock: str) -> str:
    said = command("issue", "step-stool", "--variant", "2", "--by", "rhale", "--json", *more, **clock)
    assert said.code == 0, said.err
    return str(said.json["units"][0]["serial"])


def at(minute: int) -> str:
    return f"2026-11-02T09:{minute:02}:00+00:00"


def listed(command: Any, unit: str, now: str, found: dict[str, Any]) -> dict[str, Any]:
    """What the list of all units says of the unit otherwise than the status of the unit alone."""
    units = command("status", "--all", "--json", now=now).json["units"]
    row = next(row for row in units if row["serial"] == unit)
    left = found["state"] in ("shipped", "scrapped")
    unknown = {"done": None, "slots": None, "blocked_by": None} if left else {}
    return {key: value for key, value in row.items() if value != {**found, **unknown}[key]}


def stage(command: Any, wrong_in: Wrong, unit: str, minute: int) -> tuple[str, str, str]:
    """State, what it waits for, and the next command, which must be one that is there."""
    found = command("status", unit[-5:], "--json", now=at(minute)).json
    assert wrong_in(found["next"]) == "" if found["next"] else True
    assert found["serial"] in (found["next"] or found["serial"])
    assert listed(command, unit, at(minute), found) == {}
    return found["state"], found["waits_for"], found["next"].removeprefix("traveler ")


BUILD = [
    ("10-1", "yes"), ("10-2", "L-77"), ("10-3", "H-4101"), (LEFT, "0.031 mm"), (RIGHT, "0.032 mm"),
    ("10-5", "iwren"), ("10-6", "yes"), ("10/sign", "tkiln"), ("Q-1", "yes"), ("Q-2/side=left", "0.022 mm"),
    ("Q/sign", "iwren"),
]  # fmt: skip
CRATE = [
    ("C-1/item=1", "yes"),
    ("C-1/item=2", "yes"),
    ("C-2", "box"),
    ("C-3", "7.00 kg"),
    ("C/sign", "pstrap"),
]
INSPECTOR = ("10-5", "Q-1", "Q-2/side=left", "Q/sign")


def enter(command: Any, unit: str, slot: str, value: str, now: str) -> None:
    by = "iwren" if slot in INSPECTOR else "pstrap" if slot.startswith("C") else "tkiln"
    gauge = {"mm": ("--gauge", "IND-03"), "kg": ("--gauge", "CS-01")}.get(value[-2:], ())
    said = command("enter", unit, slot, value, *gauge, "--by", by, "--json", now=now)
    assert said.json["entries"], (slot, said.out)


def test_the_next_command_leads_a_unit_through_its_life(
    command: Any, wrong_in: Wrong, shop_folder: Any
) -> None:
    unit = issue(command)
    for minute, (slot, value) in enumerate(BUILD, 1):
        _, _, following = stage(command, wrong_in, unit, minute)
        assert following.startswith(f"enter {unit} {slot} "), following
        enter(command, unit, slot, value, at(minute))
    assert stage(command, wrong_in, unit, 20) == ("inspection", "release", f"release {unit} --by ID")
    assert command("release", unit, "--by", "qmoor", now=at(20)).code == 0
    from PIL import Image

    Image.new("RGB", (40, 20), "white").save(shop_folder / "box.jpg")
    for minute, (slot, value) in enumerate(CRATE, 21):
        following = stage(command, wrong_in, unit, minute)[2]
        if slot == "C-2":
            assert following == f"unit attach {unit} FILE --slot C-2 --by ID"
            assert command(
                "unit", "attach", unit, "box.jpg", "--slot", "C-2", "--by", "pstrap", now=at(minute)
            )
            continue
        assert following.startswith(f"enter {unit} {slot} "), following
        enter(command, unit, slot, value, at(minute))
    assert stage(command, wrong_in, unit, 30) == ("released", "the crate", f"crate {unit} --by ID")
    assert command("crate", unit, "--by", "pstrap", now=at(30)).code == 0
    assert stage(command, wrong_in, unit, 31)[2] == f"place {unit} --to PLACE --by ID"
    assert command("place", unit, "--to", "Bay 3", "--by", "pstrap", now=at(31)).code == 0
    assert stage(command, wrong_in, unit, 32)[2] == f"ship {unit} --to CUSTOMER --by ID"
    assert command("stop", unit, "--slot", "10-1", "--reason", "Dull", "--by", "tkiln", now=at(32)).code == 0
    stop = int(stage(command, wrong_in, unit, 32)[1].removeprefix("a decision on stop #").split(":")[0])
    assert stage(command, wrong_in, unit, 32)[::2] == (
        "in stock", f"unit decide {unit} {stop} --as DECISION --by ID",
    )  # fmt: skip
    decision = ("--as", "use-as-is", "--concession", "C-1", "--by", "qmoor")
    assert command("unit", "decide", unit, str(stop), *decision, now=at(32)).code == 0
    assert command("ship", unit, "--to", "Aldermoor Weavers", "--by", "sdock", now=at(32)).code == 0
    assert stage(command, wrong_in, unit, 33) == ("shipped", "", "")
    assert command("complain", unit, "--text", "Hums", "--by", "sdock", now=at(34)).code == 0
    state, waits_for, following = stage(command, wrong_in, unit, 35)
    assert (state, waits_for.rpartition(": ")[2]) == ("shipped", "open")
    assert following.startswith(f"case show {unit}/")
    assert command("status", now=at(35)).out == "no unit is on the floor\n"
    assert command("stop", unit, "--reason", "Hums", "--by", "tkiln", now=at(35)).code == 0
    stopped = command("status", unit, "--json", now=at(35)).json
    assert stopped["where"] == "stopped, shipped to Aldermoor Weavers on 2026-11-02"
    assert command("status", now=at(35)).out == "no unit is on the floor\n"
    assert unit in command("status", "--all", now=at(35)).out


def test_what_is_not_crated_waits_for_a_place_after_its_release(
    command: Any, wrong_in: Wrong, shop_folder: Any
) -> None:
    definition = shop_folder / "product_defs" / "step-stool.yaml"
    text = definition.read_text(encoding="utf-8")
    definition.write_text(text[: text.index("\ncrating:") + 1], encoding="utf-8")
    unit = issue(command)
    for minute, (slot, value) in enumerate(BUILD, 1):
        enter(command, unit, slot, value, at(minute))
    assert command("release", unit, "--by", "qmoor", now=at(20)).code == 0
    place = f"place {unit} --to PLACE --by ID"
    assert stage(command, wrong_in, unit, 21) == ("released", "a place in stock", place)
    assert command("place", unit, "--to", "Bay 3", "--by", "pstrap", now=at(22)).code == 0


def test_what_blocks_a_unit_comes_first(command: Any, wrong_in: Wrong) -> None:
    unit = issue(command)
    enter(command, unit, LEFT, "0.125 mm", at(1))
    state, waits_for, following = stage(command, wrong_in, unit, 2)
    assert (state, waits_for) == ("building", f"{LEFT}: reading outside limits")
    assert following == f"adjust {unit} {LEFT}"
    told = command("status", unit, now=at(2)).out
    assert "blocked by:" in told
    assert "REA001" in told
    assert told.splitlines()[-1] == f"next: traveler adjust {unit} {LEFT}"
    command("stop", unit, "--reason", "Dented", "--by", "tkiln", now=at(3))
    assert stage(command, wrong_in, unit, 4) == (
        "stopped", "a decision on stop #3: Dented", f"unit decide {unit} 3 --as DECISION --by ID",
    )  # fmt: skip
    decided = command("unit", "decide", unit, "3", "--as", "scrap", "--by", "qmoor", now=at(5))
    assert decided.code == 0, decided.err
    assert stage(command, wrong_in, unit, 6) == ("scrapped", "", "")


def test_the_floor_lists_the_latest_first(command: Any) -> None:
    soon = issue(command, "--due", "2026-11-05")
    late = issue(command, "--due", "2026-10-30", now="2026-10-29T08:00:00+00:00")
    free = issue(command)
    found = command("status", "--json", now=at(1)).json["units"]
    assert [(unit["serial"], unit["due"], unit["days_late"]) for unit in found] == [
        (late, "2026-10-30", 3), (soon, "2026-11-05", 0), (free, None, 0),
    ]  # fmt: skip
    assert {unit["operation"] for unit in found} == {"10 Frame"}
    assert found[0]["waits_for"].startswith("10-1 ")
    lines = command("status", now=at(1)).out.splitlines()
    assert lines[0].split() == [
        "serial",
        "built",
        "as",
        "state",
        "operation",
        "waits",
        "for",
        "due",
        "days",
        "late",
    ]
    assert lines[2].split()[-1] == "3"
    assert command("status", late, now=at(1)).out.startswith(
        f"{late}  step-stool 2 A: issued, due 2026-10-30, 3 days late\n"
    )


@pytest.mark.parametrize("columns", ["60", "200"])
def test_the_floor_fits_narrow_and_wide_terminals(
    command: Any, monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    unit = issue(command, "--due", "2026-11-05")
    monkeypatch.setenv("COLUMNS", columns)
    out = command("status", now=at(1)).out
    assert unit in out
    assert max(map(len, out.splitlines())) <= int(columns)
