"""Which units share something, and where they are: on both stores, struck entries told apart."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest

from traveler.definition.model import Definition, canonical_content, definition_digest
from traveler.record.entry import Body, Draft, Fitted, Issued, Placed, Read, Struck
from traveler.record.records import IssuedDefinition
from traveler.record.store import Store
from traveler.trace.where_used import Use, where_used

NOW = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)
DEFINITION = Definition.model_validate(
    {
        "product": "step-stool", "title": "Stool", "revision": "A", "revised": "2026-01-12",
        "approved_by": "rhale",
        "serials": {"pattern": "ST-{n}"}, "variants": {"2": {"title": "Two"}},
        "operations": [{"number": "10", "title": "Frame", "sign": "assembler", "steps": [{"do": "Rivet."}]}],
    }
)  # fmt: skip
MARK = definition_digest(DEFINITION)


def draft(unit: str, body: Body, slot: str | None = None, by: str = "tkiln") -> Draft:
    return Draft(unit=unit, at=NOW, zone="UTC", by=by, slot=slot, body=body)


@pytest.fixture
def store(store_url: str) -> Iterator[Store]:
    """Three units: A and B with lot 77 (B's struck out), C with another; A stands in stock."""
    issued = Issued(product="step-stool", revision="A", variant="2", digest=MARK, order="4471")
    with Store.open(store_url) as opened:
        with opened.transaction() as work:
            work.put_definition(
                IssuedDefinition("step-stool", "A", MARK, canonical_content(DEFINITION).decode(), NOW)
            )
            for unit in "ABC":
                work.issue(draft(unit, issued), NOW)
            work.append_all(
                [
                    draft("A", Fitted(trace="lot", value="77"), "10-1"),
                    draft("A", Fitted(trace="lot", value="77"), "10-2"),
                    draft("A", Placed(place="Bay 3")),
                    draft("B", Fitted(trace="lot", value="77"), "10-1"),
                    draft("B", Struck(strikes=2, reason="other lot"), "10-1"),
                    draft("C", Fitted(trace="lot", value="78"), "10-1"),
                    draft(
                        "C", Read(written="1 mm", value="1", unit="mm", gauge="IND-03"), "10-3", by="awick"
                    ),
                ],
                NOW,
            )
            work.set_state("A", "in stock")
        yield opened


def ask(store: Store, kind: str, value: str) -> dict[str, Use]:
    with store.reading() as records:
        return {use.unit.serial: use for use in where_used(records, kind, value)}


def test_units_with_a_lot_are_found_with_where_they_are_and_in_which_slots(store: Store) -> None:
    found = ask(store, "lot", "77")
    assert list(found) == ["A", "B"]
    assert (found["A"].place.text, found["A"].slots, found["A"].stands) == (
        "in stock at Bay 3",
        ("10-1", "10-2"),
        True,
    )


def test_a_unit_whose_entry_was_struck_out_is_told_apart_and_not_left_out(store: Store) -> None:
    use = ask(store, "lot", "77")["B"]
    assert (use.stands, use.slots, use.struck) == (False, (), (2,))
    assert use.as_dict()["stands"] is False


@pytest.mark.parametrize(
    ("kind", "value", "units"),
    [
        ("lot", " 78 ", ["C"]), ("gauge", "ind-03", ["C"]), ("person", "awick", ["C"]),
        ("person", "tkiln", ["A", "B", "C"]), ("order", "4471", ["A", "B", "C"]), ("lot", "7", []),
        ("gauge", "IND-99", []),
    ],
)  # fmt: skip
def test_other_questions_are_answered_whatever_the_case(
    store: Store, kind: str, value: str, units: list[str]
) -> None:
    assert list(ask(store, kind, value)) == units
