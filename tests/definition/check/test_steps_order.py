"""The order of the work, hold points, and what lots need."""

from __future__ import annotations

from collections.abc import Callable

Write = Callable[..., str]
Marks = Callable[[str], None]


def test_operation_numbers_rise(write: Write, finds_marks: Marks) -> None:
    work = "title: Work, steps: [{do: Look.}], sign: assembler"
    finds_marks(
        write(
            operations=f"""\
                operations:
                  - {{number: 10, {work}}}
                  - {{number: 30, {work}}}
                  - {{number: 20, {work}}}      # !DEF202
                  - {{number: 20, {work}}}      # !DEF202
                  - {{number: 100, {work}}}
            """,
            final="",
        )
    )


def test_one_word_a_step(operation: Write, finds_marks: Marks) -> None:
    finds_marks(operation("- {do: Look., confirm: Clean.}   # !DEF004 !DEF001"))


def test_again_belongs_to_the_final_checks(operation: Write, finds_marks: Marks) -> None:
    steps = """\
        - measure: Height
          id: height
          limits: max 1 mm
        - again: height                    # !DEF319
    """
    finds_marks(operation(steps))


def test_lots_have_words_of_their_own(operation: Write, finds_marks: Marks) -> None:
    finds_marks(
        operation("""\
            - measure: Height
              first_piece: true            # !DEF308
              limits: max 1 mm
            - confirm: Clean.
              every: 10                    # !DEF308
            - count: Pieces                # !DEF308
        """)
    )


LOT = """\
    operations:
      - number: 10
        title: Cut
        first_piece: true
        every: 10
        steps:
          - fit: Plate
            number: M-1
            trace: lot
          - measure: Length
            limits: 10 ± 0.1 mm
          - witness: First piece approved.
            by: inspector
          - measure: Length
            limits: 10 ± 0.1 mm
          - count: Pieces
        sign: machinist
"""


def lot(write: Write, operations: str) -> str:
    return write(operations=operations, final="", crating="", tail="track: lot\n")


def test_a_lot_that_has_all_it_needs(write: Write, finds_marks: Marks) -> None:
    finds_marks(lot(write, LOT))


def test_a_lot_counts_its_pieces_at_the_end_of_each_operation(write: Write, finds_marks: Marks) -> None:
    finds_marks(
        lot(
            write,
            LOT.replace("      - number: 10\n", "      - number: 10  # !DEF308\n").replace(
                "          - count: Pieces\n", ""
            ),
        )
    )
    early = LOT.replace("          - count: Pieces\n", "").replace(
        "          - witness", "          - count: Pieces  # !DEF308\n          - witness"
    )
    finds_marks(lot(write, early))
    twice = LOT.replace(
        "          - count: Pieces\n", "          - count: A\n          - count: Pieces  # !DEF308\n"
    )
    finds_marks(lot(write, twice))


def test_a_lot_names_its_material(write: Write, finds_marks: Marks) -> None:
    text = lot(write, LOT.replace("trace: lot", "trace: serial"))
    finds_marks(text.replace("product: lathe", "product: lathe  # !DEF308"))


def test_a_first_piece_is_checked_and_then_approved(write: Write, finds_marks: Marks) -> None:
    hold = "          - witness: First piece approved.\n            by: inspector\n"
    measured = "          - measure: Length\n            limits: 10 ± 0.1 mm\n"
    unapproved = LOT.replace(hold, "").replace("first_piece: true", "first_piece: true  # !DEF309")
    finds_marks(lot(write, unapproved))
    unchecked = LOT.replace(measured + hold, hold.replace("approved.", "approved.  # !DEF309"))
    finds_marks(lot(write, unchecked))
    own = LOT.replace("        first_piece: true\n", "").replace(
        "          - count: Pieces",
        "          - confirm: Clean.\n            first_piece: true  # !DEF309\n          - count: Pieces",
    )
    finds_marks(lot(write, own))
    both = LOT.replace(
        measured, f"{measured}            first_piece: true\n            every: 5  # !DEF309\n", 1
    )
    finds_marks(lot(write, both))
