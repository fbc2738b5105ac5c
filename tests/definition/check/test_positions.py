"""Positions are defined, counted by numbers, and not too many."""

from __future__ import annotations

from collections.abc import Callable

Write = Callable[..., str]
Marks = Callable[[str], None]


def test_positions_of_steps(operation: Write, finds_marks: Marks) -> None:
    finds_marks(
        operation("""\
            - do: All ways to write them.
              at: spindle
            - do: Look.
              at: [spindle, end]
            - do: Look.
              at: {screw: 8}
            - do: Look.
              at: [spindle, {side: [left, right]}]
            - do: Look.
              at: {screw: spindles}
            - do: Look.
              at: {screw: {count: 3}}
            - do: Look.
              at: [spindel]                # !DEF102
            - do: Look.
              at: {screw: spindels}        # !DEF103
            - do: Look.
              at: {screw: 0}               # !DEF103
            - do: Look.
              at: {screw: 2.5}             # !DEF103
            - do: Look.
              at: {screw: mass}            # !DEF103
            - do: Look.
              at: {side: [left, left]}     # !DEF203
            - do: Look.
              at: [end, end]               # !DEF203
            - do: Look.
              at: {screw: 600}             # !DEF204
            - do: Look.
              at: {row: 25, column: 21}    # !DEF204
            - do: Look.
              at: {piece: 2}               # !DEF205
        """)
    )


def test_declared_positions(write: Write, finds_marks: Marks) -> None:
    finds_marks(
        write(
            positions="""\
                positions:
                  spindle: {count: spindles}
                  end: [near, far]
                  same: [a, b, a]          # !DEF203
                  item: 3                  # !DEF205
                  wrong: {count: spindels} # !DEF103
                  half: 1 1/2              # !DEF103
            """
        )
    )


def test_values_become_part_of_slot_ids(operation: Write, finds_marks: Marks) -> None:
    finds_marks(operation("- do: Look.\n  at: {side: [left side, 'a.b', 'x=y']}   # !DEF003"))


def test_a_count_may_differ_between_variants_that_have_the_step(operation: Write, finds_marks: Marks) -> None:
    variants = """\
        variants:
          "2": {title: Two, holes: none}
          "3": {title: Three, holes: 3}
    """
    steps = """\
        - do: Drill.
          at: {hole: holes}
          only_for: ["3"]
        - do: Drill.
          at: {hole: holes}                # !DEF103
    """
    finds_marks(operation(steps, variants=variants, positions=""))
