"""Standing in: what may be handed on by whom and when, and that the record says for whom for good."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from traveler.jobs.append import note
from traveler.jobs.open import open_session
from traveler.jobs.people import Delegation, delegate
from traveler.jobs.shipping import release
from traveler.record.entry import Signed
from traveler.shop.session import Session
from traveler.trace.history import signer

TODAY = date(2026, 11, 2)
LATER = TODAY + timedelta(days=10)
DIRECTOR = "  - id: boss\n    name: B. Oss\n    roles: [{role: director, since: 2021-03-01}]\n"


@pytest.fixture
def session(bench: Any) -> Session:
    file = bench.session.shop.folder / "people.yaml"
    file.write_text(file.read_text() + DIRECTOR)
    bench.session = again(bench.session)
    session: Session = bench.session
    return session


def again(session: Session) -> Session:
    opened = open_session(session.shop.folder, session.now, database="sqlite://")
    assert opened.session is not None, opened.findings
    opened.session.store.close()
    return replace(session, shop=opened.session.shop)


def asked(**changes: Any) -> Delegation:
    said = {"role": "quality", "giver": "qmoor", "taker": "awick", "since": TODAY, "until": LATER}
    return Delegation(**(said | changes))


def codes(found: Any) -> list[str]:
    return [finding.code for finding in found]


@pytest.mark.parametrize("by", ["qmoor", "boss"])
def test_whoever_holds_the_role_and_the_director_hand_it_on(session: Session, by: str) -> None:
    done = delegate(session, asked(), by)
    assert done.findings == ()
    (held,) = [role for role in again(session).shop.people.by_id["awick"].roles if role.role == "quality"]
    assert (held.since, held.until, held.instead_of) == (TODAY, LATER, "qmoor")


@pytest.mark.parametrize("by", ["awick", "rhale", "iwren"])
def test_nobody_else_hands_it_on_not_even_to_themselves(session: Session, by: str) -> None:
    before = (session.shop.folder / "people.yaml").read_bytes()
    assert codes(delegate(session, asked(), by).findings) == ["GAT002"]
    assert (session.shop.folder / "people.yaml").read_bytes() == before


REFUSED: dict[str, tuple[dict[str, Any], str]] = {
    "a role the giver does not hold": ({"giver": "tkiln"}, "PEO001"),
    "a role that is none": ({"role": "qualty"}, "PEO001"),
    "to oneself": ({"taker": "qmoor"}, "PEO003"),
    "to somebody who holds it": ({"role": "inspector"}, "PEO003"),
    "from yesterday on": ({"since": TODAY - timedelta(days=1)}, "PEO002"),
    "ending before it begins": ({"since": LATER, "until": TODAY}, "PEO002"),
    "to nobody": ({"taker": "awikc"}, "PER001"),
    "from nobody": ({"giver": "qmore"}, "PER001"),
    "to somebody who left": ({"taker": "oldhand"}, "PER003"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_handed_on(session: Session, case: str) -> None:
    changes, code = REFUSED[case]
    done = delegate(session, asked(**changes), "boss")
    assert done.file is None
    assert code in codes(done.findings)


def test_what_was_handed_on_is_not_handed_on_again(session: Session) -> None:
    assert delegate(session, asked(), "qmoor").file is not None
    further = delegate(again(session), asked(giver="awick", taker="iwren"), "awick")
    assert codes(further.findings) == ["PEO001"]


def test_it_begins_and_ends_with_its_days(session: Session) -> None:
    assert delegate(session, asked(since=TODAY + timedelta(days=3)), "qmoor").file is not None
    awick = again(session).shop.people.by_id["awick"]
    days = [awick.holds("quality", TODAY + timedelta(days=number)) for number in (2, 3, 10, 11)]
    assert days == [False, True, True, False]


def stood_in(bench: Any, taker: str = "awick") -> str:
    """A built unit of a shop in which quality was handed on."""
    serial: str = bench.built()
    assert delegate(bench.session, asked(taker=taker), "qmoor").file is not None
    bench.session = again(bench.session)
    return serial


def test_a_release_by_a_stand_in_says_for_whom_and_the_role_may_end(bench: Any, session: Session) -> None:
    serial = stood_in(bench)
    done = release(bench.session, serial, "awick")
    assert done.taken, done.findings
    entry = done.judged.entries[-1]
    assert (entry.by, entry.body.instead_of, signer(entry)) == ("awick", "qmoor", "awick for qmoor")
    later = replace(bench.session, now=bench.session.now + timedelta(days=30))
    assert codes(release(later, bench.built(), "awick").findings) == ["GAT002"]


def test_what_is_done_in_ones_own_role_is_done_for_nobody(bench: Any, session: Session) -> None:
    serial = stood_in(bench)
    assert note(bench.session, serial, "seen", "awick").entry.body.instead_of is None
    assert release(bench.session, serial, "qmoor").judged.entries[-1].body.instead_of is None


def test_a_stand_in_who_built_the_unit_does_not_release_it(bench: Any, session: Session) -> None:
    serial = stood_in(bench, "tkiln")
    refused = release(bench.session, serial, "tkiln")
    assert codes(refused.findings) == ["PER005"]


def test_nobody_releases_what_they_built_by_having_somebody_stand_in(
    bench: Any, session: Session, builds: Callable[[str], None]
) -> None:
    """The builder holds quality too; a delegate of the builder may not release either."""
    builds("tkiln")
    bench.session = again(bench.session)
    serial = bench.built()
    assert delegate(bench.session, asked(giver="tkiln", taker="rhale"), "tkiln").file is not None
    bench.session = again(bench.session)
    refused = release(bench.session, serial, "rhale")
    assert codes(refused.findings) == ["PER005"]
    assert "tkiln, for whom rhale stands in" in refused.findings[0].what
    assert release(bench.session, serial, "qmoor").taken


@pytest.fixture
def builds(bench: Any) -> Callable[[str], None]:
    """Gives a builder the role quality as well."""

    def change(person: str) -> None:
        file = bench.session.shop.folder / "people.yaml"
        text = file.read_text()
        old = "name: T. Kiln\n    roles: ["
        assert old in text
        file.write_text(text.replace(old, old + "{role: quality, since: 2021-03-01}, "))

    return change


def test_a_signature_on_a_sheet_by_a_stand_in_says_for_whom_too(bench: Any, session: Session) -> None:
    assert delegate(session, asked(role="inspector", giver="iwren", taker="rhale"), "iwren").file is not None
    bench.session = again(bench.session)
    serial = bench.unit()
    made = bench.fillings(serial)
    made = [
        replace(filling, value="rhale", by="rhale") if filling.slot.id == "Q/sign" else filling
        for filling in made
    ]
    first = bench.record(serial, made)
    again_given = bench.record(serial, made, "the same again.csv")
    with bench.session.store.reading() as records:
        entries = [entry for entry in records.entries(serial) if isinstance(entry.body, Signed)]
    assert [(entry.by, entry.body.instead_of) for entry in entries] == [("tkiln", None), ("rhale", "iwren")]
    assert (first.files[0].added, again_given.files[0].added) == (len(made), 0)
