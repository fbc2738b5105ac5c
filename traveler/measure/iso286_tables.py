"""The tables of ISO 286-1:2010 up to 500 mm, in micrometres, a column for each step of nominal sizes.

A size exactly on a step belongs to the lower one (over ... up to and including ...). The tables, not the
formula behind them, are the standard: it rounds, by up to 16 % in the smallest step.
"""

from __future__ import annotations

from fractions import Fraction

STEPS = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500)
"""Upper ends of the steps in mm; the first starts above 0."""

FINE_STEPS = (
    3, 6, 10, 18, 30, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315, 355, 400, 450, 500,
)  # fmt: skip
"""The finer steps of the deviations r and s."""

GRADES: dict[int, tuple[int, ...]] = {
    5: (4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27),
    6: (6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40),
    7: (10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63),
    8: (14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97),
    9: (25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130, 140, 155),
    10: (40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210, 230, 250),
    11: (60, 75, 90, 110, 130, 160, 190, 220, 250, 290, 320, 360, 400),
    12: (100, 120, 150, 180, 210, 250, 300, 350, 400, 460, 520, 570, 630),
    13: (140, 180, 220, 270, 330, 390, 460, 540, 630, 720, 810, 890, 970),
    14: (250, 300, 360, 430, 520, 620, 740, 870, 1000, 1150, 1300, 1400, 1550),
}
"""Standard tolerance grades IT5 to IT14 (Table 1)."""

SHAFTS: dict[str, tuple[int, ...]] = {
    "d": (-20, -30, -40, -50, -65, -80, -100, -120, -145, -170, -190, -210, -230),
    "e": (-14, -20, -25, -32, -40, -50, -60, -72, -85, -100, -110, -125, -135),
    "f": (-6, -10, -13, -16, -20, -25, -30, -36, -43, -50, -56, -62, -68),
    "g": (-2, -4, -5, -6, -7, -9, -10, -12, -14, -15, -17, -18, -20),
    "h": (0,) * 13,
    "k": (0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5),
    "m": (2, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23),
    "n": (4, 8, 10, 12, 15, 17, 20, 23, 27, 31, 34, 37, 40),
    "p": (6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68),
    "r": (
        10, 15, 19, 23, 28, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80, 84, 94, 98, 108, 114, 126, 132,
    ),
    "s": (
        14, 19, 23, 28, 35, 43, 53, 59, 71, 79, 92, 100, 108, 122, 130, 140, 158, 170, 190, 208, 232, 252,
    ),
}  # fmt: skip
"""Fundamental deviations of shafts (Tables 4 and 5): the upper one for d to h, the lower one for k to s.

r and s go by ``FINE_STEPS``. That of k holds for grades 4 to 7; in other grades it is 0.
"""

HOLE_DELTA: dict[int, tuple[Fraction, ...]] = {
    grade: tuple(Fraction(part) for part in parts.split())
    for grade, parts in {
        5: "0 1 2 3 3 4 5 5 6 6 7 7 7",
        6: "0 3 3 3 4 5 6 7 7 9 9 11 13",
        7: "0 4 6 7 8 9 11 13 15 17 20 21 23",
        8: "0 6 7 9 12 14 16 19 23 26 29 32 34",
    }.items()
}
"""The addition Δ to the deviations of holes K to S (Table 3): IT(n) - IT(n-1), 0 up to 3 mm."""

HOLES = ("D", "E", "F", "G", "H", "JS", "K", "M", "N", "P", "R", "S")
"""Letters of holes that can be worked out from these tables."""

FURTHER = frozenset({"a", "b", "c", "cd", "ef", "fg", "j", "t", "u", "v", "x", "y", "z", "za", "zb", "zc"})
"""Letters of the standard that these tables do not hold, as shafts."""
