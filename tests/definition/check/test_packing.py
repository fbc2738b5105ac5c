"""Crating: masses, quantities, the wood mark, lifting."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from traveler.definition.load import Loaded

Write = Callable[..., str]
Marks = Callable[[str], None]


def test_the_packing_list(write: Write, finds_marks: Marks) -> None:
    finds_marks(
        write(
            crating="""\
                crating:
                  crate: {title: Crate A, empty_mass: 5 mm, wood_mark: none}    # !DEF303
                  marks: [fragile, this-way-up, fragile]                        # !DEF203
                  steps:
                    - measure: Gross mass
                      limits: expected ± 0.2 kg
                    - pack: All of it.
                    - pack: Again.                                              # !DEF318
                  packing_list:
                    - {item: Lathe, mass: variant}
                    - {item: Belt, quantity: spindles, mass: 0.1 kg}
                    - {item: Belt, quantity: spindels, mass: 0.1 kg}            # !DEF103
                    - {item: Belt, quantity: 0, mass: 0.1 kg}                   # !DEF103
                    - {item: Belt, mass: 0.1}                                   # !UNT001
                    - {item: Belt, mass: 0.1 kg, only_for: ["2"]}
                    - {item: Belt, mass: 0.1 kg, only_for: ["9"]}               # !DEF108
            """
        )
    )


def test_the_product_belongs_to_the_expected_mass(write: Write, finds_marks: Marks) -> None:
    text = write().replace("mass: variant", "mass: 20 kg")
    finds_marks(text.replace("expected ± 0.2 kg", "expected ± 0.2 kg   # !DEF302"))


def test_pack_belongs_to_crating_with_a_list(operation: Write, write: Write, finds_marks: Marks) -> None:
    finds_marks(operation("- pack: All of it.   # !DEF318"))
    crating = "crating: {crate: {title: Crate A}, steps: [{pack: All of it.}]}   # !DEF318\n"
    finds_marks(write(crating=crating))


def test_quantities_of_parts_are_numbers_or_variables(operation: Write, finds_marks: Marks) -> None:
    finds_marks(
        operation("""\
            - do: Look.
              parts:
                - {number: P-1, title: Nut, quantity: 8}
                - {number: P-1, title: Nut, quantity: spindles}
                - {number: P-1, title: Nut, quantity: many}     # !DEF103
        """)
    )


MARK = """\
    crating:
      crate: {title: Crate A, wood_mark: required}
      steps:
        - confirm: Every piece of wood carries its mark.
          id: wood-mark
"""


def test_a_wood_mark_is_confirmed_when_crating(write: Write, finds_marks: Marks) -> None:
    finds_marks(write(crating=MARK))
    finds_marks(write(crating=MARK.replace("required}", "none}").replace("wood-mark", "other")))
    for wrong in (MARK.replace("wood-mark", "woodmark"), MARK.replace("confirm", "do")):
        finds_marks(write(crating=wrong.replace("required}", "required}   # !DEF305")))


@pytest.mark.parametrize(
    ("mass", "caution", "warned"),
    [
        ("23 kg", None, False),
        ("23.01 kg", None, True),
        ("56 lb", None, True),
        ("31 kg", "WARNING: Hot surface.", True),
        ("31 kg", "WARNING: Lift with two people.", False),
        ("31 kg", "CAUTION: Use the hoist.", False),
        ("31 kg", "CAUTION: Levántelo entre dos personas.", False),
    ],
)
def test_a_heavy_product_needs_a_caution_about_lifting(
    write: Write, checked: Callable[..., Loaded], mass: str, caution: str | None, warned: bool
) -> None:
    text = write().replace("mass: 20 kg", f"mass: {mass}")
    if caution:
        text = text.replace("    title: Spindles\n", f"    title: Spindles\n    cautions: [{{{caution}}}]\n")
    found = checked(text)
    assert found.definition is not None
    assert [finding.code for finding in found.findings] == (["DEF304"] if warned else [])
    assert all(finding.weight.value == "warning" for finding in found.findings)
