"""Who may do what: the table, its documentation, and what a shop may change."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from traveler.record.entry import Ticked
from traveler.shop.people import People, Person, RoleHeld
from traveler.shop.settings import Settings
from traveler.verdict.authority import (
    AUTHORITY,
    EVERYBODY,
    ROLES,
    WITHOUT_PIN,
    may_act,
    pin_for,
    refused_authority,
    roles_for,
    roles_of_nobody,
    standing_in,
)

DAY = date(2026, 9, 21)
HANDBOOK = Path(__file__).parents[2] / "docs" / "shop.md"
BY = {"assembler": "asm", "inspector": "insp", "quality": "qual", "packer": "pack",
      "engineering": "eng", "shipping": "ship", "director": "boss"}  # fmt: skip


@pytest.fixture
def settings() -> Settings:
    return Settings(name="Marrowby Machine Works")


@pytest.mark.parametrize("action", list(AUTHORITY))
def test_the_roles_of_the_table_may_and_no_others(book, settings, action):
    for role in ROLES:
        allowed = role in AUTHORITY[action] or EVERYBODY in AUTHORITY[action]
        assert (may_act(action, BY[role], DAY, book.people, settings) == []) == allowed, role


def _table() -> str:
    """The table of actions and roles in the handbook."""
    return (
        HANDBOOK.read_text(encoding="utf-8").partition("| action | shown as | roles ")[2].partition("\n\n")[0]
    )


def test_the_handbook_shows_the_table_as_it_is():
    rows = re.findall(r"^\| `(\w+)` \| [A-Za-z' ]+ \| ([a-z, ]+) \|$", _table(), re.MULTILINE)
    shown = {action: tuple(roles.split(", ")) for action, roles in rows}
    assert {action: shown.get(action) for action in AUTHORITY} == AUTHORITY


def test_a_shop_sets_other_roles_for_an_action(book):
    settings = Settings(name="Shop", authority={"release": ("director",)})
    assert roles_for("release", settings) == ("director",)
    assert may_act("release", "boss", DAY, book.people, settings) == []
    (found,) = may_act("release", "qual", DAY, book.people, settings)
    assert found.what == "qual (quality) may not release units on 2026-09-21; allowed roles: director"


def test_an_action_that_does_not_exist_is_refused():
    (found,) = refused_authority(Settings(name="Shop", authority={"realease": ("director",)}))
    assert (found.code, found.place.slot) == ("GAT006", "authority.realease")
    assert refused_authority(Settings(name="Shop", authority={"release": ("director",)})) == []


def test_somebody_unknown_gets_a_hint_and_somebody_gone_the_day(book, settings):
    (unknown,) = may_act("note", "qaul", DAY, book.people, settings)
    assert (unknown.code, unknown.hint) == ("PER001", "did you mean 'qual'?")
    (gone,) = may_act("note", "gone", DAY, book.people, settings)
    assert gone.what == "gone left on 2026-09-01, this is dated 2026-09-21"
    (strange,) = may_act("note", "zzzzzz", DAY, book.people, settings)
    assert strange.hint == "people are listed in people.yaml"


def test_an_action_nobody_holds_says_so(book):
    settings = Settings(name="Shop", authority={"release": ()})
    assert may_act("release", "qual", DAY, book.people, settings)[0].what.endswith("allowed roles: none")


WELDED = """
format: 1
product: rack
title: Rack
revision: A
revised: 2026-09-14
approved_by: rhale
track: serial
serials: {pattern: "RK{variant}-{n:04}"}
variants: {"1": {title: One}}
operations:
  - number: 10
    title: Weld
    steps:
      - do: Weld it.
    sign: packer
"""


def test_whoever_holds_the_role_that_signs_an_operation_may_write_in_it(book_of):
    book = book_of(WELDED)
    book.issue()
    book.write(Ticked(), "10-1", by="pack")
    assert "PER002" not in book.codes()
    book.write(Ticked(), "10-1", by="ship")
    assert "PER002" in book.codes()


def held(*roles: tuple[str, str | None], left: date | None = None) -> Person:
    since = date(2026, 1, 1)
    return Person(
        id="one",
        name="One",
        left=left,
        roles=tuple(RoleHeld(role=role, since=since, instead_of=absent) for role, absent in roles),
    )


@pytest.mark.parametrize(
    ("person", "absent"),
    [
        (held(("quality", "qual")), "qual"),
        (held(("inspector", None), ("quality", "qual")), "qual"),
        (held(("quality", None)), None),
        (held(("quality", "qual"), ("quality", None)), None),
        (held(("inspector", "insp")), None),
        (held(("quality", "qual"), left=date(2026, 9, 1)), None),
    ],
)
def test_somebody_stands_in_where_the_role_is_theirs_by_delegation_alone(person, absent):
    assert standing_in(person, ("quality", "director"), DAY) == absent
    assert standing_in(person, (EVERYBODY,), DAY) is None


def test_what_gives_something_away_asks_for_a_pin_unless_the_shop_says_otherwise(settings):
    assert set(pin_for(settings)) == {
        "release", "decide", "concede", "strike", "withdraw", "delegate", "unlock", "enrol", "take_over",
    }  # fmt: skip
    assert pin_for(Settings(name="Shop", pin_for=("ship",))) == ("ship",)
    assert pin_for(Settings(name="Shop", pin_for=())) == ()
    assert not set(pin_for(settings)) & WITHOUT_PIN


def test_a_pin_is_asked_only_for_what_there_is_and_can_ask():
    found = refused_authority(Settings(name="Shop", pin_for=("ship", "relaese", "stop")))
    assert [(finding.code, finding.place.slot) for finding in found] == [
        ("GAT006", "pin_for.1"),
        ("GAT006", "pin_for.2"),
    ]


def test_a_role_that_nobody_holds_is_told_and_one_of_the_shops_own_is_not(book):
    settings = Settings(name="Shop", authority={"release": ("qualty",), "note": (EVERYBODY, "director")})
    (found,) = roles_of_nobody(settings, book.people)
    assert (found.code, str(found.weight), found.hint) == ("GAT006", "warning", "did you mean 'quality'?")
    own = book.people.people[0].model_copy(update={"roles": (RoleHeld(role="qualty", since=DAY),)})
    assert roles_of_nobody(settings, People(people=(own,))) == []
