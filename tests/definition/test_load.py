"""From text to a checked definition: everything told in one go, nothing ever raised."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.definition.expand import expand
from traveler.definition.load import Loaded, load
from traveler.definition.model import definition_digest
from traveler.finding import blocking

PEOPLE = {"rhale": ("engineering",), "a": ("assembler", "inspector", "packer", "electrician", "machinist")}

NO_PICTURE = frozenset[str]().__contains__

SIX = """\
product: lathe
title: Bench lathe
revision: A
revised: 2026-01-05
approved_by: rhale
serials: {pattern: "BL-{n:04}"}
variants:
  std: {title: Standard}
gauges:
  indicator: {title: Dial indicator}
operations:
  - number: 10
    title: Frame
    title: Frame again                # !YML002
    minuts: 20                        # !DEF001
    steps:
      - measure: Run-out
        limits: max 0.05              # !LIM001
        gauge: indicatr               # !DEF101
      - measure: Height
        limits: 12 to 10 mm           # !LIM002
        gauge: indicator
      - do: Look at it.
        picture: nowhere.svg          # !DEF105
    sign: assembler
"""


def test_six_planted_faults_are_all_told_at_once(finds_marks: Callable[[str], None]) -> None:
    finds_marks(SIX)


def test_a_finding_reads_as_file_line_column_code_and_what_to_do() -> None:
    found = load(SIX, "lathe.yaml", NO_PICTURE).findings
    assert [str(finding).split(" ", 2)[:2] for finding in found] == [
        ["lathe.yaml:14:5", "YML002"],
        ["lathe.yaml:15:5", "DEF001"],
        ["lathe.yaml:18:17", "LIM001"],
        ["lathe.yaml:19:16", "DEF101"],
        ["lathe.yaml:21:17", "LIM002"],
        ["lathe.yaml:24:18", "DEF105"],
    ]
    assert str(found[3]).endswith("gauge kind 'indicatr' is not defined; did you mean 'indicator'?")


def test_a_file_with_a_blocking_finding_gives_no_definition() -> None:
    found = load(SIX, "lathe.yaml", bool)
    assert found.definition is None
    assert found.places[("operations", 0, "steps", 0, "gauge")].line == 19


def test_a_broken_file_gives_one_finding_with_its_line() -> None:
    found = load("product: lathe\n  title: x\n", "lathe.yaml", bool)
    assert [str(finding.place) for finding in found.findings] == ["lathe.yaml:2:8"]
    assert found.places == {}


@pytest.mark.parametrize("product", ["bobbin-winder", "potters-wheel", "end-plate"])
def test_shipped_definitions_have_no_findings_and_expand(shipped: dict[str, str], product: str) -> None:
    found = load(shipped[product], product, bool, PEOPLE)
    assert found.findings == ()
    assert found.definition is not None
    assert found.definition.product == product
    for variant in found.definition.variants:
        assert list(expand(found.definition, variant, definition_digest(found.definition)).slots())


def test_shipped_pictures_are_there(shipped: dict[str, str]) -> None:
    from pathlib import Path

    folder = Path(__file__).parents[2] / "product_defs" / "pictures"
    for product, text in shipped.items():
        found = load(text, product, lambda name: (folder / name).is_file(), PEOPLE)
        assert found.findings == ()


def _spoil(text: str, seed: int) -> str:
    """The text with a few of its lines, words or characters lost, doubled, swapped or replaced."""
    chance = random.Random(seed)
    lines = text.splitlines()
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(lines))
        words = lines[at].split(" ")
        word = chance.randrange(len(words))
        how = chance.randrange(7)
        if how == 0:
            del lines[at]
        elif how == 1:
            lines.insert(at, lines[chance.randrange(len(lines))])
        elif how == 2:
            words[word] = chance.choice(
                ["", "~", "[]", "{}", "[[x]]", "{a: b}", "-1", "0", "9" * 50, "NaN", "x: y", "{x}", "true"]
            )
        elif how == 3:
            words[word] = words[word][::-1]
        elif how == 4:
            words.pop(word)
        elif how == 5:
            lines[at] = "  " + lines[at]
        else:
            other = lines[chance.randrange(len(lines))].split(" ")
            words[word] = chance.choice(other)
        if how in (2, 3, 4, 6):
            lines[at] = " ".join(words)
        if not lines:
            break
    return "\n".join(lines)


def _survives(text: str) -> Loaded:
    found = load(text, "spoilt.yaml", bool, PEOPLE)
    if found.definition is None:
        assert blocking(found.findings)
        assert all(finding.place.line for finding in found.findings)
    else:
        for variant in found.definition.variants:
            expand(
                found.definition,
                variant,
                definition_digest(found.definition),
                options=tuple(found.definition.options),
            )
    return found


@given(seed=st.integers(0, 2**32), product=st.sampled_from(["bobbin-winder", "potters-wheel", "end-plate"]))
@settings(max_examples=150, deadline=None)
def test_a_spoilt_definition_is_told_and_never_raises(
    shipped: dict[str, str], seed: int, product: str
) -> None:
    _survives(_spoil(shipped[product], seed))


@pytest.mark.long
def test_many_spoilt_definitions_are_told_and_never_raise(shipped: dict[str, str]) -> None:
    texts = list(shipped.values())
    refused = sum(
        _survives(_spoil(texts[seed % len(texts)], seed)).definition is None for seed in range(10_000)
    )
    print(f"{refused} of 10000 spoilt definitions were refused, each with a place")
    assert refused > 5_000
