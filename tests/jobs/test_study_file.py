"""The file of a gauge study: everything a spreadsheet does to it, and everything wrong with it."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.trace.gauge_study import StudyFile, read_study, rounded_up

HEAD = "part,operator,trial,value"


def read(text: str, unit: str | None = None) -> StudyFile:
    return read_study(text.encode(), "study.csv", unit)


def said(found: StudyFile) -> list[str]:
    return [str(finding).removeprefix("study.csv") for finding in found.findings]


FORMS = {
    "unit with each value": (f"{HEAD}\n1,A,1,0.5 mm\n", None),
    "a column for the unit": ("part,operator,trial,value,unit\n1,A,1,0.5,mm\n", None),
    "a line above the table": (f"# unit: mm\n# taken on a Monday\n{HEAD}\n1,A,1,0.5\n", None),
    "told by the caller": (f"{HEAD}\n1,A,1,0.5\n", "mm"),
    "semicolons and a decimal comma": (f"#unit: mm\n{HEAD.replace(',', ';')}\n1;A;1;0,5\n", None),
    "tabs": (f"{HEAD}\n1,A,1,0.5 mm\n".replace(",", "\t"), None),
    "other order and capitals": ("Value,Trial,Part,Operator,Note\n0.5 mm,1,1,A,warm\n", None),
    "a byte order mark and Windows lines": (f"\ufeff{HEAD}\r\n1,A,1,0.5 mm\r\n", None),
    "a mark before a remark": (f"\ufeff# unit: mm\n{HEAD}\n1,A,1,0.5\n", None),
    "quotation marks and blank lines": (f'\n{HEAD}\n\n"1","A","1","0.5 mm"\n\n', None),
}


@pytest.mark.parametrize("name", FORMS)
def test_a_study_is_read_in_every_form_a_spreadsheet_gives_it(name: str) -> None:
    text, unit = FORMS[name]
    found = read(text, unit)
    assert said(found) == []
    (measured,) = found.readings
    assert (measured.part, measured.operator, measured.trial, measured.value) == (
        "1",
        "A",
        "1",
        Fraction(1, 2),
    )
    assert (found.unit, found.decimals) == ("mm", 1)


def test_values_are_converted_to_the_unit_of_the_first() -> None:
    found = read(f"{HEAD}\n1,A,1,1 mm\n1,A,2,0.1 in\n")
    assert [reading.value for reading in found.readings] == [1, Fraction("2.54")]


def test_a_unit_of_the_caller_goes_before_that_of_the_file() -> None:
    assert read(f"# unit: in\n{HEAD}\n1,A,1,0.5\n", "mm").unit == "mm"


WRONG = {
    "nothing": ("", [":1:1 STU001 there is no table in this file"]),
    "only remarks": ("# unit: mm\n", [":1:1 STU001 there is no table in this file"]),
    "a misspelt column": (
        "part,opperator,trial,value\n",
        [
            ":1:2 STU001 there is no column 'opperator'; did you mean 'operator'?",
            ":1:1 STU001 there is no column 'operator'",
        ],
    ),
    "a stray column": (
        f"{HEAD},color\n",
        [":1:5 STU001 there is no column 'color'; known are part, operator, trial, value, unit, note"],
    ),
    "a column twice": (f"{HEAD},part\n", [":1:5 STU001 the column 'part' is there twice; keep one"]),
    "no value column": ("part,operator,trial\n1,A,1\n", [":1:1 STU001 there is no column 'value'"]),
    "an unclosed quotation mark": (f'{HEAD}\n1,A,1,"5 mm\n', [":2:1 STU001 the table breaks off here"]),
    "a value in words": (f"{HEAD}\n1,A,1,high mm\n", [":2:4 STU002 value 'high mm': "]),
    "an unknown unit": (f"{HEAD}\n1,A,1,5 mmm\n", [":2:4 STU002 value '5 mmm': unit 'mmm' is not known"]),
    "an ambiguous comma": (f'{HEAD}\n1,A,1,"1,250 mm"\n', [":2:4 STU002 value '1,250 mm': '1,250' may mean"]),
    "no unit": (
        f"{HEAD}\n1,A,1,5\n1,A,2,6\n",
        [":2:4 STU003 2 values have no unit of measure, the first in this line; add"],
    ),
    "an empty cell": (f"{HEAD}\n1,,1,5 mm\n", [":2:2 STU004 operator is empty"]),
    "a short row": (f"{HEAD}\n1,A,1\n", [":2:4 STU004 value is empty"]),
    "a long row": (f"{HEAD}\n1,A,1,5 mm,6\n", [":2:5 STU004 '6' stands in a cell without a column"]),
    "a reading twice": (
        f"{HEAD}\n1,A,1,5 mm\n1,A,1,6 mm\n",
        [":3 STU007 trial 1 of part 1 by A is there already, in line 2"],
    ),
    "another dimension": (
        f"{HEAD}\n1,A,1,5 mm\n1,A,2,6 N\n",
        [":3:4 STU008 value '6 N': N cannot be compared with mm"],
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_is_said_with_line_and_cell(name: str) -> None:
    text, expected = WRONG[name]
    found = said(read(text))
    assert len(found) == len(expected)
    for finding, start in zip(found, expected, strict=True):
        assert finding.startswith(start)


def test_all_problems_are_listed_at_once() -> None:
    found = read(f"{HEAD}\n,A,1,5 mm\n1,A,1,x\n1,A,2,7\n1,A,3,5 mm\n")
    assert [(finding.code, finding.place.line) for finding in found.findings] == [
        ("STU004", 2),
        ("STU002", 3),
        ("STU003", 4),
    ]


def test_bytes_that_are_no_text_and_files_too_large_are_refused() -> None:
    assert [finding.code for finding in read_study(b"part\xff", "study.csv").findings] == ["RES001"]
    assert [finding.code for finding in read_study(b"x" * 5_000_001, "study.csv").findings] == ["RES002"]


@settings(deadline=None, max_examples=200)
@given(st.text(alphabet='part,;\t\n\r"#:unitvalueoperatortrial 0123.-mN\x00é', max_size=200))
def test_no_text_at_all_makes_the_reader_fall(text: str) -> None:
    found = read(f"{HEAD}\n{text}")
    assert found.findings or all(
        reading.part and reading.operator and reading.trial for reading in found.readings
    )


ROUNDED = {
    "0.00702": "0.0071",
    "0.0070": "0.0070",
    "0.00995": "0.010",
    "1": "1.0",
    "9.95": "10",
    "1234": "1300",
    "0": "0",
}


@pytest.mark.parametrize("text", ROUNDED)
def test_an_uncertainty_is_never_rounded_down(text: str) -> None:
    assert rounded_up(Fraction(text)) == ROUNDED[text]
