"""The group ``people``: PINs, roles, delegation, authority."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

Command = Callable[..., Any]
RIGHT, WRONG = "4826", "5937"

pytestmark = pytest.mark.usefixtures("light_pins")


def test_no_command_takes_a_pin_as_an_argument() -> None:
    import typer.main

    from traveler.cli.main import build

    def walk(command: Any) -> Iterator[Any]:
        yield command
        for inside in getattr(command, "commands", {}).values():
            yield from walk(inside)

    options = {
        name
        for command in walk(typer.main.get_command(build()))
        for each in command.params
        for name in each.opts
    }
    assert "--pin-file" in options
    assert not {"--pin", "--new-pin"} & options


def test_a_new_pin_is_typed_twice(command: Command, monkeypatch: pytest.MonkeyPatch, terminal: Any) -> None:
    terminal(RIGHT, WRONG)
    differ = command("people", "pin", "tkiln")
    assert (differ.code, "differ" in differ.err) == (2, True)
    asked = terminal(RIGHT, RIGHT)
    done = command("people", "pin", "tkiln")
    assert done.code == 0
    assert asked == ["new PIN of tkiln: ", "the same again: "]
    assert RIGHT not in done.out + done.err + Path("people.yaml").read_text()


def test_a_pin_is_changed_with_the_present_one(
    command: Command, pin: Path, monkeypatch: pytest.MonkeyPatch, terminal: Any
) -> None:
    asked = terminal(RIGHT, "70491", "70491")
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


def test_a_lock_out_is_listed_and_lifted(
    command: Command, pin: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from traveler.record.store import Store

    with Store.open("sqlite:///records.db") as store, store.transaction() as work:
        from dataclasses import replace

        held = work.hold_pin_trials("qmoor", work.clock())
        work.note_pin_trials("qmoor", replace(held, failures=5))
    assert "locked until" in command("people", "list").out
    people = {person["id"]: person for person in command("people", "list", "--json").json["people"]}
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
    assert plain["release"] == {
        "label": "release units", "roles": ["quality"], "default": ["quality"], "changed": [], "pin": True,
    }  # fmt: skip
    with Path("shop.yaml").open("a") as file:
        file.write("authority: {release: [director], crate: [strapper, quality]}\npin_for: [ship]\n")
    changed = command("people", "authority", "--json").json["actions"]
    assert changed["release"]["changed"] == ["quality", "director"]
    assert changed["crate"]["roles"] == ["quality", "strapper"]
    assert (changed["release"]["pin"], changed["ship"]["pin"]) == (False, True)
    (row,) = [
        line for line in command("people", "authority").out.splitlines() if line.strip().startswith("release")
    ]
    assert row.split() == ["release", "units", "−quality,", "+director"]


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
