"""A gauge study from its file: readings, result, and the expanded uncertainty."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from pathlib import Path

from traveler.finding import CannotDo, Finding, Place, Weight
from traveler.measure.gauge_study import (
    GaugeStudy,
    Interaction,
    Method,
    StudyReading,
    design_of,
    expanded_uncertainty,
    ranges_of,
    study,
)
from traveler.measure.limits import parse_limits
from traveler.measure.number import Unreadable, display_number, format_number, parse_number
from traveler.measure.quantity import Quantity, parse_quantity
from traveler.record.readers.cells import Cell
from traveler.record.readers.table import Table, TableForm, read_table
from traveler.shop.gauges import Gauge
from traveler.text import plural

NEEDED = ("part", "operator", "trial", "value")
_FORM = TableForm(
    (*NEEDED, "unit", "note"),
    NEEDED,
    ("unit",),
    ("STU001", "STU001", "STU004", "STU002", "STU001"),
    f"name the columns: {', '.join(NEEDED)}",
)


@dataclass(frozen=True, slots=True)
class StudyFile:
    """What was read: values in ``unit``, the most decimals among them, and everything wrong with the file."""

    readings: tuple[StudyReading, ...] = ()
    unit: str = ""
    decimals: int = 0
    findings: tuple[Finding, ...] = ()


def read_study(content: bytes, file: str, unit: str | None = None) -> StudyFile:
    """The readings of a study, and every problem of its file; ``unit`` goes before that of the file.

    Findings: RES001, RES002 encoding and size; STU001 no table, or a column unknown, missing or given twice;
    STU002 a value not understood; STU003 unit missing; STU004 an empty or surplus cell; STU007 a reading
    given twice; STU008 another dimension than the first value.
    """
    table = read_table(content, file, _FORM)
    if {finding.code for finding in table.findings} - {"STU004"}:  # a surplus cell spoils its row only
        return StudyFile(findings=tuple(table.findings))
    if unit is None and "unit" in table.head:
        unit = table.head["unit"].text
    values = [
        (line, row, quantity) for line, row in table.rows if (quantity := _value(table, line, row, unit))
    ]
    _note_missing_units(table)
    readings = tuple(_measured(table, values))
    decimals = max((quantity.decimals for _, _, quantity in values), default=0)
    return StudyFile(readings, values[0][2].unit if values else "", decimals, tuple(table.findings))


_Value = tuple[int, dict[str, Cell], Quantity]


def _value(table: Table, line: int, row: dict[str, Cell], unit: str | None) -> Quantity | None:
    """The value of a row; None, with a finding, where it cannot be read or a cell is empty."""
    empty = [name for name in NEEDED if name not in row]
    for name in empty:
        table.findings.append(
            Finding("STU004", f"{name} is empty", table.place(line, name), hint="fill it in")
        )
    if empty:
        return None
    value = row["value"]
    try:
        return parse_quantity(value.text, row["unit"].text if "unit" in row else unit)
    except Unreadable as problem:
        code = "STU003" if problem.code == "UNT001" else "STU002"
        what = f"value {value.text[:40]!r}: {problem.what}"
        table.findings.append(Finding(code, what, value.place, hint=problem.hint))
        return None


def _note_missing_units(table: Table) -> None:
    """STU003 once for all values without a unit, at the first of them."""
    missing = [finding for finding in table.findings if finding.code == "STU003"]
    if missing:
        what = (
            f"{plural(len(missing), 'value has', 'values have')} no unit of measure, the first in this line"
        )
        hint = "add a column unit, a line '# unit: mm' above the table, or --unit mm"
        once = Finding("STU003", what, missing[0].place, hint=hint)
        table.findings = [finding for finding in table.findings if finding.code != "STU003"] + [once]


def _measured(table: Table, values: list[_Value]) -> Iterator[StudyReading]:
    seen: dict[tuple[str, str, str], int] = {}
    for line, row, quantity in values:
        part, operator, trial = (row[name].text for name in NEEDED[:3])
        first = seen.setdefault((part, operator, trial), line)
        if first != line:
            what = f"trial {trial} of part {part} by {operator} is there already, in line {first}"
            hint = "give each trial its own number"
            table.findings.append(Finding("STU007", what, Place(table.file, line), hint=hint))
            continue
        try:
            yield StudyReading(part, operator, trial, quantity.to(values[0][2].unit).value)
        except Unreadable as problem:
            what = f"value {quantity.written!r}: {problem.what}"
            table.findings.append(Finding("STU008", what, row["value"].place, hint=problem.hint))


COARSE = Fraction(1, 4)
"""More ranges of nothing than this: the gauge's steps are too coarse for what is measured."""


@dataclass(frozen=True, slots=True)
class StudyRequest:
    """How to work out a study, as a person writes it: ``tolerance`` is a width or two-sided limits."""

    method: Method = "anova"
    interaction: Interaction = "auto"
    unit: str | None = None
    tolerance: str | None = None
    resolution: str | None = None
    k: str = "2"


@dataclass(frozen=True, slots=True)
class StudyResult:
    """A study worked out (None where findings stand in the way), and its expanded uncertainty ``k · u``."""

    file: str
    unit: str
    study: GaugeStudy | None
    findings: tuple[Finding, ...]
    k: Fraction = Fraction(2)
    expanded: Fraction = Fraction(0)
    counted: tuple[str, ...] = field(default_factory=tuple)
    """What the expanded uncertainty holds, in words."""

    @property
    def uncertainty(self) -> str:
        """The expanded uncertainty with two significant digits, rounded up: ``0.0071 mm``."""
        return f"{rounded_up(self.expanded)} {self.unit}"


def run_study(
    path: Path, asked: StudyRequest, *, gauge: Gauge | None = None, today: date | None = None
) -> StudyResult:
    """The study in a file. With a gauge of the register, its resolution and calibration are counted in.

    Findings: those of :func:`traveler.trace.gauge_study.read_study`; STU005 too few parts, operators or
    trials;
    STU006 the design has gaps; warnings STU009 a range far above the others, STU010 steps too coarse, STU012
    the gauge takes too much of the variation.

    Raises:
        CannotDo: the file cannot be read, or tolerance, resolution or k are not understood.
    """
    if path.exists() and not path.is_file():  # a pipe would be waited on for ever
        raise CannotDo(
            f"{path} is not a file", "name a CSV file with the columns part, operator, trial, value"
        )
    try:
        content = path.read_bytes()
    except OSError as problem:
        what = f"{path} cannot be read: {problem.strerror}"
        raise CannotDo(what, "name a CSV file with the columns part, operator, trial, value") from problem
    read = read_study(content, str(path), asked.unit)
    if read.findings:
        return StudyResult(str(path), read.unit, None, read.findings)
    try:
        design = design_of(read.readings)
    except Unreadable as problem:
        gap = Finding(problem.code, problem.what, Place(str(path)), hint=problem.hint)
        return StudyResult(str(path), read.unit, None, (gap,))
    tolerance = None if asked.tolerance is None else _width(asked.tolerance, read.unit)
    found = study(design, asked.method, tolerance=tolerance, interaction=asked.interaction)
    return _with_uncertainty(found, read, path, asked, _facts(gauge, asked, today, read.unit))


@dataclass(frozen=True, slots=True)
class _Facts:
    """Resolution and standard uncertainty of the calibration, in the study's unit; 0 where not known."""

    resolution: Fraction
    calibration: Fraction


def _facts(gauge: Gauge | None, asked: StudyRequest, today: date | None, unit: str) -> _Facts:
    resolution = asked.resolution or (gauge.resolution if gauge is not None else None)
    last = gauge.last_calibration(today) if gauge is not None and today is not None else None
    calibration = Fraction(0)
    if last is not None and last.uncertainty:
        calibration = (
            _amount("uncertainty of the calibration", last.uncertainty, unit) / parse_number(last.k).value
        )
    return _Facts(_amount("resolution", resolution, unit) if resolution else Fraction(0), calibration)


def _with_uncertainty(
    found: GaugeStudy, read: StudyFile, path: Path, asked: StudyRequest, facts: _Facts
) -> StudyResult:
    k = _factor(asked.k)
    expanded = expanded_uncertainty(found, resolution=facts.resolution, calibration=facts.calibration, k=k)
    counted = ["repeatability and reproducibility"]
    counted += ["resolution"] if facts.resolution else []
    counted += ["calibration"] if facts.calibration else []
    findings = tuple(_doubts(found, str(path)))
    return StudyResult(str(path), read.unit, found, findings, k, expanded, tuple(counted))


def _width(text: str, unit: str) -> Fraction:
    """The width of a tolerance, from two-sided limits or from the width itself, in the unit of the study."""
    try:
        limits = parse_limits(text)
    except Unreadable:
        return _amount("tolerance", text, unit)
    if limits.width is None:
        what = f"tolerance {text!r} has one bound only, so it has no width"
        raise CannotDo(what, "give two-sided limits, or the width, like '0.1 mm'")
    return _amount("tolerance", f"{limits.number(limits.width)} {limits.unit}", unit)


def _amount(name: str, text: str, unit: str) -> Fraction:
    try:
        value = parse_quantity(text).difference_to(unit).value
    except Unreadable as problem:
        what = f"{name} {text!r} is not understood: {problem.what}"
        raise CannotDo(what, problem.hint or f"write it like '0.1 {unit}'") from problem
    if value <= 0:
        what = f"{name} {text!r} is not above zero"
        raise CannotDo(what)
    return value


def _factor(text: str) -> Fraction:
    try:
        value = parse_number(text).value
    except Unreadable as problem:
        what = f"coverage factor: {problem.what}"
        raise CannotDo(what, problem.hint) from problem
    if value <= 0:
        what = f"coverage factor {text} is not above zero"
        raise CannotDo(what)
    return value


def _doubts(found: GaugeStudy, file: str) -> Iterator[Finding]:
    """What a person should look at before relying on the study."""
    place = Place(file)
    ranges = ranges_of(found.design)
    still = sum(1 for span in ranges.values() if not span)
    if still > COARSE * len(ranges):
        what = f"{still} of {len(ranges)} cells show no spread at all: the gauge's steps are too coarse"
        yield Finding("STU010", what, place, Weight.WARNING, hint="use a gauge that resolves finer")
    else:
        for part, operator in found.wild:
            size = display_number(ranges[part, operator])
            what = f"part {part} by {operator} spreads over {size}, far above the rest"
            yield Finding(
                "STU009", what, place, Weight.WARNING, hint="look for a slip, measure that part again"
            )
    share = found.shares["gauge"].of_variation
    if share is not None and share > 30:
        what = f"the gauge takes {format_number(share, 1)} % of the variation, at most 30 % are expected"
        yield Finding("STU012", what, place, Weight.WARNING, hint="improve the gauge or the way it is used")


def rounded_up(value: Fraction, digits: int = 2) -> str:
    """A number above zero with so many significant digits, never rounded down (JCGM 100:2008 7.2.6).

    >>> rounded_up(Fraction("0.00702"))
    '0.0071'
    """
    if value == 0:
        return "0"
    power = 0
    while value >= Fraction(10) ** power:
        power += 1
    while value < Fraction(10) ** (power - 1):
        power -= 1
    step = Fraction(10) ** (power - digits)
    up = -(-value // step) * step
    return format_number(up, max(0, digits - power - (up >= Fraction(10) ** power)))
