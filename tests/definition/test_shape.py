"""The shape of a definition: each problem in the words of the file, at its place."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from traveler.definition.load import Loaded
from traveler.definition.model import Definition
from traveler.definition.shape import known_keys
from traveler.definition.steps import WORDS

Checked = Callable[..., Loaded]
Write = Callable[..., str]


def test_a_whole_definition_has_no_finding(write: Write, checked: Checked) -> None:
    assert checked(write()).findings == ()


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("gtn: 1", "DEF001", "unknown key 'gtn'; did you mean 'gtin'?"),
        ("track: lots", "DEF005", "'lots' is not known here, expected serial or lot; did you mean 'lot'?"),
        ("format: 2", "DEF005", "'2' is not known here, expected 1"),
        ("options: [a]", "DEF003", "'options': a mapping (key: value) is expected; a list was found"),
        ("arrival_check: {a: b}", "DEF003", "'arrival_check': a list is expected; a mapping was found"),
        ("change: {EN: New}", "DEF003", "a language of two small letters is expected"),
        ("change: [New]", "DEF003", "'change': a text is expected; a list was found"),
        ("options: {Pedal: {title: P}}", "DEF003", "small letters, digits, - and _, a letter first"),
    ],
)
def test_a_wrong_value_is_told_with_what_is_expected(
    write: Write, checked: Checked, text: str, code: str, words: str
) -> None:
    found = checked(write(tail=text)).findings
    assert [(finding.place.line, finding.code) for finding in found] == [(37, code)]
    assert words in str(found[0])


STEPS = """\
    - mesure: Run-out                      # !DEF004
      limits: max 1 mm
    -                                      # !DEF004
    - measure: Height
      limts: max 1 mm                      # !DEF001
    - measure: Width
      limits: max 1 mm
      adjust: {scrw: 1 mm}                 # !DEF003
    - measure: Depth
      limits: max 1 mm
      adjust: {screw: 1 mm, efect: 1 mm/turn, increases: clockwise}   # !DEF001
    - measure: Length
      limits: max 1 mm
      adjust: {level: foot, pitch: 1 mm, places: {A: [0, 0]}}         # !DEF003 !DEF102
    - confirm: Clean.
      only_for: "2"                        # !DEF003
    - work_out: Spread
      how: {spraed: x}                     # !DEF003
      limits: max 1 mm
    - work_out: Spread
      how: {spread: x, alng: y}            # !DEF001 !DEF104
      limits: max 1 mm
    - do: Look.
      cautions: [{WARN: Hot}]              # !DEF005
    - do: Look.
      cautions: [WARNING]                  # !DEF003
    - do: Look.
      cautions: [{WARNING: Hot, NOTICE: Wet}]                          # !DEF003
    - fit: Motor                           # !DEF002
      number: P-1
    - witness: Look.                       # !DEF002
    - do: Look.
      parts: [{number: P-1, title: Nut, quantity: [1]}]               # !DEF003
    - do: Look.
      at: [[1]]                            # !DEF003
"""


def test_every_wrong_step_is_told_at_once(
    operation: Callable[..., str], finds_marks: Callable[[str], None]
) -> None:
    finds_marks(operation(STEPS))


def test_a_misspelt_key_is_not_told_as_missing_too(write: Write, checked: Checked) -> None:
    head = """\
        product: lathe
        titel: Lathe
        revision: A
        revised: 2026-01-05
        approved_by: rhale
        serials: {pattern: "L{n}"}
    """
    found = checked(write(head=head)).findings
    assert [str(finding) for finding in found] == [
        "lathe.yaml:2:1 DEF001 unknown key 'titel'; did you mean 'title'?"
    ]


@pytest.mark.parametrize("key", ["product", "title", "revision", "revised", "approved_by", "serials"])
def test_a_missing_key_is_named(write: Write, checked: Checked, key: str) -> None:
    lines = [line for line in write().splitlines() if not line.startswith(f"{key}:")]
    found = checked("\n".join(lines)).findings
    assert [(finding.code, finding.what) for finding in found] == [("DEF002", f"'{key}' is missing")]


@pytest.mark.parametrize("text", ["just a text\n", "- a\n- list\n", "3\n"])
def test_a_file_that_is_no_mapping_is_told(checked: Checked, text: str) -> None:
    found = checked(text)
    assert found.definition is None
    assert [finding.code for finding in found.findings] == ["DEF003"]


def test_the_keys_of_every_model_are_known_for_hints() -> None:
    assert known_keys(()) == list(Definition.model_fields)
    assert "empty_mass" in known_keys(("crating", "crate"))
    assert "quantity" in known_keys(("crating", "packing_list", 0))
    assert known_keys(("variants", "4")) == ["title", "mass", "gtin"]
    for word in WORDS:
        tag = f"{'an' if word == 'again' else 'a'} {word} step"
        assert word in known_keys(("operations", 0, "steps", 1, tag))
    adjust = known_keys(("final_checks", 0, "a measure step", "adjust", "a screw rule"))
    assert adjust == ["screw", "effect", "increases", "say"]
    assert {"along", "flatness", "places"} <= set(known_keys(("final_checks", 0, "a work_out step", "how")))
