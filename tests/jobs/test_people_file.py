"""Changes of ``people.yaml``: what was asked for and nothing else, comments and all; or none."""

from __future__ import annotations

import multiprocessing
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import yaml

from traveler.finding import CannotDo
from traveler.shop.edit import change_people, with_person, with_role, with_value, with_values
from traveler.shop.folder import open_shop

BLOCK = """\
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
EMPTY = "format: 1\npeople: []\n# nobody yet\n"
ROLE = {"role": "quality", "since": "2026-12-01", "until": "2026-12-12", "instead_of": "rhale"}


def said(text: str) -> Any:
    return yaml.load(text, Loader=yaml.BaseLoader)  # noqa: S506 - every scalar as it is written


def lines_kept(before: str, after: str) -> bool:
    """Whether every comment and blank line is still there, in order."""

    def told(text: str) -> list[str]:
        return [
            line.split("#", 1)[1] if "#" in line else ""
            for line in text.splitlines()
            if not line.strip() or "#" in line
        ]

    return told(before) == told(after)


@pytest.mark.parametrize("text", [BLOCK, FLOW, BLOCK.replace("\n", "\r\n"), BLOCK.rstrip("\n")])
@pytest.mark.parametrize("person", ["rhale", "tkiln"])
def test_a_key_is_added_and_then_set_anew_with_everything_else_as_it_was(text: str, person: str) -> None:
    hashed = "$argon2id$v=19$m=65536,t=3,p=4$c2FsdA$aGFzaA"
    once = with_value(person, "pin", hashed)(text)
    assert once is not None
    twice = with_value(person, "pin", "$other")(once)
    assert twice is not None
    for after, value in ((once, hashed), (twice, "$other")):
        expected = said(text)
        next(item for item in expected["people"] if item["id"] == person)["pin"] = value
        assert said(after) == expected
        assert lines_kept(text, after)
        assert after.count("\r\n") in (0, after.count("\n"))
    assert len(twice.splitlines()) == len(once.splitlines())


def test_several_keys_stand_one_below_the_other() -> None:
    after = with_values("rhale", {"pin_set_by": "dmarrow", "pin": "$x"})(BLOCK)
    assert after is not None
    assert '  - id: rhale          # engineering\n    pin: "$x"\n    pin_set_by: dmarrow\n' in after


@pytest.mark.parametrize("text", [BLOCK, FLOW, BLOCK.replace("\n", "\r\n")])
@pytest.mark.parametrize("person", ["rhale", "tkiln"])
def test_a_role_is_added_to_those_there_are(text: str, person: str) -> None:
    after = with_role(person, ROLE)(text)
    assert after is not None
    expected = said(text)
    next(item for item in expected["people"] if item["id"] == person)["roles"].append(ROLE)
    assert said(after) == expected
    assert lines_kept(text, after)


@pytest.mark.parametrize(
    "text", [BLOCK, FLOW, EMPTY, EMPTY.replace("people: []", "people: [\n]"), BLOCK.rstrip("\n")]
)
def test_a_person_is_added_after_the_last(text: str) -> None:
    after = with_person("bwick", 'B. "Bo" Wick: 1', [{"role": "packer", "since": "2026-12-01"}])(text)
    assert after is not None
    expected = said(text)
    expected["people"].append(
        {"id": "bwick", "name": 'B. "Bo" Wick: 1', "roles": [{"role": "packer", "since": "2026-12-01"}]}
    )
    assert said(after) == expected
    assert lines_kept(text, after)


@pytest.mark.parametrize(
    "value", ["no", "2026-12-31", "a: b", "#x", 'é \\ "', "'", "- x", "~", "", "0x1", "*a", "&a b"]
)
def test_any_value_is_written_so_that_it_comes_back(value: str) -> None:
    after = with_value("rhale", "name", value)(BLOCK)
    assert after is not None
    assert said(after)["people"][0]["name"] == value


SHARED = "people:\n  - &a {id: rhale, name: R. Hale, roles: []}\n  - {id: tkiln, name: x, roles: [], x: *a}\n"


@pytest.mark.parametrize("text", [SHARED, "format: 1\n", "- 1\n", "people: 7\n", "people:\n  - rhale\n", ""])
def test_what_cannot_be_changed_safely_is_left_alone(tmp_path: Path, text: str) -> None:
    for change in (with_value("rhale", "left", "2026-12-31"), with_role("rhale", ROLE)):
        assert change(text) is None
    (tmp_path / "people.yaml").write_text(text)
    with pytest.raises(CannotDo, match="changed safely") as refused:
        change_people(tmp_path, with_value("rhale", "left", "2026-12-31"), "rhale: left: 2026-12-31")
    assert "rhale: left: 2026-12-31" in refused.value.hint
    assert (tmp_path / "people.yaml").read_text() == text


def test_somebody_who_is_not_there_is_not_changed() -> None:
    assert with_value("nobody", "left", "2026-12-31")(BLOCK) is None


def test_the_file_is_written_whole_and_keeps_who_may_read_it(shop_folder: Path) -> None:
    file = shop_folder / "people.yaml"
    file.chmod(0o600)
    change_people(shop_folder, with_value("tkiln", "left", "2026-12-31"), "")
    assert file.stat().st_mode & 0o777 == 0o600
    opened = open_shop(shop_folder)
    assert opened.shop is not None
    assert opened.shop.people.by_id["tkiln"].left == date(2026, 12, 31)
    assert [path.name for path in shop_folder.iterdir() if "people" in path.name] == ["people.yaml"]


def note(folder: str, key: str) -> None:
    change_people(Path(folder), with_value("tkiln", key, "yes"), "")


def test_changes_at_once_lose_nothing(shop_folder: Path) -> None:
    """Eight processes add a key each; nothing of it is lost, since each waits for the other."""
    context = multiprocessing.get_context("fork")
    keys = [f"key{number}" for number in range(8)]
    running = [context.Process(target=note, args=(str(shop_folder), key)) for key in keys]
    for fork_process in running:
        fork_process.start()
    for fork_process in running:
        fork_process.join(60)
    found = said((shop_folder / "people.yaml").read_text(encoding="utf-8"))
    tkiln = next(serial for serial in found["people"] if serial["id"] == "tkiln")
    assert set(keys) <= set(tkiln)
