"""Who works here today; who comes and who leaves."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from traveler.jobs.open import open_session
from traveler.jobs.people import enrol, leave, people_today
from traveler.record.records import PinTrials
from traveler.shop.session import Session

TODAY = date(2026, 11, 2)
DIRECTOR = "  - id: boss\n    name: B. Oss\n    roles: [{role: director, since: 2021-03-01}]\n"


@pytest.fixture
def session(bench: Any) -> Session:
    file = bench.session.shop.folder / "people.yaml"
    file.write_text(file.read_text() + DIRECTOR)
    return again(bench.session)


def again(session: Session) -> Session:
    opened = open_session(session.shop.folder, session.now, database="sqlite://")
    assert opened.session is not None, opened.findings
    opened.session.store.close()
    return replace(session, shop=opened.session.shop)


def codes(found: Any) -> list[str]:
    return [finding.code for finding in found]


def test_everybody_is_listed_with_the_roles_of_today(session: Session) -> None:
    found = {person.person.id: person for person in people_today(session)}
    assert [role.role for role in found["awick"].roles] == ["assembler", "inspector"]
    assert (found["oldhand"].here, found["oldhand"].roles) == (False, ())
    assert [person.locked for person in found.values()] == [None] * len(found)


def test_the_list_says_who_is_locked_out_and_never_shows_a_hash(session: Session) -> None:
    with session.store.transaction() as work:
        work.hold_pin_trials("iwren", session.now)
        work.note_pin_trials("iwren", PinTrials(5, session.now))
    soon, later = (session.now + timedelta(minutes=minutes) for minutes in (1, 16))
    found = {person.person.id: person for person in people_today(session, now=soon)}
    assert found["iwren"].locked == session.now + timedelta(minutes=15)
    assert "argon2" not in str(found["iwren"].as_dict())
    assert {person.locked for person in people_today(session, now=later)} == {None}


def test_somebody_new_is_entered_with_their_roles(session: Session) -> None:
    done = enrol(session, "bwick", "  B.  Wick ", ["packer", "packer", "shipping"], TODAY, "boss")
    assert done.findings == ()
    person = again(session).shop.people.by_id["bwick"]
    assert person.name == "B. Wick"
    assert [(role.role, role.since, role.until) for role in person.roles] == [
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
def test_who_cannot_be_entered(session: Session, person: str, name: str, by: str, code: str) -> None:
    before = (session.shop.folder / "people.yaml").read_bytes()
    assert codes(enrol(session, person, name, ["packer"], TODAY, by).findings) == [code]
    assert (session.shop.folder / "people.yaml").read_bytes() == before


def test_a_role_that_the_shop_does_not_have_is_refused_and_its_own_is_not(session: Session) -> None:
    before = (session.shop.folder / "people.yaml").read_bytes()
    done = enrol(session, "bwick", "B. Wick", ["pakcer"], TODAY, "boss")
    (finding,) = done.findings
    assert (finding.code, str(finding.weight), done.file) == ("PEO005", "blocking", None)
    assert finding.hint.startswith("did you mean 'packer'? roles of this shop are assembler, ")
    (finding,) = enrol(session, "bwick", "B. Wick", ["boss"], TODAY, "boss").findings
    assert finding.hint.startswith("roles of this shop are ")
    assert "everybody" not in finding.hint
    assert (session.shop.folder / "people.yaml").read_bytes() == before
    settings = session.shop.settings.model_copy(update={"authority": {"crate": ("strapper",)}})
    own = replace(again(session), shop=replace(session.shop, settings=settings))
    assert enrol(own, "cwick", "C. Wick", ["strapper"], TODAY, "boss").findings == ()


def test_somebody_who_leaves_is_here_to_their_last_day(session: Session) -> None:
    assert codes(leave(session, "tkiln", TODAY, "qmoor").findings) == ["GAT002"]
    assert codes(leave(session, "tkilm", TODAY, "boss").findings) == ["PER001"]
    assert leave(session, "tkiln", TODAY, "boss").findings == ()
    person = again(session).shop.people.by_id["tkiln"]
    assert [person.here(TODAY + timedelta(days=days)) for days in (0, 1)] == [True, False]
    assert leave(again(session), "tkiln", TODAY + timedelta(days=7), "boss").findings == ()
    assert again(session).shop.people.by_id["tkiln"].left == TODAY + timedelta(days=7)
