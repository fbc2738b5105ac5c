"""The store: what goes in comes out, whole or not at all, on both databases."""

from __future__ import annotations

import contextlib
from datetime import timedelta

import pytest

from traveler.record import chain
from traveler.record.entry import Fitted, Noted, Shipped, Struck
from traveler.record.errors import NoSuchUnit, NotStorable, SerialTaken, StoreUnreachable
from traveler.record.records import DefinitionDiffers, IssuedDefinition
from traveler.record.store import Store


def test_what_is_appended_comes_back_in_order_and_chained(store, samples):
    with store.transaction() as tx:
        tx.append_all(samples.work("BW4-1"), samples.now)
    with store.reading() as records:
        entries, unit = records.entries("BW4-1"), records.unit("BW4-1")
        rows = records.rows("BW4-1")
    assert [entry.body.kind for entry in entries] == ["issued", "ticked", "read", "signed"]
    assert [entry.seq for entry in entries] == [1, 2, 3, 4]
    assert chain.verify_rows(rows, head=unit.head, count=unit.entries) == []
    assert entries[2].body == samples.work("BW4-1")[1].body
    assert entries[2].at == samples.now


def test_an_error_inside_a_transaction_leaves_nothing_of_it(store, samples):
    def interrupted() -> None:
        with store.transaction() as tx:
            tx.append_all(samples.work("BW4-1"), samples.now)
            tx.issue(samples.issued("BW4-2"), samples.now)
            tx.next_number("BW")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        interrupted()
    with store.transaction() as tx:
        assert len(tx.entries("BW4-1")) == 1
        assert tx.unit("BW4-2") is None
        assert tx.next_number("BW") == 1


def test_an_abandoned_transaction_leaves_nothing_and_raises_nothing(store, samples):
    with store.transaction() as tx:
        tx.append_all(samples.work("BW4-1"), samples.now)
        tx.abandon()
    with store.reading() as records:
        assert records.unit("BW4-1").entries == 1


def test_a_reading_transaction_does_not_see_what_others_write_meanwhile(store, samples):
    with store.reading() as records:
        assert records.unit("BW4-1").entries == 1
        with store.transaction() as tx:
            tx.append_all(samples.work("BW4-1"), samples.now)
        assert records.unit("BW4-1").entries == 1
        assert len(records.entries("BW4-1")) == 1


def test_numbers_count_up_for_each_key_by_itself(store):
    with store.transaction() as tx:
        assert [tx.next_number("BW-2026"), tx.next_number("BW-2026"), tx.next_number("PW")] == [1, 2, 1]


def test_a_serial_is_never_given_twice(store, samples):
    with pytest.raises(SerialTaken), store.transaction() as tx:
        tx.issue(samples.issued("BW4-1"), samples.now)
    with store.reading() as records:
        assert records.unit("BW4-1").entries == 1


def test_a_unit_begins_with_its_issue(store, samples):
    with pytest.raises(ValueError, match="issued"), store.transaction() as tx:
        tx.issue(samples.draft("BW4-9", Noted(text="x")), samples.now)


def test_nothing_is_appended_to_a_unit_that_was_never_issued(store, samples):
    with pytest.raises(NoSuchUnit, match="BW4-8"), store.transaction() as tx:
        tx.append(samples.draft("BW4-8", Noted(text="x")), samples.now)


@pytest.mark.parametrize(
    ("by", "slot", "text"), [("a\x00", None, "x"), ("a", "\ud800", "x"), ("a", None, "\udc80")]
)
def test_a_text_no_database_holds_is_refused_in_a_sentence(store, samples, by, slot, text):
    with pytest.raises(NotStorable, match="cannot be stored"), store.transaction() as tx:
        tx.append(samples.draft("BW4-1", Noted(text=text), slot, by), samples.now)


def test_a_lot_with_a_nul_in_it_is_refused(store, samples):
    with pytest.raises(NotStorable), store.transaction() as tx:
        tx.append(samples.draft("BW4-1", Fitted(trace="lot", value="L\x001")), samples.now)


def test_a_definition_is_frozen_with_its_first_issue(store, samples):
    changed = samples.definition(content='{"title":"Winder, changed"}')
    with store.transaction() as tx:
        assert tx.put_definition(samples.definition()) == samples.definition()
        answer = tx.put_definition(changed)
    assert isinstance(answer, DefinitionDiffers)
    assert answer.kept == samples.definition()
    assert answer.finding().code == "STO001"
    assert changed.digest[:12] in answer.finding().what
    with store.transaction() as tx:
        assert isinstance(tx.put_definition(samples.definition("E", changed.content)), IssuedDefinition)
        assert [revision.revision for revision in tx.revisions("bobbin-winder")] == ["D", "E"]
        assert tx.definition("bobbin-winder", "D").content == '{"title":"Winder"}'
        assert tx.definition_of(changed.digest).revision == "E"
        assert tx.definition("bobbin-winder", "F") is None


def test_a_digest_that_does_not_fit_its_content_is_our_own_mistake(store, samples):
    wrong = IssuedDefinition("bobbin-winder", "G", "0" * 64, "{}", samples.now)
    with pytest.raises(ValueError, match="digest"), store.transaction() as tx:
        tx.put_definition(wrong)


def test_units_are_found_by_what_they_are_and_in_pieces(store, samples):
    with store.transaction() as tx:
        for serial in ("BW4-3", "BW4-2", "bw4-4"):
            tx.issue(samples.issued(serial), samples.now)
        tx.set_state("BW4-3", "building")
    with store.reading() as records:
        assert [unit.serial for unit in records.units()] == ["BW4-1", "BW4-2", "BW4-3", "bw4-4"]
        assert [unit.serial for unit in records.units(state="building")] == ["BW4-3"]
        assert [unit.serial for unit in records.units(order="O-77")] == ["BW4-1"]
        assert [unit.serial for unit in records.units(after="BW4-1", limit=2)] == ["BW4-2", "BW4-3"]
        assert records.units(product="potters-wheel") == ()
        assert len(records.units(since=samples.now, until=samples.now)) == 4
        assert records.units(since=samples.now + timedelta(microseconds=1)) == ()


def test_every_reference_is_found_whatever_its_case(store, samples):
    fitted = Fitted(trace="lot", value="Heat 77-a", number="P-1041")
    shipped = Shipped(customer="Lathbrook Textiles")
    with store.transaction() as tx:
        tx.append_all(samples.work("BW4-1"), samples.now)
        tx.append_all([samples.draft("BW4-1", fitted, "20-1"), samples.draft("BW4-1", shipped)], samples.now)
    with store.reading() as records:
        found = {
            kind: [entry.seq for entry in records.where_used(kind, value)]
            for kind, value in {
                "gauge": "ind-03", "lot": " HEAT  77-A", "customer": "lathbrook textiles", "order": "o-77",
                "person": "TKILN", "part_serial": "none",
            }.items()
        }  # fmt: skip
        assert [unit.serial for unit in records.units_using("lot", "heat 77-a")] == ["BW4-1"]
        assert records.units_using("lot", "heat 77") == ()
    assert found == {
        "gauge": [3], "lot": [5], "customer": [6], "order": [1], "person": [2, 3, 4, 5, 6], "part_serial": [],
    }  # fmt: skip


def test_a_part_is_fitted_elsewhere_until_it_is_struck_or_replaced(store, samples):
    motor = ("P-2007", "M-100")

    def elsewhere() -> dict:
        with store.reading() as records:
            return records.fitted_elsewhere("BW4-2", [motor, ("P-2007", "M-200")])

    fit = Fitted(trace="serial", number="P-2007", value="m-100")
    with store.transaction() as tx:
        tx.issue(samples.issued("BW4-2"), samples.now)
        first = tx.append(samples.draft("BW4-1", fit, "10-2"), samples.now)
    assert elsewhere() == {motor: "BW4-1"}
    with store.transaction() as tx:
        tx.append(samples.draft("BW4-1", Struck(strikes=first.seq, reason="wrong machine")), samples.now)
    assert elsewhere() == {}
    with store.transaction() as tx:
        tx.append(samples.draft("BW4-1", fit, "10-2"), samples.now)
        tx.append(samples.draft("BW4-1", fit.model_copy(update={"value": "M-101"}), "10-2"), samples.now)
    assert elsewhere() == {}


def test_a_form_token_is_good_once(store, samples):
    with store.transaction() as tx:
        assert tx.use_token("abc", samples.now)
        assert not tx.use_token("abc", samples.now)


def test_a_file_is_remembered_for_the_unit_it_was_recorded_for(store, samples):
    with store.transaction() as tx:
        tx.issue(samples.issued("BW4-2"), samples.now)
        tx.mark_seen("d1", "BW4-1", samples.now)
        tx.mark_seen("d1", "BW4-1", samples.now)
        assert tx.seen("d1", "BW4-1")
        assert not tx.seen("d1", "BW4-2")


def test_a_store_opened_again_holds_what_it_held(store, samples, store_url):
    with Store.open(store_url, create=False) as again, again.reading() as records:
        assert records.unit("BW4-1").order == "O-77"


def test_no_store_is_made_where_one_was_expected(store_url, tmp_path):
    with pytest.raises(StoreUnreachable, match="no records"):
        Store.open(store_url, create=False)
    assert list(tmp_path.iterdir()) == []


def test_a_relative_address_is_taken_from_the_shops_folder(tmp_path):
    Store.open("sqlite:///records.db", folder=tmp_path).close()
    assert (tmp_path / "records.db").exists()


def test_a_store_in_memory_works_like_one_on_disk(samples):
    with Store.open("sqlite://") as store:
        with store.transaction() as tx:
            tx.put_definition(samples.definition())
            tx.issue(samples.issued("BW4-1"), samples.now)
            tx.append_all(samples.work("BW4-1"), samples.now)
        with store.reading() as records:
            assert chain.verify_rows(records.rows("BW4-1"), count=4) == []


@pytest.mark.parametrize("serial", ["a\x00b", "\udcff", "", "'; DROP TABLE entry; --", "x" * 10_000])
def test_a_serial_nobody_would_write_finds_nothing_or_is_refused(store, serial):
    with contextlib.suppress(NotStorable), store.reading() as records:
        assert records.unit(serial) is None
        assert records.entries(serial) == ()
        assert records.where_used("lot", serial) == ()


def test_a_few_kinds_of_entries_are_read_of_many_units(store, samples):
    with store.transaction() as tx:
        for number in range(2, 700):
            tx.issue(samples.issued(f"BW4-{number}"), samples.now)
        tx.append_all([*samples.work("BW4-7"), *samples.work("BW4-600"), *samples.work("BW4-3")], samples.now)
    with store.reading() as records:
        asked = [f"BW4-{number}" for number in range(1, 700) if number != 3]
        found = records.entries_of_kinds(asked, ("read", "signed"))
        assert records.entries_of_kinds((), ("read",)) == ()
    assert [(entry.unit, entry.body.kind) for entry in found] == [
        ("BW4-600", "read"), ("BW4-600", "signed"), ("BW4-7", "read"), ("BW4-7", "signed"),
    ]  # fmt: skip
