"""A scanned page can be laid over its own form rectangles by its corner marks."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from traveler.sheets.paper import PAPERS, POINTS_PER_MM

DPI = 300
PER_MM = DPI / 25.4
PAGE = 2


@pytest.fixture(scope="module")
def straightened(winder_reader) -> np.ndarray:
    """A page scanned at 97 % and turned by 2°, laid straight again by what the detector finds."""
    pixels = winder_reader.pixels(PAGE, DPI)
    height, width = pixels.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), 2, 0.97)
    scan = cv2.warpAffine(pixels, turn, (width, height), flags=cv2.INTER_AREA, borderValue=255)
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_1000))
    found, ids, _ = detector.detectMarkers(scan)
    seen, meant = [], []
    for one, mark in zip(found, ids.flatten(), strict=True):
        if int(mark) // 4 != PAGE:
            continue
        spot = PAPERS["A4"].corners()[int(mark) % 4]
        left, top, side = spot.left * PER_MM, spot.top * PER_MM, spot.side * PER_MM
        seen += list(one[0])
        meant += [(left, top), (left + side, top), (left + side, top + side), (left, top + side)]
    assert len(seen) == 16
    matrix, _ = cv2.findHomography(np.array(seen), np.array(meant, dtype=np.float32))
    return cv2.warpPerspective(scan, matrix, (width, height), flags=cv2.INTER_CUBIC, borderValue=255)


def middle_of_line(profile: np.ndarray) -> float:
    """Where the dark line crosses a profile of grey values, in pixels."""
    dark = 255.0 - profile.astype(np.float64)
    dark[dark < 90] = 0
    return float((dark * np.arange(len(dark))).sum() / dark.sum())


def test_form_rectangles_fall_on_their_printed_boxes(winder_reader, straightened):
    reach = round(1.0 * PER_MM)
    page = PAPERS["A4"].height * POINTS_PER_MM
    line = 0.25 / 2  # the rectangle is the inside of a drawn line of a quarter millimetre
    boxes = [box for box in winder_reader.boxes() if box.page == PAGE and not box.name.endswith("#found")]
    assert len(boxes) > 10
    for box in boxes:
        row = round((page - (box.top + box.bottom) / 2) / 72 * DPI)
        column = round((box.left + box.right) / 2 / 72 * DPI)
        edges = (
            (straightened[row], box.left / 72 * DPI, -1),
            (straightened[row], box.right / 72 * DPI, 1),
            (straightened[:, column], (page - box.top) / 72 * DPI, -1),
            (straightened[:, column], (page - box.bottom) / 72 * DPI, 1),
        )
        for profile, edge, outward in edges:
            start = round(edge) - reach
            seen = start + middle_of_line(profile[start : start + 2 * reach]) + 0.5
            assert abs((seen - edge) / PER_MM - outward * line) < 0.2, box
