"""Who may do what: the table, its documentation, and what a shop may change."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from traveler.record.entry import Ticked
from traveler.shop.settings import Settings
from traveler.verdict.authority import AUTHORITY, EVERYBODY, ROLES, may_act, refused_authority, roles_for

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


def test_the_handbook_shows_the_table_as_it_is():
    rows = re.findall(r"^\| `(\w+)` \| ([a-z, ]+) \|$", HANDBOOK.read_text(encoding="utf-8"), re.MULTILINE)
    shown = {action: tuple(roles.split(", ")) for action, roles in rows}
    assert {action: shown.get(action) for action in AUTHORITY} == AUTHORITY


def test_a_shop_sets_other_roles_for_an_action(book):
    settings = Settings(name="Shop", authority={"release": ("director",)})
    assert roles_for("release", settings) == ("director",)
    assert may_act("release", "boss", DAY, book.people, settings) == []
    (found,) = may_act("release", "qual", DAY, book.people, settings)
    assert found.what == "to release takes the role director; qual holds quality"


def test_an_action_that_does_not_exist_is_refused():
    (found,) = refused_authority(Settings(name="Shop", authority={"realease": ("director",)}))
    assert (found.code, found.place.slot) == ("GAT006", "authority.realease")
    assert refused_authority(Settings(name="Shop", authority={"release": ("director",)})) == []


def test_somebody_unknown_gets_a_hint_and_somebody_gone_the_day(book, settings):
    (unknown,) = may_act("note", "qaul", DAY, book.people, settings)
    assert (unknown.code, unknown.hint) == ("PER001", "did you mean qual?")
    (gone,) = may_act("note", "gone", DAY, book.people, settings)
    assert gone.what == "gone left on 2026-09-01, this is 2026-09-21"
    (strange,) = may_act("note", "zzzzzz", DAY, book.people, settings)
    assert strange.hint == "people are listed in people.yaml"


def test_an_action_nobody_holds_says_so(book):
    settings = Settings(name="Shop", authority={"release": ()})
    assert "nobody holds one" in may_act("release", "qual", DAY, book.people, settings)[0].what


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
