"""Changes of ``people.yaml`` and ``gauges.yaml``: what was asked for and nothing else, comments and all."""

from __future__ import annotations

import errno
import multiprocessing
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from traveler import files
from traveler.finding import CannotDo
from traveler.shop.edit import (
    add_person,
    add_role,
    add_to_gauge,
    end_withdrawal,
    set_in_gauge,
    set_in_person,
)
from traveler.shop.folder import open_shop

PEOPLE = """\
# who works here
format: 1
people:   # nobody is taken out
  - id: rhale          # engineering
    name: "R. Hale"    # with an initial

    roles:
      # since the first day
      - {role: engineering, since: 2021-03-01}
    left: 2027-03-31
  # the next one
  - name: T. Kiln
    id: tkiln
    roles: [{role: assembler, since: 2021-03-01}]   # builds
# end
"""
FLOW = "{format: 1, people: [{id: rhale, name: R. Hale, roles: []}, {id: tkiln, name: T. Kiln, roles: []}]}\n"
NOBODY = "format: 1\npeople: []\n# nobody yet\n"
ROLE = {"role": "quality", "since": "2026-12-01", "until": "2026-12-12", "instead_of": "rhale"}
ITEM = {"on": "2026-11-02", "certificate": "C-9"}
SAID = "{on: 2026-11-02, certificate: C-9}"
BACK = {"back": "2026-11-02T14:30"}
HASH = "$argon2id$v=19$m=65536,t=3,p=4$c2FsdA$aGFzaA"


def texts(text: str) -> Any:
    return yaml.load(text, Loader=yaml.CBaseLoader)  # noqa: S506 - every value as it is written


def comments(text: str) -> list[str]:
    return [line.split("#", 1)[1].rstrip() for line in text.splitlines() if "#" in line]


@pytest.fixture
def people(tmp_path: Path) -> Callable[[str], Path]:
    return lambda text: _written(tmp_path / "people.yaml", text)


@pytest.fixture
def gauges(tmp_path: Path) -> Callable[[str], Path]:
    return lambda text: _written(tmp_path / "gauges.yaml", text)


def _written(file: Path, text: str) -> Path:
    file.write_bytes(text.encode())
    return file


def read(file: Path) -> str:
    return file.read_bytes().decode()


@pytest.mark.parametrize("text", [PEOPLE, FLOW, PEOPLE.replace("\n", "\r\n"), PEOPLE.rstrip("\n")])
@pytest.mark.parametrize("person", ["rhale", "tkiln"])
def test_a_key_is_added_and_then_replaced_with_everything_else_as_it_was(
    people: Callable[[str], Path], text: str, person: str
) -> None:
    file = people(text)
    for value in (HASH, "$other"):
        set_in_person(file.parent, person, {"pin_set_by": "dmarrow", "pin": value})
        expected = texts(text)
        next(item for item in expected["people"] if item["id"] == person).update(
            pin_set_by="dmarrow", pin=value
        )
        after = read(file)
        assert texts(after) == expected
        assert comments(after) == comments(text)
        assert after.count("\r\n") in (0, after.count("\n"))
        assert ("\r\n" in after) == ("\r\n" in text)


def test_only_the_lines_of_the_change_differ(people: Callable[[str], Path]) -> None:
    file = people(PEOPLE)
    set_in_person(file.parent, "rhale", {"pin": "$x"})
    add_role(file.parent, "rhale", ROLE)
    add_person(file.parent, "bwick", "B. Wick", [{"role": "packer", "since": "2026-12-01"}])
    before, after = PEOPLE.splitlines(), read(file).splitlines()
    assert [line for line in after if line not in before] == [
        "      - {role: quality, since: 2026-12-01, until: 2026-12-12, instead_of: rhale}",
        '    pin: "$x"',
        "  - {id: bwick, name: B. Wick, roles: [{role: packer, since: 2026-12-01}]}",
    ]
    assert [line for line in after if line in before] == before
    assert after[-1] == "# end"


@pytest.mark.parametrize(
    "text", [PEOPLE, FLOW, NOBODY, NOBODY.replace("people: []", "people: [\n]"), PEOPLE.rstrip("\n")]
)
def test_a_person_is_added_after_the_last(people: Callable[[str], Path], text: str) -> None:
    file = people(text)
    new = {"id": "bwick", "name": 'B. "Bo" Wick: 1', "roles": [{"role": "packer", "since": "2026-12-01"}]}
    add_person(file.parent, "bwick", 'B. "Bo" Wick: 1', [{"role": "packer", "since": "2026-12-01"}])
    expected = texts(text)
    expected["people"].append(new)
    assert texts(read(file)) == expected
    assert comments(read(file)) == comments(text)


@pytest.mark.parametrize(
    "value",
    [
        "no",
        "2026-12-31",
        "a: b",
        "#x",
        'é \\ "',
        "'",
        "- x",
        "~",
        "",
        "0x1",
        "*a",
        "&a b",
        "null",
        "a\nb",
        " x ",
    ],
)
def test_any_value_is_written_so_that_it_comes_back(people: Callable[[str], Path], value: str) -> None:
    file = people(PEOPLE)
    set_in_person(file.parent, "rhale", {"name": value, "note": value})
    found = texts(read(file))["people"][0]
    assert (found["name"], found["note"]) == (value, value)


BLOCKS = "gauges:\n- id: A\n  calibrations:\n  - on: 2026-01-05  # by post\n    certificate: C-1 # see\n"
LINES = "gauges:\n- id: A\n  title: |\n    a dial\n    with a crack\n"
LONGER = {
    "a block of blocks, with remarks": (
        f"{BLOCKS}  # the next one\n- id: B\n", f"{BLOCKS}  - {SAID}\n  # the next one\n- id: B\n",
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
        "gauges:\n- id: A\n  calibrations: [ ]\n", f"gauges:\n- id: A\n  calibrations:\n  - {SAID}\n",
    ),
    "nothing after the colon": (
        "gauges:\n- id: A\n  calibrations: # none yet\n  kind: x\n",
        f"gauges:\n- id: A\n  calibrations: [{SAID}] # none yet\n  kind: x\n",
    ),
    "no list yet": (
        "gauges:\n- id: A  # first\n  kind: x # plain\n\n# end\n- id: B\n",
        f"gauges:\n- id: A  # first\n  kind: x # plain\n  calibrations:\n  - {SAID}\n\n# end\n- id: B\n",
    ),
    "no list yet, at the end of the file": (
        "gauges:\n  - id: A", f"gauges:\n  - id: A\n    calibrations:\n      - {SAID}\n",
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
        f"{LINES}- id: B\n", f"{LINES}  calibrations:\n  - {SAID}\n- id: B\n",
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
def test_a_list_gets_longer_in_every_way_it_may_be_written(gauges: Callable[[str], Path], name: str) -> None:
    before, expected = LONGER[name]
    file = gauges(before)
    add_to_gauge(file.parent, "A", "calibrations", ITEM)
    assert read(file) == expected


@pytest.mark.parametrize("name", ENDED)
def test_a_withdrawal_ends_in_every_way_it_may_be_written(gauges: Callable[[str], Path], name: str) -> None:
    before, expected = ENDED[name]
    file = gauges(before)
    end_withdrawal(file.parent, "A", 0, BACK)
    assert read(file) == expected


def test_an_uncertainty_replaces_the_old_one_and_keeps_its_comment(gauges: Callable[[str], Path]) -> None:
    file = gauges("gauges:\n  - kind: x\n    uncertainty: 5 mm # old\n    id: 'A'\n    k: 3\n")
    set_in_gauge(file.parent, "A", {"uncertainty": "0.0071 mm", "k": "2"})
    assert read(file) == "gauges:\n  - kind: x\n    uncertainty: 0.0071 mm # old\n    id: 'A'\n    k: 2\n"


CHANGES: dict[str, Callable[[Path], Path]] = {
    "people.yaml": lambda folder: set_in_person(folder, "A", {"left": "2026-12-31"}),
    "gauges.yaml": lambda folder: set_in_gauge(folder, "A", {"left": "2026-12-31"}),
}
"""The same change of both files."""

REFUSED = [
    "", "- 1\n", "format: 1\n", "{key}: 7\n", "{key}: []\n", "{key}:\n  - A\n", "{key}:\n- id: B\n",
    "{key}: [\n",
    "{key}:\n- &a {{id: A}}\n- *a\n", "{key}:\n- id: A\n  x: 1\n  x: 2\n",
    "{key}:\n- id: A\n---\n{key}: []\n",
]  # fmt: skip


@pytest.mark.parametrize("name", CHANGES)
@pytest.mark.parametrize("pattern", REFUSED)
def test_both_files_are_left_alone_where_they_cannot_be_changed_safely(
    tmp_path: Path, name: str, pattern: str
) -> None:
    file = _written(tmp_path / name, pattern.format(key=name.removesuffix(".yaml")))
    before = read(file)
    with pytest.raises(CannotDo, match="cannot be changed safely") as refused:
        CHANGES[name](tmp_path)
    assert refused.value.hint == "write it by hand: A: left: 2026-12-31"
    assert read(file) == before
    assert [found.name for found in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize("name", CHANGES)
def test_both_files_are_changed_on_a_share_that_keeps_no_locks(
    tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(errno.EOPNOTSUPP, "Operation not supported")

    monkeypatch.setattr(files.fcntl, "flock", refuse)
    key = name.removesuffix(".yaml")
    file = _written(tmp_path / name, f"{key}:\n- id: A # the first\n")
    file.chmod(0o600)
    assert CHANGES[name](tmp_path) == file
    assert read(file) == f"{key}:\n- id: A # the first\n  left: 2026-12-31\n"
    assert file.stat().st_mode & 0o777 == 0o600


def test_a_list_that_is_a_text_is_refused(gauges: Callable[[str], Path]) -> None:
    file = gauges("gauges:\n- id: A\n  calibrations: never\n")
    with pytest.raises(CannotDo):
        add_to_gauge(file.parent, "A", "calibrations", ITEM)


@pytest.mark.parametrize("text", ["gauges:\n- id: A\n", "gauges:\n- id: A\n  withdrawals: []\n"])
def test_without_a_withdrawal_there_is_none_to_end(gauges: Callable[[str], Path], text: str) -> None:
    file = gauges(text)
    with pytest.raises(CannotDo):
        end_withdrawal(file.parent, "A", 0, BACK)


def test_the_shop_reads_what_was_changed(shop_folder: Path) -> None:
    set_in_person(shop_folder, "tkiln", {"left": "2026-12-31"})
    opened = open_shop(shop_folder)
    assert opened.shop is not None
    assert opened.shop.people.by_id["tkiln"].left == date(2026, 12, 31)


def note(folder: str, number: int) -> None:
    set_in_person(Path(folder), "tkiln", {f"key{number}": "yes"})
    add_to_gauge(Path(folder), "IND-03", "calibrations", {"on": "2026-11-02", "certificate": f"X-{number}"})


def test_changes_at_once_lose_nothing(shop_folder: Path) -> None:
    """Six processes change both files; nothing of it is lost, since each waits for the other."""
    context = multiprocessing.get_context("fork")
    running = [context.Process(target=note, args=(str(shop_folder), number)) for number in range(6)]
    for process in running:
        process.start()
    for process in running:
        process.join(60)
    people = texts(read(shop_folder / "people.yaml"))["people"]
    tkiln = next(item for item in people if item["id"] == "tkiln")
    assert {f"key{number}" for number in range(6)} <= set(tkiln)
    register = texts(read(shop_folder / "gauges.yaml"))["gauges"]
    done = next(item for item in register if item["id"] == "IND-03")["calibrations"]
    assert {f"X-{number}" for number in range(6)} <= {item.get("certificate") for item in done}


signs = st.characters(min_codepoint=32, max_codepoint=0x2FF, exclude_categories=["Cc"])
words = st.text(signs, max_size=12) | st.text("ab: #-'\"{}[],&*", max_size=9)
items = st.fixed_dictionaries({"out": st.just("2026-11-01")}, optional={"reason": words, "by": words})
registers = st.lists(
    st.fixed_dictionaries(
        {"id": st.sampled_from(["A", "IND-03", "Z9"])},
        optional={
            "kind": words,
            "withdrawals": st.lists(items, max_size=3),
            "calibrations": st.lists(items, max_size=2),
        },
    ),
    min_size=1,
    max_size=4,
    unique_by=lambda gauge: gauge["id"],
)


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(registers, items, st.booleans(), st.sampled_from([None, True, False]))
def test_only_what_was_asked_for_changes(gauges, listed, item, sort_keys, flow) -> None:
    file = gauges(
        yaml.safe_dump(
            {"format": 1, "gauges": listed}, sort_keys=sort_keys, default_flow_style=flow, allow_unicode=True
        )
    )
    expected = texts(read(file))
    gauge, name = expected["gauges"][0], listed[0]["id"]
    gauge["withdrawals"] = [*gauge.get("withdrawals", []), item]
    add_to_gauge(file.parent, name, "withdrawals", item)
    assert texts(read(file)) == expected
    number = len(gauge["withdrawals"]) - 1
    gauge["withdrawals"][number].update(BACK)
    end_withdrawal(file.parent, name, number, BACK)
    assert texts(read(file)) == expected
