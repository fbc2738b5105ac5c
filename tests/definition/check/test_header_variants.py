"""Variants set the same variables, and their masses are masses."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from traveler.definition.load import Loaded

Write = Callable[..., str]
Marks = Callable[[str], None]


def test_a_variant_that_leaves_out_a_variable_is_told(write: Write, finds_marks: Marks) -> None:
    finds_marks(
        write(
            variants="""\
                variants:
                  "2": {title: Two, spindles: 2, mass: 20 kg, pull: 5}
                  "3": {title: Three, spindles: 3, mass: 20 kg}        # !DEF306
            """
        )
    )


@pytest.mark.parametrize(
    ("mass", "code"),
    [
        ("20", "UNT001"),
        ("heavy", "NUM001"),
        ("20 mm", "DEF303"),
        ("0 kg", "DEF303"),
        ("-2 kg", "DEF303"),
        ("20 kgg", "UNT002"),
    ],
)
def test_a_mass_must_be_a_mass(write: Write, finds_marks: Marks, mass: str, code: str) -> None:
    finds_marks(
        write(
            variants=f"""\
                variants:
                  "2": {{title: Two, spindles: 2, mass: {mass}}}  # !{code}
            """,
            crating="",
        )
    )
    finds_marks(write(tail=f"options: {{pedal: {{title: Pedal, mass: {mass}}}}}   # !{code}\n"))


@pytest.mark.parametrize("mass", ["20 kg", "20000 g", "44 lb", "1 1/2 lb"])
def test_a_mass_may_be_written_in_any_unit_of_mass(write: Write, finds_marks: Marks, mass: str) -> None:
    finds_marks(write().replace("mass: 20 kg", f"mass: {mass}"))


def test_a_text_in_fewer_languages_than_others_is_a_warning(
    write: Write, checked: Callable[..., Loaded]
) -> None:
    text = write().replace("title: Bench lathe", "title: {en: Bench lathe, es: Torno}")
    found = checked(text.replace("title: Spindles", "title: {en: Spindles}"))
    assert found.definition is not None
    assert [(finding.code, finding.weight.value) for finding in found.findings] == [("DEF315", "warning")]
    assert "not given in es" in found.findings[0].what


def test_short_step_words_are_no_languages(operation: Write, finds_marks: Marks) -> None:
    finds_marks(
        operation(
            "- {do: Look.}\n- {do: Look., by: inspector, id: look, at: end}\n",
            head="""\
                product: lathe
                title: {en: Lathe, es: Torno}
                revision: A
                revised: 2026-01-05
                approved_by: rhale
                serials: {pattern: "BL-{n:04}"}
            """,
        )
    )
