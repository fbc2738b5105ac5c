"""The units of a shop, with their exact factors: the table behind ``traveler.measure.quantity``.

Factors come from the definitions (NIST SP 811 Appendix B): inch 25.4 mm, pound 0.45359237 kg, standard
gravity 9.80665 m/s², degree Fahrenheit 5/9 K. The turn is the base of angles (360 degrees), so that degrees,
minutes, seconds and turns convert exactly; only the radian does not (``PI``).
"""

from __future__ import annotations

from fractions import Fraction

Dimension = tuple[tuple[str, int], ...]
"""Exponents of the bases m, kg, s, A, K, deg, dB, ... sorted by base; empty: a plain ratio."""

PI = Fraction("3.14159265358979323846264338327950288419716939937511")
"""π to 50 decimals: conversions between rad and deg are exact in it, and off by less than 1 part in 10⁵⁰."""

_G = Fraction("9.80665")
_IN = Fraction("0.0254")
_LB = Fraction("0.45359237")
_FORCE = {"kg": 1, "m": 1, "s": -2}
_PRESSURE = {"kg": 1, "m": -1, "s": -2}
_ENERGY = {"kg": 1, "m": 2, "s": -2}
_POWER = {"kg": 1, "m": 2, "s": -3}
_VOLT = {"kg": 1, "m": 2, "s": -3, "A": -1}
_OHM = {"kg": 1, "m": 2, "s": -3, "A": -2}
_FARAD = {"kg": -1, "m": -2, "s": 4, "A": 2}

# symbol: (dimension, factor to the bases, SI prefixes it may carry)
_TABLE: dict[str, tuple[dict[str, int], Fraction | int, str]] = {
    "m": ({"m": 1}, 1, "nµmcdk"),
    "in": ({"m": 1}, _IN, "µ"),
    "mil": ({"m": 1}, _IN / 1000, ""),
    "ft": ({"m": 1}, _IN * 12, ""),
    "yd": ({"m": 1}, _IN * 36, ""),
    "L": ({"m": 3}, Fraction(1, 1000), "µmcd"),
    "g": ({"kg": 1}, Fraction(1, 1000), "µmk"),
    "t": ({"kg": 1}, 1000, ""),
    "lb": ({"kg": 1}, _LB, ""),
    "oz": ({"kg": 1}, _LB / 16, ""),
    "s": ({"s": 1}, 1, "nµm"),
    "min": ({"s": 1}, 60, ""),
    "h": ({"s": 1}, 3600, ""),
    "Hz": ({"s": -1}, 1, "mkMG"),
    "N": (_FORCE, 1, "mkM"),
    "lbf": (_FORCE, _LB * _G, ""),
    "ozf": (_FORCE, _LB * _G / 16, ""),
    "gf": (_FORCE, _G / 1000, "k"),
    "Pa": (_PRESSURE, 1, "mhkMG"),
    "bar": (_PRESSURE, 100_000, "m"),
    "psi": (_PRESSURE, _LB * _G / _IN**2, ""),
    "ksi": (_PRESSURE, _LB * _G / _IN**2 * 1000, ""),
    "atm": (_PRESSURE, 101_325, ""),
    "cP": ({"kg": 1, "m": -1, "s": -1}, Fraction(1, 1000), ""),
    "cSt": ({"m": 2, "s": -1}, Fraction(1, 1_000_000), ""),
    "J": (_ENERGY, 1, "mkM"),
    "W": (_POWER, 1, "mkM"),
    "A": ({"A": 1}, 1, "nµmk"),
    "V": (_VOLT, 1, "µmk"),
    "Ω": (_OHM, 1, "µmkMG"),
    "farad": (_FARAD, 1, ""),
    "µF": (_FARAD, Fraction(1, 10**6), ""),
    "nF": (_FARAD, Fraction(1, 10**9), ""),
    "pF": (_FARAD, Fraction(1, 10**12), ""),
    "H": (_OHM | {"s": -2}, 1, "µm"),
    "K": ({"K": 1}, 1, "m"),
    "deg": ({"turn": 1}, Fraction(1, 360), ""),
    "arcmin": ({"turn": 1}, Fraction(1, 21_600), ""),
    "arcsec": ({"turn": 1}, Fraction(1, 1_296_000), ""),
    "turn": ({"turn": 1}, 1, ""),
    "gon": ({"turn": 1}, Fraction(1, 400), ""),
    "rad": ({"turn": 1}, 1 / (2 * PI), "µm"),
    "rpm": ({"turn": 1, "s": -1}, Fraction(1, 60), ""),
    "%": ({}, Fraction(1, 100), ""),
    "‰": ({}, Fraction(1, 1000), ""),
    "ppm": ({}, Fraction(1, 1_000_000), ""),
    "dB": ({"dB": 1}, 1, ""),
    "dB(A)": ({"dB(A)": 1}, 1, ""),
    "dB(C)": ({"dB(C)": 1}, 1, ""),
    "HRC": ({"HRC": 1}, 1, ""),
    "HRB": ({"HRB": 1}, 1, ""),
    "HBW": ({"HBW": 1}, 1, ""),
    "HV": ({"HV": 1}, 1, ""),
    "Shore A": ({"Shore A": 1}, 1, ""),
    "pcs": ({"pcs": 1}, 1, ""),
}
_PREFIX = {"n": -9, "µ": -6, "m": -3, "c": -2, "d": -1, "h": 2, "k": 3, "M": 6, "G": 9}

POINTS: dict[str, tuple[Fraction, Fraction]] = {
    "°C": (Fraction(1), Fraction("273.15")),
    "°F": (Fraction(5, 9), Fraction("459.67") * 5 / 9),
}
"""Temperatures: kelvin = value · factor + offset. A difference of two (a tolerance) has no offset."""

_WORDS = {
    "in": "inch inches in.",
    "ft": "foot feet ft.",
    "mil": "mils thou",
    "yd": "yard yards",
    "m": "meter meters meter meters",
    "mm": "millimeter millimeters millimeter millimeters",
    "µm": "micron microns micrometer micrometre",
    "µin": "microinch microinches",
    "g": "gram grams",
    "kg": "kilogram kilograms kgs",
    "lb": "lbs pound pounds lbm",
    "oz": "ounce ounces",
    "L": "l liter liters litre litres",
    "mL": "ml",
    "t": "tonne tonnes",
    "s": "sec second seconds",
    "min": "minute minutes",
    "h": "hr hrs hour hours",
    "N": "newton newtons",
    "kgf": "kp",
    "psi": "PSI lbf/in² lbf/in2 lbf/in^2",
    "%": "percent pct",
    "V": "volt volts",
    "A": "amp amps ampere amperes",
    "Ω": "ohm ohms Ohm Ohms",
    "kΩ": "kohm kOhm",
    "MΩ": "Mohm MOhm megohm",
    "mΩ": "mohm mOhm",
    "W": "watt watts",
    "Hz": "hertz",
    "deg": "° degree degrees",
    "arcmin": "arcminute arcminutes",
    "arcsec": "arcsecond arcseconds",
    "turn": "turns rev revs revolution revolutions r",
    "rad": "radian radians",
    "K": "kelvin kelvins",
    "rpm": "RPM r/min rev/min turn/min min⁻¹ min^-1 1/min",
    "°C": "degC celsius Celsius deg·C °·C",
    "°F": "degF fahrenheit Fahrenheit deg·F °·F",
    "delta °C": "Δ°C delta_degC delta·°C delta·deg·C Δ·°C",
    "delta °F": "Δ°F delta_degF delta·°F delta·deg·F Δ·°F",
    "dB(A)": "dBA dB·A dB·(A)",
    "dB(C)": "dBC dB·C dB·(C)",
    "Shore A": "Shore·A ShA",
    "pcs": "pc piece pieces ea",
    "N·m": "Nm N·M m·N newton·meter newton·meters newton·meter newton·meters",
    "N·cm": "Ncm",
    "N·mm": "Nmm",
    "kN·m": "kNm",
    "mN·m": "mNm",
    "cN·m": "cNm",
    "lbf·ft": "ft·lb ft·lbs ft·lbf lb·ft lbs·ft lbf·ft ftlb ftlbs ftlbf lbft lbfft",
    "lbf·in": "in·lb in·lbs in·lbf lb·in lbs·in inlb inlbs inlbf lbin lbfin",
    "ozf·in": "in·oz oz·in in·ozf ozin inoz",
    "kgf·m": "kgfm",
    "kgf·cm": "kgfcm",
}
"""Canonical spelling: further spellings, words joined by ``·``. A shop's ``ft-lb`` is a torque."""


def _atoms() -> dict[str, tuple[Dimension, Fraction]]:
    """Every symbol, with and without prefixes: its dimension and its exact factor."""
    atoms: dict[str, tuple[Dimension, Fraction]] = {}
    for symbol, (bases, factor, prefixes) in _TABLE.items():
        dimension = tuple(sorted(bases.items()))
        atoms[symbol] = (dimension, Fraction(factor))
        for prefix in prefixes:
            atoms[prefix + symbol] = (dimension, Fraction(factor) * Fraction(10) ** _PREFIX[prefix])
    atoms["cN"] = (atoms["N"][0], Fraction(1, 100))
    return atoms


ATOMS: dict[str, tuple[Dimension, Fraction]] = _atoms()
"""Symbol: dimension and factor to the bases."""

ALIASES: dict[str, str] = {word: symbol for symbol, words in _WORDS.items() for word in words.split()} | {
    "u" + symbol[1:]: symbol for symbol in ATOMS if symbol.startswith("µ")
}
"""Further spelling: canonical spelling."""
