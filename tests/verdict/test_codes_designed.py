"""Every finding the design asks of a verdict: its code, its page, its weight, and what proves it both ways.

The left column says it in the words of the design. The names are those of the case that raises it and of the
case in which it stays silent, in the tables ``RAISED`` and ``SILENT`` of their file, or of tests of their
own.
"""

from __future__ import annotations

import ast
import re
import runpy
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from traveler.finding import Weight
from traveler.shop.settings import Settings
from traveler.verdict.codes import CODES, refused_weights, weigh

HOUSE = Path(__file__).parents[2]
PAGE = (HOUSE / "docs" / "findings.md").read_text(encoding="utf-8")

IN_TABLES = {  # in words: code, file, case that raises it, case in which it is silent
    "missing slot": ("MIS002", "rules/test_missing", "signed_over_it", "complete"),
    "reading out of tolerance": ("REA001", "rules/test_readings", "over_the_upper_limit", "on_the_limit"),
    "reading in the guard band": (
        "REA002",
        "rules/test_readings",
        "in_the_guard_band",
        "on_the_acceptance_limit",
    ),
    "unit missing": ("REA003", "rules/test_readings", "without_a_unit", "unit_missing_and_read_again"),
    "unit of another dimension": (
        "REA004",
        "rules/test_readings",
        "a_torque_where_a_length_is_expected",
        "in_another_unit_of_length",
    ),
    "implausible reading (over 10 tolerance widths away)": (
        "REA006",
        "rules/test_readings",
        "a_hundred_times_too_much",
        "out_by_a_plausible_amount",
    ),
    "more decimals than the gauge resolves": (
        "REA007",
        "rules/test_readings",
        "more_digits_than_the_indicator_shows",
        "as_many_digits_as_the_indicator_shows",
    ),
    "resolution coarser than a tenth of the tolerance": (
        "REA008",
        "rules/test_readings",
        "read_with_a_coarse_gauge",
        "coarse_by_exactly_a_tenth",
    ),
    "gauge unknown": (
        "GAU002",
        "rules/test_gauges",
        "a_gauge_nobody_knows",
        "a_bad_gauge_in_a_reading_that_was_read_again",
    ),
    "gauge of another kind": (
        "GAU003",
        "rules/test_gauges",
        "a_height_gauge_instead_of_an_indicator",
        "good",
    ),
    "gauge past due on that date": (
        "GAU004",
        "rules/test_gauges",
        "a_day_past_due",
        "on_the_last_day_it_is_due",
    ),
    "gauge withdrawn": (
        "GAU005",
        "rules/test_gauges",
        "withdrawn_on_that_very_day",
        "withdrawn_the_day_after",
    ),
    "gauge too uncertain for the limit": (
        "GAU006",
        "rules/test_gauges",
        "an_uncertainty_of_a_sixth_of_the_tolerance",
        "an_uncertainty_of_exactly_a_quarter",
    ),
    "person unknown": (
        "PER001",
        "rules/test_persons",
        "somebody_nobody_knows",
        "the_wrong_entry_is_struck_out",
    ),
    "person without the role": (
        "PER002",
        "rules/test_persons",
        "a_packer_at_the_assembly",
        "a_role_on_its_last_day",
    ),
    "person left before that date": (
        "PER003",
        "rules/test_persons",
        "somebody_who_has_left",
        "on_the_last_day_at_the_shop",
    ),
    "builder inspecting own work": (
        "PER004",
        "rules/test_persons",
        "the_builder_signs_the_final_checks",
        "good",
    ),
    "signed before its steps are complete": (
        "SEQ001",
        "rules/test_sequence",
        "signed_over_an_open_step",
        "good",
    ),
    "operation signed before an earlier hold point": (
        "SEQ003",
        "rules/test_sequence",
        "speed_measured_before_the_guards_were_witnessed",
        "good",
    ),
    "dated before issue": ("SEQ004", "rules/test_sequence", "dated_an_hour_before_the_issue", "good"),
    "dated in the future": (
        "SEQ005",
        "rules/test_sequence",
        "dated_ten_minutes_after_it_was_recorded",
        "good",
    ),
    "out of order in time": (
        "SEQ006",
        "rules/test_sequence",
        "the_second_entry_is_dated_before_the_first",
        "good",
    ),
    "repeated identical readings across positions (copy-down)": (
        "REA009",
        "rules/test_readings",
        "all_run_outs_equal",
        "all_but_one_equal",
    ),
    "open nonconformance": ("NON001", "rules/test_stops", "stopped", "good"),
    "use-as-is without concession": (
        "NON002",
        "rules/test_stops",
        "as_is_without_a_concession",
        "as_is_under_a_concession",
    ),
    "rework without a new reading": ("NON003", "rules/test_stops", "reworked_and_not_measured", "good"),
    "adjusted without as-found reading": (
        "REA010",
        "rules/test_readings",
        "adjusted_first_and_read_then",
        "read_adjusted_and_read",
    ),
    "traced part missing": ("PAR001", "rules/test_missing", "lot_of_the_end_plates_missing", "complete"),
    "serial already fitted in another unit": (
        "PAR002",
        "rules/test_entries",
        "a_motor_that_sits_in_another_unit",
        "good",
    ),
    "lot on hold": ("PAR003", "rules/test_entries", "plates_of_a_lot_on_hold", "good"),
    "lot unknown": ("PAR004", "rules/test_entries", "plates_of_a_lot_nobody_knows", "good"),
    "wrong check character in a serial": (
        "IDN001",
        "rules/test_entries",
        "a_serial_with_a_wrong_character",
        "good",
    ),
    "definition digest differs": (
        "IDN003",
        "rules/test_entries",
        "issued_with_another_definition",
        "good",
    ),
    "packing item missing": ("PAC001", "rules/test_missing", "hex_keys_not_ticked", "complete"),
    "wood mark missing": ("PAC003", "rules/test_missing", "nobody_looked_at_the_wood_mark", "complete"),
    "photo missing": ("PAC004", "rules/test_missing", "no_photo_of_the_open_crate", "complete"),
    "lot quantities that do not add up": (
        "LOT001",
        "rules/test_parts_lots",
        "two_pieces_too_few",
        "everything_adds_up",
    ),
    "run started before first-piece approval": (
        "LOT002",
        "rules/test_parts_lots",
        "run_before_the_first_piece_was_measured",
        "everything_adds_up",
    ),
}

OF_THEIR_OWN = {  # in words: code, file, test that it is raised, file, test that it is silent
    "sheet printed from another revision than issued": (
        "RES041", "record/readers/test_files_csv.py",
        "test_a_file_of_another_unit_revision_or_digest_is_refused",
        "record/readers/test_files_csv.py",
        "test_who_and_when_come_from_the_row_then_the_head_then_the_signature_then_the_command",
    ),
    "gross mass outside expectation": (
        "PAC002", "verdict/rules/test_packing.py",
        "test_a_crate_without_its_hex_keys_is_found_by_its_mass_where_they_are_heavy_enough",
        "verdict/rules/test_packing.py", "test_a_crate_that_weighs_what_it_should_is_fine",
    ),
    "entry altered": (
        "CHN001", "record/test_chain.py", "test_any_single_changed_character_is_found",
        "record/test_chain.py", "test_what_was_written_verifies_against_its_own_end",
    ),
    "chain broken": (
        "CHN002", "record/test_chain.py", "test_a_removed_entry_is_found",
        "record/test_audit.py", "test_an_untouched_store_has_nothing_to_be_said_about_it",
    ),
    "tail cut": (
        "CHN003", "record/test_chain.py", "test_a_cut_tail_says_how_much_is_missing",
        "record/test_chain.py", "test_entries_written_after_the_noted_head_are_no_finding",
    ),
}  # fmt: skip

FIRM = {
    "REA001", "REA003", "REA004", "PER001", "PER002", "PER003", "PER004", "SEQ003", "NON001", "NON002",
    "NON003", "PAR001", "PAR002", "PAR003", "IDN001", "IDN003",
}  # fmt: skip
"""Those of the design about safety or identity: a shop may raise their weight and never lower it."""

EVERY = {said: row[0] for said, row in (*IN_TABLES.items(), *OF_THEIR_OWN.items())}


@cache
def tables(file: str) -> dict[str, Any]:
    return runpy.run_path(str(Path(__file__).parent / f"{file}.py"))


@cache
def named_in(file: str) -> frozenset[str]:
    tree = ast.parse((HOUSE / "tests" / file).read_text(encoding="utf-8"))
    return frozenset(statement.name for statement in tree.body if isinstance(statement, ast.FunctionDef))


@pytest.mark.parametrize("said", IN_TABLES)
def test_it_is_proven_both_ways_by_cases_of_a_table(said: str) -> None:
    code, file, raised, silent = IN_TABLES[said]
    for table, case in (("RAISED", raised), ("SILENT", silent)):
        assert case in {item.__name__ for item in tables(file)[table][code]}
    assert {"test_it_is_raised", "test_it_is_silent"} <= set(tables(file))


@pytest.mark.parametrize("said", OF_THEIR_OWN)
def test_it_is_proven_both_ways_by_tests_of_its_own(said: str) -> None:
    _, file, raised, other, silent = OF_THEIR_OWN[said]
    assert raised in named_in(file)
    assert silent in named_in(other)


@pytest.mark.parametrize("said", EVERY)
def test_it_is_on_the_page_with_what_to_do(said: str) -> None:
    (row,) = re.findall(rf"^\| {EVERY[said]} \| (.+) \|$", PAGE, re.MULTILINE)
    weight, *rest = row.split(" | ")
    assert len(rest) == 4
    assert weight.startswith(("blocking", "warning", "note"))
    assert weight.endswith(", firm") is (EVERY[said] in FIRM)


@pytest.mark.parametrize("said", EVERY)
def test_a_shop_may_raise_its_weight_and_lower_it_only_where_nobody_is_hurt(said: str) -> None:
    code = EVERY[said]
    for wanted in Weight:
        settings = Settings(name="Marrowby Machine Works", weights={code: wanted})
        if code not in CODES:  # a broken chain blocks in every shop: there is nothing to set
            assert [weight.code for weight in refused_weights(settings)] == ["GAT006"]
        elif code in FIRM and wanted is not CODES[code].weight:
            assert weigh(code, settings) is CODES[code].weight is Weight.BLOCKING
            assert [weight.code for weight in refused_weights(settings)] == ["GAT005"]
        else:
            assert weigh(code, settings) is wanted
            assert refused_weights(settings) == []


def test_every_code_is_told_once() -> None:
    assert len(set(EVERY.values())) == len(EVERY) == NUMBER


NUMBER = 43
"""The findings that the design lists."""
