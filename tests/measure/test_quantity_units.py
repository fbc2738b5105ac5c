"""Units: exact factors against reference values and an independent registry, spellings, refusals."""

from __future__ import annotations

import functools
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from traveler.measure.number import Unreadable
from traveler.measure.quantity import convert, convert_difference, parse_unit, same_dimension
from traveler.measure.unit_table import ALIASES, ATOMS, PI, POINTS

REFERENCE = yaml.load(
    (Path(__file__).parents[1] / "reference" / "units.yaml").read_text(encoding="utf-8"),
    Loader=yaml.CBaseLoader,  # noqa: S506 - makes texts only
)
CASES = {case["id"]: case for case in REFERENCE["cases"]}
SPELLED = {
    "lbf_ft": "lbf·ft", "N_m": "N·m", "kgf_m": "kgf·m", "gal_us": "gallon", "ft3": "ft³", "in3": "in3",
    "cm3": "cm^3", "kp_per_cm2": "kp/cm2", "um": "µm", "degF": "°F", "degC": "°C",
}  # fmt: skip


def spelled(name: str) -> str:
    return SPELLED.get(name, name)


@pytest.mark.parametrize("name", [name for name, case in CASES.items() if case["op"] == "factor"])
def test_factors_meet_the_reference_values(name: str) -> None:
    case = CASES[name]
    factor = convert(Fraction(1), spelled(case["input"]["from"]), spelled(case["input"]["to"]))
    expected = Fraction(case["expect"]["factor"])
    if case["expect"]["exact"] == "true":
        assert factor == expected
    else:
        assert abs(factor / expected - 1) <= Fraction(case["tol_rel"])


@pytest.mark.parametrize("name", [name for name, case in CASES.items() if case["op"] == "convert"])
def test_conversions_meet_the_reference_values(name: str) -> None:
    case = CASES[name]
    value = convert(
        Fraction(case["input"]["value"]), spelled(case["input"]["from"]), spelled(case["input"]["to"])
    )
    assert abs(value - Fraction(case["expect"])) <= Fraction(case["tol"])


ORACLE = {
    "mm": "millimeter", "cm": "centimeter", "m": "meter", "km": "kilometer", "µm": "micrometer",
    "nm": "nanometer", "in": "inch", "mil": "thou", "ft": "foot", "yd": "yard", "µin": "microinch",
    "g": "gram", "kg": "kilogram", "mg": "milligram", "t": "metric_ton", "lb": "pound", "oz": "ounce",
    "N": "newton", "kN": "kilonewton", "mN": "millinewton", "lbf": "force_pound", "ozf": "force_ounce",
    "kgf": "force_kilogram", "gf": "force_gram", "Pa": "pascal", "kPa": "kilopascal", "MPa": "megapascal",
    "hPa": "hectopascal", "bar": "bar", "mbar": "millibar", "psi": "pound_force_per_square_inch",
    "ksi": "kip_per_square_inch", "atm": "standard_atmosphere", "L": "liter", "mL": "milliliter",
    "s": "second", "ms": "millisecond", "min": "minute", "h": "hour", "Hz": "1 / second", "kHz": "1 / ms",
    "J": "joule", "kJ": "kilojoule", "W": "watt", "kW": "kilowatt", "A": "ampere", "mA": "milliampere",
    "V": "volt", "mV": "millivolt", "Ω": "ohm", "kΩ": "kiloohm", "MΩ": "megaohm", "µF": "microfarad",
    "mH": "millihenry", "cP": "centipoise", "cSt": "centistokes", "%": "percent", "ppm": "ppm",
    "N·m": "newton * meter", "N·mm": "newton * millimeter", "lbf·ft": "force_pound * foot",
    "lbf·in": "force_pound * inch", "ozf·in": "force_ounce * inch", "N/mm": "newton / millimeter",
    "kg/m³": "kilogram / meter ** 3", "m/s²": "meter / second ** 2", "mm²": "millimeter ** 2",
    "µm/m": "micrometer / meter", "L/min": "liter / minute", "N/mm²": "newton / millimeter ** 2",
    "°C": "delta_degC", "°F": "delta_degF", "K": "kelvin", "gallon": "gallon", "acre": "acre",
    "horsepower": "horsepower", "nautical_mile": "nautical_mile", "inHg": "inHg",
}  # fmt: skip


@functools.cache
def independent() -> Any:
    """Another registry of units, which counts in exact fractions too. Reading its tables takes a while."""
    import pint

    return pint.UnitRegistry(non_int_type=Fraction)


@functools.cache
def base(ours: str) -> Any:
    """One of this unit, in the other registry."""
    theirs = ORACLE[ours]
    return independent()(theirs if "1 /" in theirs else f"1 * {theirs}")


@pytest.mark.parametrize("unit", ORACLE)
def test_an_independent_registry_gives_the_same_exact_factors(unit: str) -> None:
    alike = [other for other in ORACLE if base(other).dimensionality == base(unit).dimensionality]
    assert unit in alike
    for other in alike:
        theirs = (base(unit) / base(other)).to_base_units()
        assert theirs.dimensionless
        assert convert_difference(Fraction(1), unit, other) == Fraction(theirs.magnitude), other


TEMPERATURES = {"°C": "degC", "°F": "degF", "K": "kelvin"}


@pytest.mark.parametrize("first", TEMPERATURES)
@pytest.mark.parametrize("other", TEMPERATURES)
def test_an_independent_registry_agrees_on_temperatures(first: str, other: str) -> None:
    start = independent().Quantity(Fraction(371, 10), TEMPERATURES[first])
    assert convert(Fraction(371, 10), first, other) == start.to(TEMPERATURES[other]).magnitude


GROUPS: dict[object, list[str]] = {}
for _symbol in [*ATOMS, *POINTS]:
    GROUPS.setdefault(parse_unit(_symbol).dimension, []).append(_symbol)
ALIKE = [(text, other) for group in GROUPS.values() for text in group for other in group]


@given(st.sampled_from(ALIKE), st.fractions(max_denominator=10**9))
def test_there_and_back_is_exact_for_every_unit(pair: tuple[str, str], value: Fraction) -> None:
    first, other = pair
    assert convert(convert(value, first, other), other, first) == value
    assert convert_difference(convert_difference(value, first, other), other, first) == value


@given(st.sampled_from(ALIKE), st.fractions(), st.fractions())
def test_a_difference_of_converted_values_is_the_converted_difference(
    pair: tuple[str, str], first: Fraction, second: Fraction
) -> None:
    text, other = pair
    apart = convert(first, text, other) - convert(second, text, other)
    assert apart == convert_difference(first - second, text, other)


def test_radians_are_right_to_fifty_digits() -> None:
    import math

    assert abs(PI - Fraction(math.pi)) < Fraction(1, 10**15)
    # π = 16·atan(1/5) - 4·atan(1/239) (Machin), summed exactly
    series = sum(
        (
            Fraction((-1) ** n, odd) * (Fraction(16, 5**odd) - Fraction(4, 239**odd))
            for n, odd in enumerate(range(1, 80, 2))
        ),
        Fraction(0),
    )  # fmt: skip
    assert abs(PI - series) < Fraction(1, 10**50)
    assert convert(Fraction(180), "deg", "rad") == PI
    assert convert(PI, "rad", "deg") == 180


@pytest.mark.parametrize("alias", ALIASES)
def test_every_spelling_leads_to_a_canonical_symbol_that_stays(alias: str) -> None:
    unit = parse_unit(alias.replace("·", " "))
    assert unit.symbol == ALIASES[alias]
    assert parse_unit(unit.symbol) == unit


@pytest.mark.parametrize(
    ("text", "symbol"),
    [
        ("μm", "µm"), ("\u2126", "Ω"), ("k\u2126", "kΩ"), ("\u212a", "K"), ("\u2103", "°C"), ("º", "deg"),
        ("N m", "N·m"), ("N*m", "N·m"), ("N⋅m", "N·m"), ("N.m", "N·m"), ("N-m", "N·m"), ("Nm", "N·m"),
        ("ft-lb", "lbf·ft"), ("ft lb", "lbf·ft"), ("lb-ft", "lbf·ft"), ("in-lb", "lbf·in"),
        ("in oz", "ozf·in"), ("° C", "°C"), ("deg C", "°C"), ("delta °C", "delta °C"), ("dBA", "dB(A)"),
        ("dB (A)", "dB(A)"), ("in.", "in"), ("inches", "in"), ("thou", "mil"), ("um/m", "µm/m"),
        ("mm/m", "mm/m"), ("kg/m3", "kg/m³"), ("kg/m^3", "kg/m³"), ("m/s^2", "m/s²"), ("mm^2", "mm²"),
        ("1/min", "rpm"), ("r/min", "rpm"), ("1/m", "1/m"), ("Nm/deg", "N·m/deg"), ("mm/rev", "mm/turn"),
        ("s⁻¹", "s^-1"), ("m^-3", "m^-3"), ("W/(m)", None), ("ms", "ms"),
    ],
)  # fmt: skip
def test_spellings_lead_to_one_symbol(text: str, symbol: str | None) -> None:
    if symbol is None:
        with pytest.raises(Unreadable):
            parse_unit(text)
    else:
        assert parse_unit(text).symbol == symbol
        assert parse_unit(symbol) == parse_unit(text)


@pytest.mark.parametrize(
    ("text", "code", "hint"),
    [
        ("MM", "UNT002", "'mm'"), ("Kg", "UNT002", "'kg'"), ("hz", "UNT002", "'Hz'"), ("mmm", "UNT002", ""),
        ("foo", "UNT002", ""), ("", "UNT002", ""), ("/", "UNT002", ""), ("N/m/s", "UNT002", ""),
        ("kilofoo", "UNT002", ""), ("C", "UNT004", "°C"), ("F", "UNT004", "°F"), ("'", "UNT004", "arcmin"),
        ('"', "UNT004", "arcsec"), ("degree_Reaumur", "UNT002", ""), ("decibelmilliwatt", "UNT002", ""),
        ("kilograms_per", "UNT002", ""), ("pixel", "UNT002", ""), ("N·", "UNT002", ""),
        ("mm^0", "UNT002", ""), ("H7", "UNT002", ""),
    ],
)  # fmt: skip
def test_an_unknown_or_ambiguous_unit_is_refused_with_the_nearest(text: str, code: str, hint: str) -> None:
    with pytest.raises(Unreadable) as refusal:
        parse_unit(text)
    assert refusal.value.code == code
    assert hint in refusal.value.hint


@pytest.mark.parametrize(
    ("mark", "beside", "symbol"),
    [("'", "deg", "arcmin"), ('"', "arcmin", "arcsec"), ("'", "mm", "ft"), ('"', "in", "in")],
)
def test_a_quote_means_what_it_stands_beside(mark: str, beside: str, symbol: str) -> None:
    assert parse_unit(mark, beside).symbol == symbol


@pytest.mark.parametrize(
    ("first", "other"),
    [
        ("mm", "kg"), ("deg", "%"), ("deg", "mm/m"), ("dB", "dB(A)"), ("rpm", "Hz"), ("HRC", "HBW"),
        ("lb", "lbf"), ("nm", "N·m"), ("°C", "delta °C"), ("pcs", "%"), ("mm", "mm²"), ("rad", "ppm"),
    ],
)  # fmt: skip
def test_units_of_other_dimensions_are_not_compared(first: str, other: str) -> None:
    assert not same_dimension(first, other)
    for pair in ((first, other), (other, first)):
        with pytest.raises(Unreadable) as refusal:
            convert(Fraction(1), *pair)
        assert refusal.value.code == "UNT003"
        assert refusal.value.hint


@pytest.mark.parametrize(("first", "other"), [("nm", "N·m"), ("lb", "lbf"), ("oz", "ozf")])
def test_a_likely_slip_is_named(first: str, other: str) -> None:
    with pytest.raises(Unreadable, match=f"did you mean {other}"):
        convert(Fraction(1), first, other)


def test_a_tolerance_in_degrees_is_a_difference() -> None:
    assert convert_difference(Fraction(2), "°C", "K") == 2
    assert convert_difference(Fraction(9), "°F", "°C") == 5
    assert convert(Fraction(9), "delta °F", "delta °C") == 5
    assert convert(Fraction(5), "K", "delta °C") == 5
    assert same_dimension("K", "delta °C")
    assert same_dimension("K", "°C")


def test_judging_in_millimetres_and_inches_does_not_load_the_registry() -> None:
    program = (
        "import sys; from traveler.measure.limits import parse_limits;"
        "from traveler.measure.judge import judge_reading;"
        "from traveler.measure.quantity import parse_quantity;"
        "judge_reading(parse_limits('max 0.05 mm'), parse_quantity('0.002 in'));"
        "parse_limits('24 N·m ± 1.5'); parse_limits('25 H7');"
        "loaded = {'pint', 'scipy', 'numpy'} & set(sys.modules); sys.exit(str(loaded) if loaded else 0)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
