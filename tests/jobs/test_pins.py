"""Who may set whose PIN, and what becomes of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from traveler.finding import blocking
from traveler.jobs.office import Office
from traveler.jobs.opening import open_office
from traveler.jobs.pins import may_set_pin, set_pin
from traveler.jobs.signing import sign_in
from traveler.shop import pins

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
def office(bench: Any) -> Office:
    """The small shop with a director."""
    file = bench.office.shop.folder / "people.yaml"
    file.write_text(file.read_text() + DIRECTOR)
    return again(bench.office)


def again(office: Office, *proven: str) -> Office:
    opened = open_office(office.shop.folder, office.now, database="sqlite://")
    assert opened.office is not None, opened.findings
    opened.office.store.close()
    return replace(office, shop=opened.office.shop, proven=frozenset(proven))


def codes(found: Any) -> list[str]:
    return [one.code for one in found]


def test_the_hash_and_who_set_it_go_into_the_file_and_the_pin_nowhere(office: Office) -> None:
    done = set_pin(office, "tkiln", "4826", "tkiln")
    assert done.done
    text = (office.shop.folder / "people.yaml").read_text()
    assert "4826" not in text
    person = again(office).shop.people.by_id["tkiln"]
    assert person.pin is not None
    assert pins.pin_is_right(person.pin, "4826")
    assert person.pin_set_by == "tkiln"


def test_the_first_pins_of_a_shop_are_set_freely(office: Office) -> None:
    assert may_set_pin(office, "boss", "boss") == ()
    assert may_set_pin(office, "tkiln", "tkiln") == ()
    assert codes(may_set_pin(office, "tkiln", "nobody")) == ["PER001"], "the register keeps who set it"


def test_once_somebody_who_enrols_has_a_pin_first_pins_are_theirs_to_set(office: Office) -> None:
    assert set_pin(office, "boss", "70491", "boss").done
    office = again(office)
    assert codes(may_set_pin(office, "tkiln", "tkiln")) == ["PIN007"]
    assert codes(may_set_pin(office, "tkiln", "qmoor")) == ["GAT002"]
    assert codes(may_set_pin(office, "tkiln", "boss")) == ["PIN004"]
    assert may_set_pin(again(office, "boss"), "tkiln", "boss") == ()
    done = set_pin(again(office, "boss"), "tkiln", "4826", "boss")
    assert done.done
    assert again(office).shop.people.by_id["tkiln"].pin_set_by == "boss"


def test_a_person_changes_their_own_pin_with_the_one_they_have(office: Office) -> None:
    assert set_pin(office, "tkiln", "4826", "tkiln").done
    office = again(office)
    assert codes(set_pin(office, "tkiln", "5937", "tkiln").findings) == ["PIN004"]
    signed = sign_in(office, "tkiln", "4826").office
    assert codes(set_pin(signed, "tkiln", "4826", "tkiln").findings) == ["PIN006"], "the one there was"
    assert set_pin(signed, "tkiln", "5937", "tkiln").done
    office = again(office)
    assert codes(sign_in(office, "tkiln", "4826").findings) == ["PIN001"]
    assert sign_in(office, "tkiln", "5937").findings == ()


def test_a_pin_that_was_forgotten_is_replaced_by_quality_and_by_nobody_else(office: Office) -> None:
    assert set_pin(office, "tkiln", "4826", "tkiln").done
    office = again(office)
    for _ in range(3):
        sign_in(office, "tkiln", "0000")
    assert codes(set_pin(office, "tkiln", "5937", "rhale").findings) == ["GAT002"]
    assert set_pin(office, "tkiln", "5937", "qmoor").done
    office = again(office)
    assert sign_in(office, "tkiln", "5937").findings == (), "earlier trials are off the count"
    assert office.shop.people.by_id["tkiln"].pin_set_by == "qmoor"


def test_somebody_locked_out_gets_no_new_pin_by_themselves(office: Office) -> None:
    assert set_pin(office, "tkiln", "4826", "tkiln").done
    office = again(office)
    assert codes(may_set_pin(office, "tkiln", "tkiln")) == ["PIN004"]


@pytest.mark.parametrize("pin", ["1234", "48", "no", ""])
def test_a_pin_that_is_none_or_easy_is_not_set(office: Office, pin: str) -> None:
    before = (office.shop.folder / "people.yaml").read_bytes()
    refused = set_pin(office, "tkiln", pin, "tkiln")
    assert (refused.file, codes(refused.findings)) == (None, ["PIN006"])
    assert (office.shop.folder / "people.yaml").read_bytes() == before


@pytest.mark.parametrize(("person", "code"), [("tkilm", "PER001"), ("oldhand", "PER003")])
def test_whoever_is_not_there_gets_no_pin(office: Office, person: str, code: str) -> None:
    refused = set_pin(office, person, "4826", person)
    assert codes(blocking(refused.findings)) == [code]


def test_a_pin_in_the_clear_in_the_file_is_told_and_stops_the_shop(office: Office) -> None:
    file = office.shop.folder / "people.yaml"
    file.write_text(file.read_text().replace("name: T. Kiln\n", 'name: T. Kiln\n    pin: "4826"\n'))
    opened = open_office(office.shop.folder, office.now, database="sqlite://")
    assert opened.office is None
    (found,) = opened.findings
    assert found.code == "SHP006"
    assert found.what == "the PIN of tkiln is no argon2id hash"
    assert found.place.line is not None
    assert "4826" not in str(found)
