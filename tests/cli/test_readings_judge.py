"""``definition limits`` and ``readings judge`` from the outside: answers, streams and exit codes."""

from __future__ import annotations

import io
import json
from contextlib import redirect_stderr, redirect_stdout

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from traveler.cli import main as shell


def run(*arguments: str) -> tuple[int, str, str]:
    """Exit code, stdout and stderr of a command."""
    group = {"judge": "readings", "limits": "definition"}[arguments[0]]
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = shell.run([group, *arguments])
    return code, out.getvalue(), err.getvalue().removeprefix("traveler: ").rstrip("\n")


def judged(limits: str, reading: str, *more: str) -> tuple[int, dict[str, object]]:
    code, out, _ = run("judge", "--limits", limits, "--reading", reading, *more, "--json")
    return code, json.loads(out)


@pytest.mark.parametrize(
    ("limits", "reading", "state", "exit_code"),
    [
        ("max 0.05 mm", "0.050 mm", "in", 0),
        ("max 0.05 mm", "0,05 mm", "in", 0),
        ("max 0.05 mm", "5e-2 mm", "in", 0),
        ("max 0.05 mm", "0.0501 mm", "out", 1),
        ("max 0.05 mm", "0.002 in", "out", 1),
        ("-5 to 5 mm", "-5.1 mm", "out", 1),
    ],
)
def test_a_reading_is_judged_and_the_exit_code_tells(
    limits: str, reading: str, state: str, exit_code: int
) -> None:
    code, answer = judged(limits, reading)
    assert (code, answer["exit"], answer["state"]) == (exit_code, exit_code, state)
    assert [finding["code"] for finding in answer["findings"]] == (["REA001"] if state == "out" else [])


def test_the_guarded_rule_shows_acceptance_limits_probability_and_ratio() -> None:
    code, answer = judged("max 0.05 mm", "0.049 mm", "--uncertainty", "0.003 mm", "--rule", "guarded")
    assert code == 1
    assert answer["state"] == "doubtful"
    assert answer["acceptance"] == {"text": "max 0.047 mm", "lower": None, "upper": "0.047", "unit": "mm"}
    assert (answer["probability"], answer["ratio"], answer["margin"]) == ("0.747507", "8.33", "0.001")
    assert [finding["code"] for finding in answer["findings"]] == ["REA002"]


def test_factor_coverage_and_rounding_are_taken_from_their_options() -> None:
    options = ["--uncertainty", "0.004 mm", "--rule", "guarded", "--guard-factor", "1/2", "--k", "4"]
    code, answer = judged("max 0.05 mm", "0.048 mm", *options)
    assert (code, answer["acceptance"]["upper"], answer["probability"]) == (0, "0.048", "0.977250")
    assert judged("max 4 mm", "4.25 mm", "--rounding", "rounding")[1]["state"] == "in"
    assert judged("max 4.0 mm", "4.25 mm", "--rounding", "rounding")[1]["state"] == "out"


@pytest.mark.parametrize(
    ("options", "code"),
    [(["--uncertainty", "3 mm", "--rule", "guarded"], "REA011"), (["--rule", "guarded"], "REA012")],
)
def test_an_acceptance_zone_that_cannot_be_is_a_finding(options: list[str], code: str) -> None:
    exit_code, answer = judged("10 to 12 mm", "11 mm", *options)
    assert (exit_code, answer["state"], answer["acceptance"]) == (1, "doubtful", None)
    assert [finding["code"] for finding in answer["findings"]] == [code]
    assert answer["findings"][0]["hint"]


def test_the_screen_says_the_same_in_words() -> None:
    code, out, err = run(
        "judge",
        "--limits",
        "max 0.05 mm",
        "--reading",
        "0.049 mm",
        "--uncertainty",
        "0.003 mm",
        "--rule",
        "guarded",
    )
    assert code == 1
    assert out.splitlines() == [
        "doubtful: 0.049 mm against max 0.05 mm",
        "accept       max 0.047 mm",
        "probability  0.747507 that the true value is within the limits",
        "ratio        8.33 of tolerance to uncertainty",
    ]
    assert err.startswith("REA002 0.049 mm is inside max 0.05 mm, not inside max 0.047 mm")


@pytest.mark.parametrize(
    ("arguments", "problem"),
    [
        (["--limits", "max 0.05", "--reading", "1 mm"], "LIM001"),
        (["--limits", "12 to 10 mm", "--reading", "1 mm"], "LIM002"),
        (["--limits", "max 0.05 mm", "--reading", "1"], "UNT001"),
        (["--limits", "max 0.05 mm", "--reading", "1 kg"], "UNT003"),
        (["--limits", "max 0.05 mm", "--reading", "1,250 mm"], "NUM002"),
        (
            ["--limits", "max 1 mm", "--reading", "1 mm", "--uncertainty", "-1 mm", "--rule", "guarded"],
            "DEC003",
        ),
        (["--limits", "max 1 mm", "--reading", "1 mm", "--uncertainty", "1 mm", "--k", "0"], "DEC005"),
        (["--limits", "max 1 mm", "--reading", "1 mm", "--guard-factor", "x"], "NUM001"),
    ],
)
def test_what_cannot_be_read_cannot_be_judged(arguments: list[str], problem: str) -> None:
    code, out, err = run("judge", *arguments)
    assert (code, out) == (2, "")
    assert err.startswith(problem)
    assert not err.endswith("; ")


@pytest.mark.parametrize(
    ("text", "lower", "upper", "nominal", "unit", "source"),
    [
        ("25 H7", "25.000", "25.021", "25", "mm", "ISO 286-2 H7"),
        ("120 mm ISO 2768-m", "119.7", "120.3", "120", "mm", "ISO 2768-1 m, linear"),
        ("24 +2/-1 N·m", "23", "26", "24", "N·m", "as written"),
        ("max 0.050 mm", None, "0.050", None, "mm", "as written"),
        ("-5 to 5 mm", "-5", "5", None, "mm", "as written"),
    ],
)
def test_limits_are_explained(
    text: str, lower: str | None, upper: str | None, nominal: str | None, unit: str, source: str
) -> None:
    code, out, _ = run("limits", text, "--json")
    answer = json.loads(out)
    assert code == 0
    keys = ("lower", "upper", "nominal", "unit", "source", "text")
    assert [answer[key] for key in keys] == [lower, upper, nominal, unit, source, text]


def test_limits_are_given_in_another_unit_rounded_inwards() -> None:
    answer = json.loads(run("limits", "25 H7", "--unit", "in", "--json")[1])
    assert (answer["lower"], answer["upper"], answer["unit"]) == ("0.984252", "0.985078", "in")
    assert answer["describe"] == "0.984252 to 0.985078 in"


def test_a_fit_gives_hole_shaft_and_clearance() -> None:
    answer = json.loads(run("limits", "25 H7/g6", "--json")[1])
    assert [answer[part]["describe"] for part in ("hole", "shaft")] == [
        "25.000 to 25.021 mm", "24.980 to 24.993 mm",
    ]  # fmt: skip
    assert answer["clearance"] == {"lower": "0.007", "upper": "0.041", "unit": "mm", "kind": "clearance"}
    assert run("limits", "25 H7/p6")[1].splitlines() == [
        "hole      25.000 to 25.021 mm (ISO 286-2 H7)",
        "shaft     25.022 to 25.035 mm (ISO 286-2 p6)",
        "clearance -0.035 to -0.001 mm, interference fit",
    ]


@pytest.mark.parametrize(
    ("arguments", "problem"),
    [
        (["500.5 H7"], "LIM005"),
        (["600 H7/g6"], "LIM005"),
        (["nonsense"], "LIM003"),
        (["max 1 mm", "--unit", "kg"], "UNT003"),
        (["25 H7/g6", "--unit", "kg"], "UNT003"),
        (["25 H7", "--unit", "foo"], "UNT002"),
    ],
)
def test_limits_that_cannot_be_read_are_said_so(arguments: list[str], problem: str) -> None:
    code, out, err = run("limits", *arguments)
    assert (code, out) == (2, "")
    assert err.startswith(problem)


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=30).filter(lambda text: not text.startswith("-")), st.text(max_size=30))
@example("", "")
@example("max 0.05 mm", "\x00")
def test_no_text_gives_anything_but_an_answer_and_an_exit_code(limits: str, reading: str) -> None:
    assert run("judge", "--limits", limits, "--reading", reading)[0] in (0, 1, 2)
    assert run("limits", limits)[0] in (0, 2)
