"""Whatever a definition refers to must be there."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from traveler.definition.load import Loaded, load

Write = Callable[..., str]
Marks = Callable[[str], None]


def test_gauge_kinds_and_pictures(operation: Write, finds_marks: Marks) -> None:
    finds_marks(
        operation("""\
            - measure: Height
              limits: max 1 mm
              gauge: indicatr              # !DEF101
            - do: Look.
              picture: there.svg
            - do: Look.
              picture: nowhere.svg         # !DEF105
            - do: Look.
              picture: ../there.svg        # !DEF105
            - do: Look.
              picture: /there.svg          # !DEF105
            - do: Look.
              picture: there.gif           # !DEF105
        """)
    )


def test_an_unknown_name_gets_the_nearest_as_a_hint(operation: Write, checked: Callable[..., Loaded]) -> None:
    found = checked(operation("- measure: Height\n  limits: max 1 mm\n  gauge: indicatr")).findings
    assert found[0].hint == "did you mean 'indicator'?"


def test_variants_options_and_variables(operation: Write, finds_marks: Marks) -> None:
    finds_marks(
        operation(
            """\
            - do: Fit {spindles} spindles of {mass}, variant {variant}.
              only_for: ["2", "3"]
            - do: Fit {spindels} spindles.  # !DEF103
            - do: Look.
              only_for: ["4"]               # !DEF108
            - do: Look.
              only_with: [pedal]
            - do: Look.
              only_with: [peddle]           # !DEF109
            """,
            tail="options: {pedal: {title: Pedal}}\n",
        )
    )


def test_roles_must_be_held_by_somebody(write: Write, finds_marks: Marks) -> None:
    finds_marks(
        write(
            operations="""\
                operations:
                  - number: 10
                    title: Work
                    steps:
                      - witness: Look.
                        by: inspectr       # !DEF106
                      - confirm: Clean.
                        by: inspector
                    sign: asembler         # !DEF106
            """,
            final="",
            crating="crating: {crate: {title: A}, sign: paker}   # !DEF106\n",
        )
    )


def test_roles_that_need_not_be_written_must_be_held_too(write: Write) -> None:
    """Final checks are signed by an inspector, crating by a packer."""
    found = load(write(), "f", bool, {"rhale": ("engineering",), "tkiln": ("assembler",)})
    assert [(finding.code, finding.what) for finding in found.findings] == [
        ("DEF106", "nobody has the role 'inspector'"),
        ("DEF106", "nobody has the role 'packer'"),
    ]


def test_without_people_roles_and_approver_are_not_checked(write: Write) -> None:
    text = (
        write()
        .replace("approved_by: rhale", "approved_by: nobody")
        .replace("sign: assembler", "sign: wizard")
    )
    assert load(text, "f", bool).findings == ()


CHECKS = """\
    operations:
      - number: 10
        title: Work
        steps:
          - work_out: Early
            id: early
            how: {spread: height}          # !DEF312
            limits: max 1 mm
          - measure: Height
            id: height
            at: {end: [near, far]}
            limits: max 1 mm
          - measure: Width
            id: width
            only_for: ["2"]
            limits: max 1 mm
          - measure: Depth
            id: depth
            only_with: [pedal]
            limits: max 1 mm
          - do: Look.
            id: look
          - work_out: Ofwidth
            how: {mean: width}             # !DEF312
            limits: max 1 mm
          - work_out: Ofwidthtoo
            only_for: ["2"]
            how: {mean: width}
            limits: max 1 mm
          - work_out: Ofdepth
            how: {mean: depth}             # !DEF312
            limits: max 1 mm
          - work_out: Oflook
            how: {mean: look}              # !DEF104
            limits: max 1 mm
          - work_out: Ofearly
            how: {mean: early}             # !DEF104
            limits: max 1 mm
          - work_out: Ofnothing
            how: {mean: heigth}            # !DEF104
            limits: max 1 mm
          - confirm: Clean.
            id: look                       # !DEF201
        sign: assembler
"""


def test_checks_that_others_use(write: Write, finds_marks: Marks) -> None:
    tail = """\
        options: {pedal: {title: Pedal}}
        arrival_check:
          - height
          - heigth                         # !DEF104
          - look                           # !DEF104
    """
    final = """\
        final_checks:
          - again: height
          - again: hight                   # !DEF104
          - again: early                   # !DEF104
    """
    finds_marks(write(operations=CHECKS, final=final, crating="", tail=tail))


@pytest.mark.parametrize(
    ("approver", "expected"),
    [
        ("rhale", []),
        ("rhail", ["'rhail' is not in people.yaml; did you mean 'rhale'?"]),
        (
            "tkiln",
            ["'tkiln' does not have the role 'engineering', which approves definitions; these do: rhale"],
        ),
    ],
)
def test_the_approver_must_be_known_and_of_engineering(
    write: Write, checked: Callable[..., Loaded], approver: str, expected: list[str]
) -> None:
    found = checked(write().replace("rhale", approver)).findings
    assert [f"{finding.what}; {finding.hint}" for finding in found] == expected
    assert all(finding.code == "DEF107" for finding in found)
