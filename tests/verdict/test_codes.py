"""The table of findings, the weights a shop may give them, and what covers them."""

from __future__ import annotations

import runpy
from pathlib import Path

import pytest

from traveler.finding import Weight
from traveler.shop.settings import Settings
from traveler.verdict.codes import CODES, refused_weights, weigh

HERE = Path(__file__).parent
ELSEWHERE = {
    "PAC002": "rules/test_packing.py",
    "PAR005": "rules/test_entries.py",
    "GAT001": "test_gate.py",
    "GAT002": "test_gate.py",
    "GAT004": "test_gate.py",
    "GAT005": "test_codes.py",
    "GAT006": "test_codes.py",
}
"""Codes that are proven both ways by tests of their own, and where."""


def shop(**weights: str) -> Settings:
    return Settings(name="Marrowby Machine Works", weights=weights)


def keys_of(table: str) -> set[str]:
    """The codes in all tables of this name in the tests of this folder."""
    modules = (
        runpy.run_path(str(file)) for file in sorted(HERE.rglob("test_*.py")) if file.name != "test_codes.py"
    )
    return {code for module in modules for code in module.get(table, {})}


@pytest.mark.parametrize("table", ["RAISED", "SILENT"])
def test_every_finding_is_proven_both_ways(table):
    assert set(CODES) - keys_of(table) - set(ELSEWHERE) == set()
    for code, file in ELSEWHERE.items():
        assert code in (HERE / file).read_text(encoding="utf-8")


def test_a_shop_can_raise_any_weight_and_lower_those_that_are_not_about_safety_or_identity():
    assert weigh("REA007", shop(REA007="blocking")) is Weight.BLOCKING
    assert weigh("REA002", shop(REA002="warning")) is Weight.WARNING
    assert weigh("MIS001", shop(MIS001="warning")) is Weight.WARNING


@pytest.mark.parametrize("code", [code for code, finding_code in CODES.items() if finding_code.firm])
def test_no_shop_lowers_a_firm_weight(code):
    for lower in ("note", "warning"):
        assert weigh(code, shop(**{code: lower})) is CODES[code].weight
        (found,) = refused_weights(shop(**{code: lower}))
        assert (found.code, found.place.slot) == ("GAT005", f"weights.{code}")
    assert refused_weights(shop(**{code: "blocking"})) == []


def test_a_weight_for_a_finding_that_does_not_exist_is_refused():
    (found,) = refused_weights(shop(REA999="note"))
    assert found.code == "GAT006"
    assert refused_weights(shop(REA007="blocking")) == []


def test_the_findings_about_safety_and_identity_are_firm():
    families = {"IDN", "PER"}
    assert all(finding_code.firm for code, finding_code in CODES.items() if code[:3] in families)
    assert CODES["REA001"].firm
    assert CODES["SEQ003"].firm


def test_every_finding_says_why_it_matters():
    assert all(code.title and code.why for code in CODES.values())
    assert len({code.title for code in CODES.values()}) == len(CODES)
