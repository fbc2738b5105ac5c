"""Rows of one unit, against its record."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.finding import Finding, Place
from traveler.record.entry import Adjusted, Read
from traveler.record.plans import Plans
from traveler.trace.export_tables import BY_NAME, FINDINGS, finding_rows, number_cell, unit_rows
from traveler.trace.stats.product_report import weigher_of


@pytest.fixture
def rows_of(year, built_year):
    """Rows as dicts, and the entries, of the unit built as number so and so."""

    def go(at):
        with year.store.reading() as records:
            unit = records.unit(built_year[1].serials[at])
            entries = records.entries(unit.serial)
            made = unit_rows(unit, Plans(records).plan(unit, entries), entries, weigher_of(year))
        named = {
            name: [dict(zip(BY_NAME[name].names, row, strict=True)) for row in rows]
            for name, rows in made.items()
        }
        return named, entries

    return go


def test_every_reading_is_a_row_with_what_was_written(rows_of):
    rows, entries = rows_of(20)
    read = [entry for entry in entries if isinstance(entry.body, Read)]
    assert [row["seq"] for row in rows["readings"]] == [entry.seq for entry in read]
    assert [(row["written"], row["value"], row["unit"]) for row in rows["readings"]] == [
        (entry.body.written, entry.body.value, entry.body.unit) for entry in read
    ]


def test_a_struck_reading_is_marked_and_counts_for_nothing(rows_of):
    struck = [row for row in rows_of(20)[0]["readings"] if row["struck_by"] is not None]
    assert [(row["value"], row["first"], row["counts"], row["state"]) for row in struck] == [
        ("0.280", 0, 0, None)
    ]


def test_first_and_counting_readings_of_an_adjusted_slot(rows_of):
    rows, entries = rows_of(9)
    brake = [row for row in rows["readings"] if row["check_name"] == "brake"]
    assert [(row["as_found"], row["first"], row["counts"]) for row in brake] == [
        (1, 1, 0),
        (0, 0, 0),
        (0, 0, 1),
    ]
    assert [row["state"] for row in brake] == ["out", "out", "in"]
    (adjusted,) = rows["adjustments"]
    body = next(entry.body for entry in entries if isinstance(entry.body, Adjusted))
    assert (adjusted["done"], adjusted["followed"]) == (body.done, 0)


def test_values_in_the_unit_of_the_limits_are_exact(rows_of):
    inches = next(row for row in rows_of(5)[0]["readings"] if row["unit"] == "in")
    assert Fraction(inches["value_in_limit_unit"]) == Fraction(inches["value"]) * Fraction(254, 10)
    assert (inches["lower"], inches["upper"], inches["limit_unit"]) == ("253.5", "254.5", "mm")


def test_the_unit_says_where_it_is_and_who_has_it(rows_of):
    (shipped,) = rows_of(0)[0]["units"]
    assert (shipped["state"], shipped["customer"]) == ("shipped", "Aldermoor Weavers")
    assert shipped["released"] < shipped["shipped"]
    (stock,) = rows_of(50)[0]["units"]
    assert (stock["place"], stock["customer"], stock["shipped"]) == ("in stock at Bay 1", None, None)


def test_worked_out_values_are_rows_too(rows_of):
    (taper,) = rows_of(3)[0]["worked"]
    assert (taper["check_name"], taper["upper"], taper["state"]) == ("taper", "0.03", "in")


def test_a_finding_is_a_row():
    class Of:
        serial, product, revision, variant = "S", "p", "A", "4"

    found = Finding("REA001", "out", Place(unit="S", slot="10-1", entry=4), hint="adjust")
    (row,) = finding_rows(Of, [found])
    told = dict(zip(FINDINGS.names, row, strict=True))
    assert (told["code"], told["weight"], told["slot"], told["seq"]) == ("REA001", "blocking", "10-1", 4)


@given(st.decimals(allow_nan=False, allow_infinity=False, places=9, min_value=-(10**9), max_value=10**9))
def test_a_decimal_leaves_exactly(value):
    text = number_cell(Fraction(value))
    assert Fraction(text) == Fraction(value)
    assert "e" not in text.lower()
