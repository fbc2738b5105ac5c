"""Who works here today; who comes and who leaves."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from traveler.jobs.office import Office
from traveler.jobs.opening import open_office
from traveler.jobs.people import enrol, leave, people_today
from traveler.record.pin_trials import PinTrials

TODAY = date(2026, 11, 2)
DIRECTOR = "  - id: boss\n    name: B. Oss\n    roles: [{role: director, since: 2021-03-01}]\n"


@pytest.fixture
def office(bench: Any) -> Office:
    file = bench.office.shop.folder / "people.yaml"
    file.write_text(file.read_text() + DIRECTOR)
    return again(bench.office)


def again(office: Office) -> Office:
    opened = open_office(office.shop.folder, office.now, database="sqlite://")
    assert opened.office is not None, opened.findings
    opened.office.store.close()
    return replace(office, shop=opened.office.shop)


def codes(found: Any) -> list[str]:
    return [one.code for one in found]


def test_everybody_is_listed_with_the_roles_of_today(office: Office) -> None:
    found = {one.person.id: one for one in people_today(office)}
    assert [one.role for one in found["awick"].roles] == ["assembler", "inspector"]
    assert (found["oldhand"].here, found["oldhand"].roles) == (False, ())
    assert [one.locked for one in found.values()] == [None] * len(found)


def test_the_list_says_who_is_locked_out_and_never_shows_a_hash(office: Office) -> None:
    with office.store.transaction() as work:
        work.hold_pin_trials("iwren", office.now)
        work.note_pin_trials("iwren", PinTrials(5, office.now))
    soon, later = (office.now + timedelta(minutes=minutes) for minutes in (1, 16))
    found = {one.person.id: one for one in people_today(office, now=soon)}
    assert found["iwren"].locked == office.now + timedelta(minutes=15)
    assert "argon2" not in str(found["iwren"].as_dict())
    assert {one.locked for one in people_today(office, now=later)} == {None}


def test_somebody_new_is_entered_with_their_roles(office: Office) -> None:
    done = enrol(office, "bwick", "  B.  Wick ", ["packer", "packer", "shipping"], TODAY, "boss")
    assert done.findings == ()
    person = again(office).shop.people.by_id["bwick"]
    assert person.name == "B. Wick"
    assert [(one.role, one.since, one.until) for one in person.roles] == [
        ("packer", TODAY, None),
        ("shipping", TODAY, None),
    ]


@pytest.mark.parametrize(
    ("person", "name", "by", "code"),
    [
        ("tkiln", "T. Other", "boss", "PEO004"),
        ("oldhand", "O. Again", "boss", "PEO004"),
        ("B. Wick", "B. Wick", "boss", "PEO004"),
        ("bwick\n", "B. Wick", "boss", "PEO004"),
        ("bwick", " ", "boss", "PEO004"),
        ("bwick", "B. Wick", "qmoor", "GAT002"),
        ("bwick", "B. Wick", "bwick", "PER001"),
    ],
)
def test_who_cannot_be_entered(office: Office, person: str, name: str, by: str, code: str) -> None:
    before = (office.shop.folder / "people.yaml").read_bytes()
    assert codes(enrol(office, person, name, ["packer"], TODAY, by).findings) == [code]
    assert (office.shop.folder / "people.yaml").read_bytes() == before


def test_a_role_that_allows_nothing_is_told_and_a_shops_own_is_not(office: Office) -> None:
    done = enrol(office, "bwick", "B. Wick", ["pakcer"], TODAY, "boss")
    assert [(one.code, str(one.weight), one.hint) for one in done.findings] == [
        ("PEO005", "warning", "did you mean packer?")
    ]
    settings = office.shop.settings.model_copy(update={"authority": {"crate": ("strapper",)}})
    own = replace(again(office), shop=replace(office.shop, settings=settings))
    assert enrol(own, "cwick", "C. Wick", ["strapper"], TODAY, "boss").findings == ()


def test_somebody_who_leaves_is_here_to_their_last_day(office: Office) -> None:
    assert codes(leave(office, "tkiln", TODAY, "qmoor").findings) == ["GAT002"]
    assert codes(leave(office, "tkilm", TODAY, "boss").findings) == ["PER001"]
    assert leave(office, "tkiln", TODAY, "boss").findings == ()
    person = again(office).shop.people.by_id["tkiln"]
    assert [person.here(TODAY + timedelta(days=days)) for days in (0, 1)] == [True, False]
    assert leave(again(office), "tkiln", TODAY + timedelta(days=7), "boss").findings == ()
    assert again(office).shop.people.by_id["tkiln"].left == TODAY + timedelta(days=7)
