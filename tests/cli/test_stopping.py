"""Stops, decisions and PINs by command: what is asked, where a PIN comes from, what is answered."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from traveler.cli import people, request
from traveler.jobs.issue import IssueRequest, issue
from traveler.jobs.open import open_session
from traveler.shop import pins

Command = Callable[..., Any]
RIGHT, WRONG = "4826", "5937"


@pytest.fixture(autouse=True)
def light(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Small parameters of argon2id; nobody sits at the terminal, and nothing is in the environment."""
    for name, value in (("MEMORY_KIB", 8), ("TIME_COST", 1), ("LANES", 1)):
        monkeypatch.setattr(pins, name, value)
    pins._hasher.cache_clear()
    monkeypatch.setattr(pins, "NOBODYS", pins.hash_pin("nobody has this"))
    monkeypatch.delenv("TRAVELER_PIN", raising=False)
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    yield
    pins._hasher.cache_clear()


@pytest.fixture
def units(command: Command) -> list[str]:
    """Three issued units, whose travelers nobody needs here."""
    opened = open_session(Path.cwd(), datetime(2026, 11, 2, 8, 0, tzinfo=UTC))
    assert opened.session is not None
    with opened.session.store:
        return list(issue(opened.session, IssueRequest("step-stool", "2", "rhale", count=3)).serials)


@pytest.fixture
def pin(command: Command, tmp_path: Path) -> Path:
    """Quality has a PIN; the file holds it."""
    file = tmp_path / "pin.txt"
    file.write_text(f"{RIGHT}\n")
    assert command("people", "pin", "qmoor", "--new-pin-file", file).code == 0
    return file


def terminal(monkeypatch: pytest.MonkeyPatch, *answers: str) -> list[str]:
    """Somebody sits at the terminal and answers; gives what they were asked."""
    asked: list[str] = []
    left = list(answers)

    class Screen(io.StringIO):
        def isatty(self) -> bool:
            return True

    def typed(prompt: str) -> str:
        asked.append(prompt)
        return left.pop(0)

    monkeypatch.setattr(sys, "stdin", Screen())
    monkeypatch.setattr(request, "typed", typed)
    monkeypatch.setattr(people, "typed", typed)
    return asked


def test_a_unit_is_stopped_listed_decided_and_told(command: Command, units: list[str]) -> None:
    stopped = command("stop", units[0], "--reason", "Side plate dented", "--by", "tkiln")
    assert (stopped.code, stopped.out) == (0, f"{units[0]} #2: stopped\n")
    listed = command("unit", "stops", "--json")
    assert [(one["serial"], one["stop"], one["what"]) for one in listed.json["stops"]] == [
        (units[0], 2, "Side plate dented")
    ]
    decided = command(
        "unit", "decide", units[0], "2", "--as", "rework", "--measure-again", "play", "--by", "qmoor"
    )
    assert decided.code == 0
    assert "rework decided on #2; do it, then measure again: play" in decided.out
    assert command("unit", "stops").out == "nothing is stopped\n"
    assert "rework" in command("unit", "stops", "--all").out
    told = command("trace", units[0]).out
    assert "stopped: Side plate dented" in told
    assert "to be measured again: play" in " ".join(told.split())


def test_a_stopped_unit_is_not_released(command: Command, units: list[str]) -> None:
    command("stop", units[0], "--reason", "dent", "--by", "tkiln")
    refused = command("release", units[0], "--by", "qmoor", "--json")
    assert refused.code == 1
    assert {"GAT001", "NON001"} <= refused.codes


def test_a_list_from_a_file_or_standard_input_stops_each_unit_or_says_why_not(
    command: Command, units: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wrong = units[1][:-1] + ("A" if units[1][-1] != "A" else "B")
    file = tmp_path / "affected.csv"
    file.write_text(f"where,serial\nBay 3,{units[0]}\nBay 4,{wrong}\n")
    said = command("stop", "--file", file, "--reason", "Lot P-9001/77 is soft", "--by", "qmoor", "--json")
    assert said.code == 1
    assert [(one["serial"], one["new"]) for one in said.json["stopped"]] == [(units[0], True), (wrong, False)]
    assert [one["at"] for one in said.json["findings"]] == [f"{file}:3"]

    class Piped(io.StringIO):
        buffer = io.BytesIO(f"{units[0]}\n{units[2]}\n".encode())

    monkeypatch.setattr(sys, "stdin", Piped())
    again = command("stop", "--file", "-", "--reason", "Lot P-9001/77 is soft", "--by", "qmoor", "--json")
    assert again.code == 0
    assert [(one["stop"], one["new"]) for one in again.json["stopped"]] == [(2, False), (2, True)]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--reason", "x", "--by", "tkiln"], "which units"),
        (
            ["ST2-2645-0001F", "--file", "x.csv", "--slot", "10-1", "--reason", "x", "--by", "tkiln"],
            "goes with one serial",
        ),
        (["--file", "nosuch.csv", "--reason", "x", "--by", "tkiln"], "no file nosuch.csv"),
        (["--file", "shop.yaml", "--reason", "  ", "--by", "tkiln"], "what is wrong"),
        (["ST2-2645-0001F", "--reason", "x", "--by", "tkiln"], "never issued here"),
        (["ST2-2645-0001E", "--reason", "x", "--by", "tkiln"], "ST2-2645-0001E"),
    ],
)
def test_what_cannot_be_asked(command: Command, arguments: list[str], says: str) -> None:
    said = command("stop", *arguments)
    assert said.code == 2
    assert says in said.err


def test_the_pin_comes_from_a_file_from_standard_input_from_the_terminal_or_from_the_environment(
    command: Command, units: list[str], pin: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    command("stop", units[0], "--reason", "dent", "--by", "tkiln")
    ask = ("unit", "decide", units[0], "2", "--as", "no-fault", "--by", "qmoor", "--json")
    assert command(*ask).codes == {"PIN004"}
    assert command(*ask, "--pin-file", pin).json["entry"]["body"]["pin_checked"]
    monkeypatch.setattr(sys, "stdin", io.StringIO(RIGHT))
    assert command(*ask, "--pin-file", "-").code == 0
    monkeypatch.setenv("TRAVELER_PIN", RIGHT)
    assert command(*ask).code == 0
    monkeypatch.setenv("TRAVELER_PIN", WRONG)
    asked = terminal(monkeypatch, RIGHT)
    assert command(*ask).code == 0, "a person at the terminal is asked, whatever the environment says"
    assert asked == ["PIN of qmoor: "]


def test_a_wrong_pin_writes_nothing_and_locks_out_whatever_the_time_is_said_to_be(
    command: Command, units: list[str], pin: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    command("stop", units[0], "--reason", "dent", "--by", "tkiln")
    ask = ("unit", "decide", units[0], "2", "--as", "no-fault", "--by", "qmoor", "--json")
    monkeypatch.setenv("TRAVELER_PIN", WRONG)
    assert [command(*ask).codes for _ in range(3)] == [{"PIN001"}, {"PIN001"}, {"PIN003"}]
    monkeypatch.setenv("TRAVELER_PIN", RIGHT)
    for now in ("2036-01-01T00:00:00+00:00", "1999-01-01T00:00:00+00:00"):
        assert command(*ask, now=now).codes == {"PIN003"}, "the clock of the records is another one"
    assert command("unit", "stops", "--json").json["stops"][0]["state"] == "open"


def test_one_pin_serves_all_units_of_a_command(
    command: Command, units: list[str], pin: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = terminal(monkeypatch, RIGHT)
    said = command("release", *units, "--by", "qmoor", "--json")
    assert asked == ["PIN of qmoor: "]
    assert said.code == 1
    assert "PIN004" not in said.codes


def test_no_command_takes_a_pin_as_an_argument() -> None:
    import typer.main

    from traveler.cli.main import build

    def walk(one: Any) -> Iterator[Any]:
        yield one
        for inside in getattr(one, "commands", {}).values():
            yield from walk(inside)

    options = {
        name for one in walk(typer.main.get_command(build())) for each in one.params for name in each.opts
    }
    assert "--pin-file" in options
    assert not {"--pin", "--new-pin"} & options


def test_a_new_pin_is_typed_twice(command: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    terminal(monkeypatch, RIGHT, WRONG)
    differ = command("people", "pin", "tkiln")
    assert (differ.code, "differ" in differ.err) == (2, True)
    asked = terminal(monkeypatch, RIGHT, RIGHT)
    done = command("people", "pin", "tkiln")
    assert done.code == 0
    assert asked == ["new PIN of tkiln: ", "the same again: "]
    assert RIGHT not in done.out + done.err + Path("people.yaml").read_text()


def test_a_pin_is_changed_with_the_present_one(
    command: Command, pin: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = terminal(monkeypatch, RIGHT, "70491", "70491")
    assert command("people", "pin", "qmoor").code == 0
    assert asked[0] == "PIN of qmoor: "
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    refused = command("people", "pin", "qmoor", "--new-pin-file", pin, "--pin-file", pin, "--json")
    assert refused.codes == {"PIN001"}
    unsaid = command("people", "pin", "qmoor", "--new-pin-file", pin, "--json")
    assert unsaid.codes == {"PIN004"}


def test_a_pin_from_standard_input_for_scripts(command: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(f"{RIGHT}\n"))
    assert command("people", "pin", "tkiln").code == 0
    monkeypatch.setattr(sys, "stdin", io.StringIO("1234\n"))
    assert command("people", "pin", "iwren", "--json").codes == {"PIN006"}


@pytest.mark.parametrize("content", [b"", b"\n", b"\xff\xfe", b"\x00" * 5000, None])
def test_a_file_without_a_pin_is_no_traceback(
    command: Command, units: list[str], pin: Path, tmp_path: Path, content: bytes | None
) -> None:
    file = tmp_path / "odd.txt"
    if content is not None:
        file.write_bytes(content)
    said = command("release", units[0], "--by", "qmoor", "--pin-file", file, "--json")
    assert said.code in (1, 2)
    assert said.json["exit"] == said.code


def test_a_lock_out_is_listed_and_lifted(
    command: Command, pin: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from traveler.record.store import Store

    with Store.open("sqlite:///records.db") as store, store.transaction() as work:
        from dataclasses import replace

        held = work.hold_pin_trials("qmoor", work.clock())
        work.note_pin_trials("qmoor", replace(held, failures=5))
    assert "locked until" in command("people", "list").out
    people = {one["id"]: one for one in command("people", "list", "--json").json["people"]}
    assert people["qmoor"]["locked_until"] is not None
    assert (people["qmoor"]["pin"], people["tkiln"]["pin"]) == (True, False)
    assert command("people", "unlock", "qmoor", "--by", "tkiln", "--json").codes == {"GAT002"}
    assert command("people", "unlock", "qmoor", "--by", "qmoor", "--pin-file", pin, "--json").codes == {
        "PIN002"
    }
    assert (
        command("people", "add", "boss", "--name", "B. Oss", "--role", "director", "--by", "rhale").code == 1
    )
    text = Path("people.yaml").read_text()
    Path("people.yaml").write_text(
        text + "  - {id: boss, name: B. Oss, roles: [{role: director, since: 2021-03-01}]}\n"
    )
    assert command("people", "unlock", "qmoor", "--by", "boss").code == 0
    assert "locked" not in command("people", "list").out


def test_a_role_is_handed_on_somebody_comes_and_somebody_leaves(command: Command) -> None:
    done = command(
        "people",
        "delegate",
        "quality",
        "--from",
        "qmoor",
        "--to",
        "awick",
        "--until",
        "2026-11-12",
        "--by",
        "qmoor",
    )
    assert (done.code, done.out) == (
        0,
        "awick stands in as quality for qmoor from 2026-11-02 to 2026-11-12\n",
    )
    assert "quality for qmoor until 2026-11-12" in " ".join(command("people", "list").out.split())
    for day in ("tomorrow", "2026-13-01", "20261112"):
        bad = command(
            "people",
            "delegate",
            "quality",
            "--from",
            "qmoor",
            "--to",
            "iwren",
            "--until",
            day,
            "--by",
            "qmoor",
        )
        assert bad.code == 2
    text = Path("people.yaml").read_text()
    Path("people.yaml").write_text(
        text + "  - {id: boss, name: B. Oss, roles: [{role: director, since: 2021-03-01}]}\n"
    )
    assert (
        command("people", "add", "bwick", "--name", "B. Wick", "--role", "packer", "--by", "boss").code == 0
    )
    assert command("people", "leave", "tkiln", "--on", "2026-11-01", "--by", "boss").code == 0
    out = command("people", "list").out
    assert "bwick" in out
    assert "tkiln" not in out
    assert "left 2026-11-01" in command("people", "list", "--all").out


def test_the_table_of_authority_marks_what_the_shop_changed(command: Command) -> None:
    assert set(command("people", "authority").out) & {"+", "−"} == {"+", "−"}, "the legend"
    plain = command("people", "authority", "--json").json["actions"]
    assert plain["release"] == {"roles": ["quality"], "default": ["quality"], "changed": [], "pin": True}
    with Path("shop.yaml").open("a") as file:
        file.write("authority: {release: [director], crate: [strapper, quality]}\npin_for: [ship]\n")
    changed = command("people", "authority", "--json").json["actions"]
    assert changed["release"]["changed"] == ["quality", "director"]
    assert changed["crate"]["roles"] == ["quality", "strapper"]
    assert (changed["release"]["pin"], changed["ship"]["pin"]) == (False, True)
    (row,) = [
        line for line in command("people", "authority").out.splitlines() if line.strip().startswith("release")
    ]
    assert row.split() == ["release", "−", "+"]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("pin_for: [relaese]", "pin_for: there is no action 'relaese'"),
        ("pin_for: [stop]", "pin_for: 'stop' cannot ask for a PIN"),
        ("pin_length: 3", "too small"),
        ("pin_tries: 0", "too small"),
    ],
)
def test_settings_that_cannot_be_are_told_with_their_line(command: Command, line: str, says: str) -> None:
    with Path("shop.yaml").open("a") as file:
        file.write(f"{line}\n")
    said = command("people", "list")
    assert said.code == 1
    assert says in said.err
    assert "shop.yaml:5" in said.err


def test_a_role_that_nobody_holds_is_a_warning(command: Command) -> None:
    with Path("shop.yaml").open("a") as file:
        file.write("authority: {release: [qualty]}\n")
    said = command("people", "list")
    assert said.code == 0
    assert (
        "release is for the role 'qualty', which nobody holds; did you mean 'quality'? (warning)" in said.err
    )


def test_a_new_shop_has_the_table_in_its_settings_and_it_is_the_one_in_force(
    command: Command, tmp_path: Path
) -> None:
    from traveler.verdict.authority import AUTHORITY

    assert command("shop", "create", tmp_path / "new", "--name", "New").code == 0
    text = (tmp_path / "new" / "shop.yaml").read_text()
    start = text.index("#authority:")
    lines = text[start:].split("\n# ", 1)[0].splitlines()
    opened = "\n".join(line.removeprefix("#") for line in lines)
    (tmp_path / "new" / "shop.yaml").write_text(text[:start] + opened + "\n")
    said = command("people", "authority", "--shop", tmp_path / "new", "--json")
    assert said.code == 0, said.err
    assert list(said.json["actions"]) == list(AUTHORITY)
    assert all(row["changed"] == [] for row in said.json["actions"].values())
    assert json.dumps(said.json["actions"]) != "{}"
