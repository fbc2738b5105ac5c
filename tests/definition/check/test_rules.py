"""Adjust rules and worked-out values: numbers, units and positions that go together."""

from __future__ import annotations

from collections.abc import Callable

Write = Callable[..., str]
Marks = Callable[[str], None]

HEIGHT = """\
    - measure: Height
      id: height
      at: {foot: [A, B, C]}
      limits: 0.0 ± 0.3 mm
"""


def test_worked_out_values(operation: Write, finds_marks: Marks) -> None:
    finds_marks(
        operation(
            HEIGHT
            + """\
    - work_out: Spread
      how: {spread: height, along: foot}
      limits: max 0.2 mm
    - work_out: Spread
      how: {spread: height, along: fot}                    # !DEF102
      limits: max 0.2 mm
    - work_out: Spread
      how: {spread: height}
      limits: max 0.2 N                                    # !WRK004
    - work_out: Spread
      how: {spread: height, method: minimum-zone}          # !WRK002
      limits: max 0.2 mm
    - work_out: Flatness
      how: {flatness: height}                              # !WRK005
      limits: max 0.2 mm
    - work_out: Flatness
      how: {flatness: height, method: roughly, places: {A: [0, 0], B: [9, 0], C: [0, 9]}}   # !WRK002
      limits: max 0.2 mm
    - work_out: Tilt
      how: {tilt: height, places: {A: [0, 0], B: [600, 0], C: [0, 400]}}
      limits: max 0.5 mm/m
    - work_out: Tilt
      how: {tilt: height, places: {A: [0, 0], B: [600, 0], C: [0, 400]}}
      limits: max 0.5 mm                                   # !WRK004
    - work_out: Tilt
      how: {tilt: height, places: {A: [0, 0], B: [600, 0]}}                 # !WRK005
      limits: max 0.5 deg
    - work_out: Tilt
      how: {tilt: height, places: {A: [0, 0], B: [600, 0], C: [0, 4], D: [4, 4]}}   # !WRK005
      limits: max 0.5 deg
    - work_out: Tilt
      how: {tilt: height, places: {A: [0, 0], B: [600 N, 0], C: [0, 400]}}  # !WRK006
      limits: max 0.5 deg
    - work_out: Spread
      at: [foot]                                           # !DEF311
      how: {spread: height}
      limits: max 0.2 mm
""",
            positions="positions: {foot: [A, B, C]}\n",
        )
    )


def test_grids_and_sides(operation: Write, finds_marks: Marks) -> None:
    finds_marks(
        operation("""\
            - measure: Height
              id: height
              at: {row: 3, column: 4}
              limits: 0.0 ± 0.3 mm
            - measure: Diagonal
              id: diagonal
              at: {way: [rising, falling]}
              limits: 700 ± 5 mm
            - work_out: Flatness
              how: {flatness: height, along: [row, column], grid: {row: 100 mm, column: 3 in}}
              limits: max 0.2 mm
            - work_out: Flatness
              how: {flatness: height, grid: {row: 100 N, column: 3 in}}     # !ADJ003
              limits: max 0.2 mm
            - work_out: Flatness
              how: {flatness: height, grid: {row: 100 mm, colum: 3 in}}     # !DEF102
              limits: max 0.2 mm
            - work_out: Squareness
              how: {squareness: diagonal, sides: [600 mm, 400 mm]}
              limits: max 1 mm
            - work_out: Squareness
              how: {squareness: diagonal, sides: [600 mm]}                  # !DEF001
              limits: max 1 mm
        """)
    )


def test_adjust_rules(operation: Write, finds_marks: Marks) -> None:
    finds_marks(
        operation("""\
            - measure: Height
              limits: 0.0 ± 0.3 mm
              adjust: Turn it in.
            - measure: Height
              limits: 0.0 ± 0.3 mm
              adjust: {screw: 1.25 mm, effect: 0.8 mm/turn, increases: clockwise}
            - measure: Height
              limits: 0.0 ± 0.3 mm
              adjust: {screw: 0 mm, effect: 0.8 mm/turn, increases: clockwise}      # !ADJ003
            - measure: Height
              limits: 0.0 ± 0.3 mm
              adjust: {screw: 1 N, effect: 0.8 mm/turn, increases: clockwise}       # !ADJ003
            - measure: Height
              limits: 0.0 ± 0.3 mm
              adjust: {screw: 1 mm, effect: 0.8 N/turn, increases: clockwise}       # !ADJ003
            - measure: Height
              limits: 0.0 ± 0.3 mm
              adjust: {screw: 1 mm, effect: 0 mm/turn, increases: clockwise}        # !ADJ003
            - measure: Force
              limits: 10 ± 1 N
              adjust: {learn: true, by: turn}
            - measure: Force
              limits: 10 ± 1 N
              adjust: {learn: false}                                                # !DEF311
            - measure: Angle
              limits: 90 ± 0.5 deg
              adjust: {bend: 0.9}
            - measure: Angle
              limits: 90 ± 0.5 deg
              adjust: {bend: 0.02 mm/deg}
            - measure: Angle
              limits: 90 ± 0.5 deg
              adjust: {bend: a little}                                              # !ADJ003
        """)
    )


def test_levelling_feet(operation: Write, finds_marks: Marks) -> None:
    finds_marks(
        operation("""\
            - measure: Height
              id: height
              at: {foot: [A, B, C]}
              limits: 0.0 ± 0.3 mm
              adjust: {level: foot, pitch: 1.5 mm, places: {A: [0, 0], B: [600, 0], C: [0, 400]}, fixed: A}
            - work_out: Tilt
              how: {tilt: height, places: {A: [0, 0], B: [600, 0], C: [0, 400]}}
              limits: max 0.5 mm/m
              adjust: {level: foot, pitch: 1.5 mm, places: {A: [0, 0], B: [600, 0], C: [0, 400]}}
            - measure: Height
              at: {foot: [A, B, C]}
              limits: 0.0 ± 0.3 mm
              adjust: {level: feet, pitch: 1.5 mm, places: {A: [0, 0], B: [6, 0], C: [0, 4]}}     # !DEF102
            - measure: Height
              at: {foot: [A, B, C]}
              limits: 0.0 ± 0.3 mm
              adjust: {level: foot, pitch: 1.5 mm, places: {A: [0, 0], B: [6, 0], X: [0, 4]}}     # !WRK005
            - measure: Height
              at: {foot: [A, B, C]}
              limits: 0.0 ± 0.3 mm
              adjust: {level: foot, pitch: 1.5 N, places: {A: [0, 0], B: [6, 0], C: [0, 4]}}      # !ADJ003
            - measure: Height
              at: {foot: [A, B, C]}
              limits: 0.0 ± 0.3 mm
              adjust: {level: foot, pitch: 1 mm, fixed: X,    # !WRK005
                       places: {A: [0, 0], B: [6, 0], C: [0, 9]}}
        """)
    )


def test_a_repeat_stays_within_the_positions_of_its_check(write: Write, finds_marks: Marks) -> None:
    finds_marks(
        write(
            final="""\
                final_checks:
                  - again: runout
                    at: {spindle: [1], end: [far]}
                  - again: runout
                    at: [end]
                  - again: runout
                    at: {spindle: [7]}         # !DEF102
                  - again: runout
                    at: {ends: [far]}          # !DEF102
            """
        )
    )
