"""ISO 2768-1: every cell of the reference tables at both ends of its step, and every reference case."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
import yaml

from traveler.measure.iso import GeneralKind, general_tolerance
from traveler.measure.number import Unreadable

REFERENCE = yaml.load(
    (Path(__file__).parents[1] / "reference" / "iso2768.yaml").read_text(encoding="utf-8"),
    Loader=yaml.CBaseLoader,  # noqa: S506 - makes texts only
)
CASES = {case["id"]: case for case in REFERENCE["cases"]}
KINDS: dict[str, GeneralKind] = {
    "linear": "linear",
    "radius_or_chamfer": "radius or chamfer",
    "angle": "angle",
}
TABLES: dict[GeneralKind, str] = {
    "linear": "linear_mm_over_to",
    "radius or chamfer": "radius_chamfer_mm_over_to",
    "angle": "angle_shorter_leg_mm_over_to_arcmin",
}
CELLS = [
    (kind, row[0], row[1], letter, cell)
    for kind, name in TABLES.items()
    for row in REFERENCE["tables"][name]
    for letter, cell in zip("fmcv", row[2], strict=True)
]


@pytest.mark.parametrize("name", CASES)
def test_tolerances_meet_the_reference_values(name: str) -> None:
    case = CASES[name]
    kind = KINDS[case["input"]["kind"]]
    size = case["input"].get("nominal_mm") or case["input"]["shorter_leg_mm"]
    expected = case["expect"].get("plus_minus_mm") or case["expect"]["plus_minus_arcmin"]
    assert general_tolerance(kind, Fraction(size), case["input"]["class"]) == Fraction(expected)


@pytest.mark.parametrize(("kind", "over", "to", "letter", "cell"), CELLS)
def test_every_cell_holds_from_just_over_its_step_up_to_its_end(
    kind: GeneralKind, over: str, to: str, letter: str, cell: str
) -> None:
    first = Fraction(over) + (0 if over == "0.5" else Fraction(1, 1000))
    last = Fraction(100_000) if to == "null" else Fraction(to)
    for size in (first, last):
        if cell == "null":
            with pytest.raises(Unreadable, match="LIM005"):
                general_tolerance(kind, size, letter)
        else:
            assert general_tolerance(kind, size, letter) == Fraction(cell)


@pytest.mark.parametrize(
    ("kind", "size", "letter", "code"),
    [
        ("linear", "0.499", "m", "LIM005"),
        ("linear", "4000.001", "c", "LIM005"),
        ("linear", "0", "m", "LIM005"),
        ("linear", "-3", "m", "LIM005"),
        ("radius or chamfer", "0.4", "m", "LIM005"),
        ("angle", "0", "m", "LIM005"),
        ("linear", "25", "x", "LIM003"),
        ("linear", "25", "M", "LIM003"),
        ("linear", "25", "", "LIM003"),
        ("linear", "25", "fm", "LIM003"),
    ],
)
def test_what_the_tables_do_not_hold_is_refused(kind: GeneralKind, size: str, letter: str, code: str) -> None:
    with pytest.raises(Unreadable) as refusal:
        general_tolerance(kind, Fraction(size), letter)
    assert refusal.value.code == code
    assert refusal.value.hint
