import io
import subprocess
import sys
import textwrap

import numpy as np
import pytest
from PIL import Image

from traveler.trace.plots.product import pareto_bars
from traveler.trace.plots.series import Measured, before_after, control_chart, histogram
from traveler.trace.stats.control_chart import individuals_chart
from traveler.trace.stats.proportion import pareto

DRAWN = [f"{value:.3f}" for value in np.random.default_rng(1).normal(0.03, 0.005, 60)]
DRIFTING = [f"{float(value) + 0.0004 * at:.3f}" for at, value in enumerate(DRAWN)]

PICTURES = {
    "histogram": lambda: histogram(DRAWN, Measured("Run-out $5", "mm", lower="0", upper="0.05")),
    "histogram without": lambda: histogram([], Measured("Run-out", "mm")),
    "histogram of one": lambda: histogram(["0.031"], Measured("Run-out", "mm", upper="0.05")),
    "chart": lambda: control_chart(
        individuals_chart(DRIFTING, baseline=25), Measured("Run-out", "mm", upper="0.05", lower="0")
    ),
    "chart without": lambda: control_chart(individuals_chart([]), Measured("Run-out", "mm")),
    "long chart": lambda: control_chart(individuals_chart(DRAWN * 5), Measured("Run-out", "mm")),
    "pareto": lambda: pareto_bars(pareto("aaaabbbccdefghijklmnopq"), title="Findings"),
    "pareto of two": lambda: pareto_bars(pareto("aaabb"), title="Findings"),
    "pareto of long names": lambda: pareto_bars(
        pareto(["reading out of tolerance, far end, after the second adjustment " * 2] * 5 + ["b"]),
        title="A title that is rather long for a picture, with product, check, variant and quarter " * 3,
    ),
    "strange letters": lambda: histogram(["1", "2", "3"], Measured("Überprüfung ⌀ 测试", "µm")),
    "pareto without": lambda: pareto_bars(pareto([]), title="Findings"),
    "before and after": lambda: before_after(
        list(zip(DRIFTING, DRAWN, strict=True)), Measured("Run-out", "mm", upper="0.05")
    ),
    "before and after without": lambda: before_after([], Measured("Run-out", "mm")),
}
EACH = pytest.mark.parametrize("picture", PICTURES.values(), ids=PICTURES)


@EACH
def test_no_text_is_below_the_smallest_of_a_shop_sheet(picture):
    from matplotlib.text import Text

    sizes = [item.get_fontsize() for item in picture().figure.findobj(Text) if item.get_text().strip()]
    assert sizes
    assert min(sizes) >= 9.5


@EACH
def test_it_is_black_grey_and_white_and_lies_inside_its_page(picture):
    pixels = np.asarray(Image.open(io.BytesIO(picture().png(100))).convert("RGB")).astype(int)
    assert np.ptp(pixels, axis=2).max() == 0
    edges = (pixels[0], pixels[-1], pixels[:, 0], pixels[:, -1])
    assert min(edge.min() for edge in edges) == 255
    assert pixels.min() < 60


@EACH
def test_the_same_picture_has_the_same_bytes_in_every_format(picture):
    each_first, other = picture(), picture()
    for kind in ("svg", "pdf", "png"):
        first = getattr(each_first, kind)()
        assert first == getattr(each_first, kind)() == getattr(other, kind)()
        assert len(first) > 1000


def test_bytes_are_the_same_in_another_process():
    program = """
        import hashlib
        from traveler.trace.plots.series import Measured, histogram
        picture = histogram(["23", "24"], Measured("Torque", "N·m", lower="22.5", upper="25.5"))
        print(*(hashlib.sha256(one).hexdigest() for one in (picture.svg(), picture.pdf(), picture.png())))
    """
    run = [sys.executable, "-W", "error", "-c", textwrap.dedent(program)]
    first, second = (subprocess.run(run, capture_output=True, text=True, check=True).stdout for _ in range(2))
    assert first == second
    assert len(first.split()) == 3


def test_files_carry_no_date_and_say_what_they_show():
    import pypdf

    picture = PICTURES["pareto of two"]()
    assert picture.description == "Pareto of Findings. a and b: 100 % of 5, from 2 of 2 kinds."
    svg = picture.svg().decode()
    assert "100 % of 5, from 2 of 2 kinds" in svg
    assert "<dc:date>" not in svg
    document = pypdf.PdfReader(io.BytesIO(picture.pdf()))
    assert document.metadata.title == picture.description
    assert document.metadata.creation_date is None
    assert Image.open(io.BytesIO(picture.png())).info["Description"] == picture.description


def test_a_page_of_the_picture_has_its_size_and_its_words():
    import pypdf

    page = pypdf.PdfReader(io.BytesIO(PICTURES["histogram"]().pdf())).pages[0]
    size = (page.mediabox.width, page.mediabox.height)
    assert [round(float(item) / 72 * 25.4) for item in size] == [160, 60]
    words = page.extract_text()
    assert "Run-out $5" in words
    assert "upper limit" in words


def test_each_picture_is_told_in_words():
    said = {name: draw().description for name, draw in PICTURES.items()}
    assert said["histogram"].endswith("mm against lower limit 0 mm and upper limit 0.05 mm.")
    assert said["histogram without"] == "Histogram of Run-out: no reading."
    assert "in a row above the centre line" in said["chart"]
    assert said["chart without"].endswith("0 readings: limits need at least two.")
    assert said["pareto"].startswith("Pareto of Findings. ")
    assert "before and after adjusting. 60 pairs" in said["before and after"]


def test_signals_stand_out_by_shape_and_their_rule_is_explained_below():
    figure = PICTURES["chart"]().figure
    squares = [line for line in figure.axes[0].lines if line.get_marker() == "s"]
    assert len(squares[0].get_xdata()) > 5
    below = figure.axes[1].get_xlabel().split("\n")
    assert below[0] == "reading"
    assert any(line.startswith("■ 2: 7 in a row") for line in below)
