"""Changing ``gauges.yaml`` in one place: what is asked for changes, and nothing else."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.finding import CannotDo
from traveler.shop.edit import change_gauges, with_end, with_item

ITEM = {"on": "2026-11-02", "certificate": "C-9"}
SAID = "{on: 2026-11-02, certificate: C-9}"
BACK = {"back": "2026-11-02T14:30"}

BLOCKS = "gauges:\n- id: A\n  calibrations:\n    - on: 2026-01-05  # by post\n      certificate: C-1 # see\n"
LINES = "gauges:\n- id: A\n  title: |\n    a dial\n    with a crack\n"

LONGER = {
    "a block of blocks, with remarks": (
        f"{BLOCKS}  # the next one\n- id: B\n",
        f"{BLOCKS}    - {SAID}\n  # the next one\n- id: B\n",
    ),
    "a block of lines": (
        "gauges:\n- id: A\n  calibrations:\n  - {on: 2026-01-05} # first\n  kind: x\n",
        f"gauges:\n- id: A\n  calibrations:\n  - {{on: 2026-01-05}} # first\n  - {SAID}\n  kind: x\n",
    ),
    "on one line": (
        "gauges:\n- id: A\n  calibrations: [{on: 2026-01-05}] # one\n",
        f"gauges:\n- id: A\n  calibrations: [{{on: 2026-01-05}}, {SAID}] # one\n",
    ),
    "an empty list": (
        "gauges:\n- id: A\n  calibrations: [ ]\n", f"gauges:\n- id: A\n  calibrations: [{SAID} ]\n",
    ),
    "nothing after the colon": (
        "gauges:\n- id: A\n  calibrations: # none yet\n  kind: x\n",
        f"gauges:\n- id: A\n  calibrations: [{SAID}] # none yet\n  kind: x\n",
    ),
    "no list yet": (
        "gauges:\n- id: A  # first\n  kind: x # plain\n\n# end\n- id: B\n",
        f"gauges:\n- id: A  # first\n  kind: x # plain\n  calibrations:\n    - {SAID}\n\n# end\n- id: B\n",
    ),
    "no list yet, at the end of the file": (
        "gauges:\n  - id: A", f"gauges:\n  - id: A\n    calibrations:\n      - {SAID}",
    ),
    "all on one line": (
        "gauges: [{id: A, kind: x}, {id: B}]\n",
        f"gauges: [{{id: A, kind: x, calibrations: [{SAID}]}}, {{id: B}}]\n",
    ),
    "with Windows lines": (
        "gauges:\r\n- id: A\r\n  calibrations:\r\n  - {on: 2026-01-05}\r\n- id: B\r\n",
        f"gauges:\r\n- id: A\r\n  calibrations:\r\n  - {{on: 2026-01-05}}\r\n  - {SAID}\r\n- id: B\r\n",
    ),
    "after a text of several lines": (
        f"{LINES}- id: B\n", f"{LINES}  calibrations:\n    - {SAID}\n- id: B\n",
    ),
}  # fmt: skip

HEAD = "gauges:\n- id: A\n  withdrawals:\n  - "

ENDED = {
    "a line": (
        f"{HEAD}{{out: 2026-11-01, reason: 'no, #2'}} # why\n",
        f"{HEAD}{{out: 2026-11-01, reason: 'no, #2', back: 2026-11-02T14:30}} # why\n",
    ),
    "a block": (
        f"{HEAD}out: 2026-11-01\n    by: t # he\n  kind: x\n",
        f"{HEAD}out: 2026-11-01\n    by: t # he\n    back: 2026-11-02T14:30\n  kind: x\n",
    ),
    "the one day": (
        "gauges:\n- id: A\n  withdrawn: 2026-11-01 # why\n  kind: x\n",
        "gauges:\n- id: A\n  withdrawals: [{out: 2026-11-01, back: 2026-11-02T14:30}] # why\n  kind: x\n",
    ),
}


@pytest.mark.parametrize("name", LONGER)
def test_a_list_gets_longer_in_every_way_it_may_be_written(name: str) -> None:
    before, expected = LONGER[name]
    assert with_item(before, "A", "calibrations", ITEM) == expected


@pytest.mark.parametrize("name", ENDED)
def test_a_withdrawal_ends_in_every_way_it_may_be_written(name: str) -> None:
    before, expected = ENDED[name]
    assert with_end(before, "A", 0, BACK) == expected


REFUSED = {
    "no such gauge": "gauges:\n- id: B\n",
    "no gauges": "gauges: []\n",
    "an empty file": "",
    "a text instead of the list": "gauges:\n- id: A\n  calibrations: never\n",
    "shared by reference": "gauges:\n- &a {id: A}\n- *a\n",
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_changed_safely_is_refused(name: str) -> None:
    assert with_item(REFUSED[name], "A", "calibrations", ITEM) is None


@pytest.mark.parametrize(
    "text", ["gauges:\n- id: A\n", "gauges:\n- id: A\n  withdrawals: []\n", "gauges:\n- id: B\n"]
)
def test_without_a_withdrawal_there_is_none_to_end(text: str) -> None:
    assert with_end(text, "A", 0, BACK) is None


def test_a_refused_change_leaves_the_file_and_says_what_to_write(tmp_path: Path) -> None:
    path = tmp_path / "gauges.yaml"
    path.write_bytes(b"gauges: []\n")
    with pytest.raises(CannotDo, match="cannot be edited safely") as refused:
        change_gauges(tmp_path, lambda _: None, "A, calibrations: {on: 2026-11-02}")
    assert refused.value.hint == "write it by hand at A, calibrations: {on: 2026-11-02}"
    assert path.read_bytes() == b"gauges: []\n"
    assert [path.name for path in tmp_path.iterdir()] == ["gauges.yaml"]


def test_two_changes_at_once_are_both_kept(tmp_path: Path) -> None:
    from concurrent.futures import ThreadPoolExecutor

    path = tmp_path / "gauges.yaml"
    path.write_text("gauges:\n- id: A\n", encoding="utf-8")

    def add(number: int) -> None:
        item = {"on": "2026-11-02", "certificate": f"C-{number}"}
        change_gauges(tmp_path, lambda text: with_item(text, "A", "calibrations", item), "A")

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(add, range(24)))
    (gauge,) = yaml.safe_load(path.read_text(encoding="utf-8"))["gauges"]
    assert {calibration["certificate"] for calibration in gauge["calibrations"]} == {
        f"C-{number}" for number in range(24)
    }


signs = st.characters(min_codepoint=32, max_codepoint=0x2FF, exclude_categories=["Cc"])
texts = st.text(signs, max_size=12) | st.text("ab: #-'\"{}[],&*", max_size=9)
items = st.fixed_dictionaries({"out": st.just("2026-11-01")}, optional={"reason": texts, "by": texts})
gauges = st.lists(
    st.fixed_dictionaries(
        {"id": st.sampled_from(["A", "IND-03", "Z9"])},
        optional={
            "kind": texts,
            "withdrawals": st.lists(items, max_size=3),
            "calibrations": st.lists(items, max_size=2),
        },
    ),
    min_size=1,
    max_size=4,
    unique_by=lambda one: one["id"],
)


def loaded(text: str) -> Any:
    return yaml.load(text, Loader=yaml.BaseLoader)  # noqa: S506


@settings(deadline=None, max_examples=150)
@given(gauges, items, st.booleans(), st.sampled_from([None, True, False]))
def test_only_what_was_asked_for_changes(listed, item, sort_keys, flow) -> None:
    text = yaml.safe_dump(
        {"format": 1, "gauges": listed}, sort_keys=sort_keys, default_flow_style=flow, allow_unicode=True
    )
    name = listed[0]["id"]
    longer = with_item(text, name, "withdrawals", item)
    assert longer is not None
    expected = loaded(text)
    one = expected["gauges"][0]
    one["withdrawals"] = [*one.get("withdrawals", []), item]
    assert loaded(longer) == expected
    number = len(one["withdrawals"]) - 1
    ended = with_end(longer, name, number, BACK)
    assert ended is not None
    one["withdrawals"][number].update(BACK)
    assert loaded(ended) == expected
