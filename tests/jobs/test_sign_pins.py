"""Who may set whose PIN, and what becomes of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from traveler.finding import blocking
from traveler.jobs.open import open_session
from traveler.jobs.sign import may_set_pin, set_pin, sign_in
from traveler.shop import people as pins
from traveler.shop.session import Session

DIRECTOR = "  - id: boss\n    name: B. Oss\n    roles: [{role: director, since: 2021-03-01}]\n"


@pytest.fixture(autouse=True)
def light(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Small parameters of argon2id."""
    for name, value in (("MEMORY_KIB", 8), ("TIME_COST", 1), ("LANES", 1)):
        monkeypatch.setattr(pins, name, value)
    pins._hasher.cache_clear()
    yield
    pins._hasher.cache_clear()


@pytest.fixture
def session(bench: Any) -> Session:
    """The small shop with a director."""
    file = bench.session.shop.folder / "people.yaml"
    file.write_text(file.read_text() + DIRECTOR)
    return again(bench.session)


def again(session: Session, *proven: str) -> Session:
    opened = open_session(session.shop.folder, session.now, database="sqlite://")
    assert opened.session is not None, opened.findings
    opened.session.store.close()
    return replace(session, shop=opened.session.shop, proven=frozenset(proven))


def codes(found: Any) -> list[str]:
    return [finding.code for finding in found]


def test_the_hash_and_who_set_it_go_into_the_file_and_the_pin_nowhere(session: Session) -> None:
    done = set_pin(session, "tkiln", "4826", "tkiln")
    assert done.done
    text = (session.shop.folder / "people.yaml").read_text()
    assert "4826" not in text
    person = again(session).shop.people.by_id["tkiln"]
    assert person.pin is not None
    assert pins.pin_is_right(person.pin, "4826")
    assert person.pin_set_by == "tkiln"


def test_the_first_pins_of_a_shop_are_set_freely(session: Session) -> None:
    assert may_set_pin(session, "boss", "boss") == ()
    assert may_set_pin(session, "tkiln", "tkiln") == ()
    assert codes(may_set_pin(session, "tkiln", "nobody")) == ["PER001"], "the register keeps who set it"


def test_once_somebody_who_enrols_has_a_pin_first_pins_are_theirs_to_set(session: Session) -> None:
    assert set_pin(session, "boss", "70491", "boss").done
    session = again(session)
    assert codes(may_set_pin(session, "tkiln", "tkiln")) == ["PIN007"]
    assert codes(may_set_pin(session, "tkiln", "qmoor")) == ["GAT002"]
    assert codes(may_set_pin(session, "tkiln", "boss")) == ["PIN004"]
    assert may_set_pin(again(session, "boss"), "tkiln", "boss") == ()
    done = set_pin(again(session, "boss"), "tkiln", "4826", "boss")
    assert done.done
    assert again(session).shop.people.by_id["tkiln"].pin_set_by == "boss"


def test_a_person_changes_their_own_pin_with_the_one_they_have(session: Session) -> None:
    assert set_pin(session, "tkiln", "4826", "tkiln").done
    session = again(session)
    assert codes(set_pin(session, "tkiln", "5937", "tkiln").findings) == ["PIN004"]
    signed = sign_in(session, "tkiln", "4826").session
    assert codes(set_pin(signed, "tkiln", "4826", "tkiln").findings) == ["PIN006"], "the one there was"
    assert set_pin(signed, "tkiln", "5937", "tkiln").done
    session = again(session)
    assert codes(sign_in(session, "tkiln", "4826").findings) == ["PIN001"]
    assert sign_in(session, "tkiln", "5937").findings == ()


def test_a_pin_that_was_forgotten_is_replaced_by_quality_and_by_nobody_else(session: Session) -> None:
    assert set_pin(session, "tkiln", "4826", "tkiln").done
    session = again(session)
    for _ in range(3):
        sign_in(session, "tkiln", "0000")
    assert codes(set_pin(session, "tkiln", "5937", "rhale").findings) == ["GAT002"]
    assert set_pin(session, "tkiln", "5937", "qmoor").done
    session = again(session)
    assert sign_in(session, "tkiln", "5937").findings == (), "earlier trials are off the count"
    assert session.shop.people.by_id["tkiln"].pin_set_by == "qmoor"


def test_somebody_locked_out_gets_no_new_pin_by_themselves(session: Session) -> None:
    assert set_pin(session, "tkiln", "4826", "tkiln").done
    session = again(session)
    assert codes(may_set_pin(session, "tkiln", "tkiln")) == ["PIN004"]


@pytest.mark.parametrize("pin", ["1234", "48", "no", ""])
def test_a_pin_that_is_none_or_easy_is_not_set(session: Session, pin: str) -> None:
    before = (session.shop.folder / "people.yaml").read_bytes()
    refused = set_pin(session, "tkiln", pin, "tkiln")
    assert (refused.file, codes(refused.findings)) == (None, ["PIN006"])
    assert (session.shop.folder / "people.yaml").read_bytes() == before


@pytest.mark.parametrize(("person", "code"), [("tkilm", "PER001"), ("oldhand", "PER003")])
def test_whoever_is_not_there_gets_no_pin(session: Session, person: str, code: str) -> None:
    refused = set_pin(session, person, "4826", person)
    assert codes(blocking(refused.findings)) == [code]


def test_a_pin_in_the_clear_in_the_file_is_told_and_stops_the_shop(session: Session) -> None:
    file = session.shop.folder / "people.yaml"
    file.write_text(file.read_text().replace("name: T. Kiln\n", 'name: T. Kiln\n    pin: "4826"\n'))
    opened = open_session(session.shop.folder, session.now, database="sqlite://")
    assert opened.session is None
    (found,) = opened.findings
    assert found.code == "SHP006"
    assert found.what == "the PIN of tkiln is not an argon2id hash"
    assert found.place.line is not None
    assert "4826" not in str(found)
