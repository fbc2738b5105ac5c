"""Corner marks are those of the ArUco dictionary they claim to be from."""

from __future__ import annotations

import numpy as np

from traveler.sheets.pdf import codes as corners
from traveler.sheets.templates import templates


def test_all_thousand_words_are_those_of_the_library():
    import cv2

    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_1000)
    assert len(corners.patterns(templates())) == 1000
    for number in range(1000):
        drawn = cv2.aruco.generateImageMarker(dictionary, number, 6, borderBits=1)
        ours = corners.mark(number // 4, number % 4, templates())
        assert np.array_equal([[module == "1" for module in row] for row in ours], drawn < 128)


def test_no_two_pages_share_a_mark():
    words = corners.patterns(templates())
    assert len(set(words)) == corners.MOST_PAGES * corners.CORNERS
