"""Limits can be read for every variant and fit the gauge."""

from __future__ import annotations

from collections.abc import Callable

from traveler.definition.load import Loaded

Write = Callable[..., str]
Marks = Callable[[str], None]


def test_limits_and_gauges(operation: Write, finds_marks: Marks) -> None:
    finds_marks(
        operation("""\
            - measure: Height
              limits: 12 ± 0.1 mm
              gauge: indicator
            - measure: Height
              limits: max 0.05             # !LIM001
            - measure: Height
              limits: 12 to 10 mm          # !LIM002
            - measure: Height
              limits: about 3 mm           # !LIM003
            - measure: Height
              limits: 5 mm ± 0             # !LIM004
            - measure: Height
              limits: 25 H99               # !LIM005
            - measure: Height
              limits: max 3 mmm            # !UNT002
            - measure: Force
              limits: max 3 N              # !DEF301
              gauge: indicator
            - measure: Height
              limits: max 1/64 in
              gauge: indicator
            - measure: Height
              limits: 10.000 ± 0.004 mm
              gauge: indicator             # !DEF314
            - measure: Height
              limits: expected ± 0.4 kg    # !DEF313
        """)
    )


def test_variables_in_limits_are_read_for_each_variant(
    operation: Write, checked: Callable[..., Loaded]
) -> None:
    variants = """\
        variants:
          "2": {title: Two, low: 3}
          "3": {title: Three, low: 9}
    """
    found = checked(operation('- measure: Gap\n  limits: "{low} to 5 mm"', variants=variants, positions=""))
    assert [finding.code for finding in found.findings] == ["LIM002"]
    assert found.findings[0].what.endswith("(variant 3)")


def test_an_unreadable_resolution_is_told_once(write: Write, finds_marks: Marks) -> None:
    finds_marks(
        write(
            gauges="""\
                gauges:
                  indicator: {title: Dial indicator, resolution: 0.001}      # !UNT001
                  scale: {title: Platform scale}
            """
        )
    )


def test_a_resolution_without_a_tolerance_width_is_not_judged(operation: Write, finds_marks: Marks) -> None:
    finds_marks(operation("- measure: Height\n  limits: max 0.005 mm\n  gauge: indicator"))


def test_the_expected_mass_needs_every_mass(write: Write, finds_marks: Marks) -> None:
    finds_marks(
        write(
            variants="""\
                variants:
                  "2": {title: Two, spindles: 2}       # !DEF302
            """,
            crating="""\
                crating:
                  crate: {title: Crate A}              # !DEF302
                  steps:
                    - measure: Gross mass
                      limits: expected ± 0.2 kg        # !DEF302
                  packing_list:
                    - {item: Manual}                   # !DEF302
            """,
        )
    )


def test_the_tolerance_of_an_expected_mass_is_read_too(write: Write, finds_marks: Marks) -> None:
    finds_marks(write().replace("expected ± 0.2 kg", "expected ± 0.2 mm   # !UNT003"))
    finds_marks(write().replace("expected ± 0.2 kg", "expected about 2 kg   # !LIM003"))
