"""A scanned page of any sheet can be laid over its own form rectangles by its corner marks."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from traveler.sheets.pdf.paper import PAPERS, POINTS_PER_MM

MARKED = (
    "traveler",
    "final-checklist",
    "crating-sheet",
    "certificate",
    "arrival-check",
    "packing-list",
    "record",
)
FORMS = ("traveler", "final-checklist", "crating-sheet", "arrival-check", "packing-list")
DPI = 150
PER_MM = DPI / 25.4
TURNED, SCALED = 2.0, 0.97
NEAR = 0.2
"""Millimeters by which a rectangle may miss its printed box."""
LINE = 0.25
"""Width of the drawn line in millimeters; a rectangle is its inside."""
REACH = 0.7
"""How far from a rectangle its line is looked for."""
PAPER = PAPERS["A4"]


def marks_in(pixels: np.ndarray) -> dict[int, np.ndarray]:
    """Number of each corner mark → its four corners in pixels, clockwise from the top left."""
    import cv2

    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_1000))
    found, ids, _ = detector.detectMarkers(pixels)
    seen = zip(found, ids.flatten() if ids is not None else (), strict=True)
    # a bold B looks like mark 660 to the detector, but is smaller than 5 mm
    return {
        int(mark): array[0]
        for array, mark in seen
        if np.linalg.norm(array[0][1] - array[0][0]) > 5.5 * PER_MM
    }


@pytest.mark.parametrize("name", MARKED)
def test_the_four_corner_marks_of_every_page_are_found_and_tell_page_and_corner(name, every_sheet):
    read = every_sheet(name)
    for number in range(len(read)):
        marks = marks_in(read.pixels(number, DPI))
        assert sorted(marks) == [number * 4 + corner for corner in range(4)]
        for mark, corners in marks.items():
            spot = PAPER.corners()[mark % 4]
            assert corners[0] / PER_MM == pytest.approx((spot.left, spot.top), abs=0.15)
            assert corners[2] / PER_MM == pytest.approx(
                (spot.left + spot.side, spot.top + spot.side), abs=0.15
            )


def scanned(pixels: np.ndarray) -> np.ndarray:
    """The page as a scanner may see it: turned and smaller."""
    import cv2

    height, width = pixels.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), TURNED, SCALED)
    return cv2.warpAffine(pixels, turn, (width, height), flags=cv2.INTER_LINEAR, borderValue=255)


def to_scan(scan: np.ndarray, page: int) -> np.ndarray:
    """From millimeters on the paper to pixels of the scan, by its four marks and nothing else."""
    import cv2

    marks, meant, seen = marks_in(scan), [], []
    for corner, spot in enumerate(PAPER.corners()):
        left, top, right, bottom = spot.left, spot.top, spot.left + spot.side, spot.top + spot.side
        meant += [(left, top), (right, top), (right, bottom), (left, bottom)]
        seen += list(marks[page * 4 + corner])
    matrix, _ = cv2.findHomography(np.array(meant, dtype=np.float32), np.array(seen, dtype=np.float32))
    return matrix


def mapped(matrix: np.ndarray, points: np.ndarray) -> np.ndarray:
    import cv2

    return cv2.perspectiveTransform(points[None].astype(np.float64), matrix)[0]


@dataclass(frozen=True)
class Side:
    """One side of a rectangle in millimeters, and the direction out of it."""

    start: tuple[float, float]
    end: tuple[float, float]
    outward: tuple[float, float]


def sides(box) -> list[Side]:
    left, right = box.left / POINTS_PER_MM, box.right / POINTS_PER_MM
    top, bottom = PAPER.height - box.top / POINTS_PER_MM, PAPER.height - box.bottom / POINTS_PER_MM
    return [
        Side((left, top), (right, top), (0, -1)),
        Side((right, top), (right, bottom), (1, 0)),
        Side((left, bottom), (right, bottom), (0, 1)),
        Side((left, top), (left, bottom), (-1, 0)),
    ]


def off(side: Side, scan: np.ndarray, matrix: np.ndarray) -> float:
    """How far outside of a side the middle of its printed line lies in the scan, in millimeters.

    The scan is looked at along many short cuts across the mapped side; dashes and dots have gaps, the mean of
    the cuts has not.
    """
    import cv2

    along = np.linspace(0.25, 0.75, 60)[:, None]
    spots = np.array(side.start) * (1 - along) + np.array(side.end) * along
    steps = np.arange(-REACH, REACH, 0.02)
    points = (spots[:, None, :] + steps[None, :, None] * np.array(side.outward)).reshape(-1, 2)
    where = mapped(matrix, points).astype(np.float32)
    grey = cv2.remap(scan, where[:, 0], where[:, 1], cv2.INTER_LINEAR).reshape(len(spots), len(steps))
    dark = 255.0 - grey.astype(np.float64)
    dark[dark < 60] = 0  # the gray column that boxes stand in
    profile = dark.mean(axis=0)
    assert profile.max() > 20, side
    return float((profile * steps).sum() / profile.sum())


@pytest.mark.parametrize("name", FORMS)
def test_form_rectangles_fall_on_their_printed_boxes(name, every_sheet):
    read = every_sheet(name)
    worst = 0.0
    for number in range(len(read)):
        boxes = [box for box in read.boxes() if box.page == number and not box.name.startswith("unit#")]
        if not boxes:
            continue
        scan = scanned(read.pixels(number, DPI))
        matrix = to_scan(scan, number)
        for box in boxes:
            for side in sides(box):
                missed = abs(off(side, scan, matrix) - LINE / 2)
                worst = max(worst, missed)
                assert missed < NEAR, (box, side, missed)
    print(f"{name}: {worst:.3f} mm")
    assert worst > 0


def test_the_measuring_sees_a_rectangle_that_is_off(every_sheet):
    read = every_sheet("packing-list")
    box = next(box for box in read.boxes() if box.page == 0 and not box.name.startswith("unit#"))
    scan = scanned(read.pixels(0, DPI))
    matrix = to_scan(scan, 0)
    shift = 0.3 * POINTS_PER_MM
    moved = replace(box, left=box.left + shift, right=box.right + shift)
    _, right, _, left = (off(side, scan, matrix) for side in sides(moved))
    assert right == pytest.approx(LINE / 2 - 0.3, abs=0.1)
    assert left == pytest.approx(LINE / 2 + 0.3, abs=0.1)
