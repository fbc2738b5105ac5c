"""A small unit's life in drafts, and an open store with one unit in it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest

from traveler.record.entry import Draft, Issued, Read, Signed, Ticked
from traveler.record.records import IssuedDefinition
from traveler.record.store import Store


class Samples:
    """Values the tests share; fixed, so that hashes repeat."""

    now = datetime(2026, 9, 14, 8, 30, tzinfo=UTC)

    def definition(self, revision: str = "D", content: str = '{"title":"Winder"}') -> IssuedDefinition:
        """A definition with this content."""
        digest = hashlib.sha256(content.encode()).hexdigest()
        return IssuedDefinition("bobbin-winder", revision, digest, content, self.now)

    def issued(self, serial: str, order: str | None = None) -> Draft:
        """The draft that makes a unit of the definition."""
        body = Issued(
            product="bobbin-winder", revision="D", variant="4", digest=self.definition().digest, order=order
        )
        return Draft(unit=serial, at=self.now, by="rhale", body=body)

    def draft(self, serial: str, body: object, slot: str | None = None, by: str = "tkiln") -> Draft:
        """Any draft."""
        return Draft.model_validate({"unit": serial, "at": self.now, "by": by, "slot": slot, "body": body})

    def work(self, serial: str) -> list[Draft]:
        """A tick, a reading, a signature."""
        reading = Read(written="0.041 mm", value="0.041", unit="mm", gauge="IND-03")
        return [
            self.draft(serial, Ticked(), "10-1"),
            self.draft(serial, reading, "10-4/spindle=1,end=near"),
            self.draft(serial, Signed(), "10/sign"),
        ]


@pytest.fixture(scope="session")
def samples() -> Samples:
    """Drafts and definitions."""
    return Samples()


@pytest.fixture
def store(store_url: str, samples: Samples) -> Iterator[Store]:
    """An open store with the definition and the unit BW4-1 in it."""
    with Store.open(store_url) as opened:
        with opened.transaction() as tx:
            tx.put_definition(samples.definition())
            tx.issue(samples.issued("BW4-1", "O-77"), samples.now)
        yield opened
