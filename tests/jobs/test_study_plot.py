"""The picture of a gauge study: drawn for every study, without color, the same bytes each time."""

from __future__ import annotations

import io
import random
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from traveler.finding import CannotDo
from traveler.measure.gauge_study import GaugeStudy, StudyReading, design_of, study
from traveler.trace.plots.study import KINDS, picture_kind, study_plot


def studied(parts: int, operators: int, spread: int) -> GaugeStudy:
    noise = random.Random(parts)
    readings = [
        StudyReading(
            f"part {p}", f"person {o}", str(t), 9 * p * bool(spread) + Fraction(noise.randint(0, spread), 100)
        )
        for p in range(parts)
        for o in range(operators)
        for t in range(2)
    ]
    return study(design_of(readings))


STUDIES = {"usual": (10, 3, 30), "large": (40, 9, 30), "without spread": (2, 2, 0)}


@pytest.mark.parametrize("name", STUDIES)
def test_every_study_is_drawn_in_black_and_white(name: str) -> None:
    picture = Image.open(io.BytesIO(study_plot(studied(*STUDIES[name]), "µm", "png"))).convert("RGB")
    assert picture.size == (1650, 1200)
    pixels = np.asarray(picture).astype(int)
    assert (pixels.max(axis=2) - pixels.min(axis=2)).max() == 0
    assert pixels.min() < 60


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_study_gives_the_same_bytes(kind: str) -> None:
    found = studied(3, 2, 20)
    assert study_plot(found, "mm", kind) == study_plot(found, "mm", kind)


def test_the_kind_is_that_of_the_name() -> None:
    assert picture_kind(Path("a/b.SVG")) == "svg"
    with pytest.raises(CannotDo, match="none of the kinds of pictures"):
        picture_kind(Path("study"))
