"""Photographs as phones and cameras make them, and as nobody should."""

from __future__ import annotations

import random
import struct
import zlib
from io import BytesIO

import numpy as np
import pytest
from PIL import Image, TiffImagePlugin

from traveler.sheets.pictures import LONGEST_SIDE, MOST_PIXELS, usable_photograph

CORNERS = ((255, 0, 0), (0, 255, 0), (0, 0, 255), (255, 255, 0))
"""Top left, top right, bottom right, bottom left of the scene."""
HOW_STORED = {
    1: (0, 1, 2, 3), 2: (1, 0, 3, 2), 3: (2, 3, 0, 1), 4: (3, 2, 1, 0),
    5: (0, 3, 2, 1), 6: (1, 2, 3, 0), 7: (2, 1, 0, 3), 8: (3, 0, 1, 2),
}  # fmt: skip
"""Orientation → the corners of the scene in the order of the file. Its first row is the visual top (1, 2),
bottom (3, 4), left (5, 8) or right (6, 7) side: Exif 2.3, 4.6.4, tag 274."""


def scene(stored: tuple[int, ...] = (0, 1, 2, 3), size: tuple[int, int] = (64, 64)) -> Image.Image:
    """Four colors, one in each corner."""
    width, height = size
    image = Image.new("RGB", size)
    for corner, (left, top) in zip(stored, ((0, 0), (1, 0), (1, 1), (0, 1)), strict=True):
        place = (left * width // 2, top * height // 2)
        image.paste(CORNERS[corner], (*place, place[0] + width // 2, place[1] + height // 2))
    return image


def saved(image: Image.Image, kind: str = "PNG", **more: object) -> bytes:
    out = BytesIO()
    image.save(out, kind, **more)
    return out.getvalue()


def opened(content: bytes) -> Image.Image:
    made = usable_photograph(content)
    assert isinstance(made, tuple), made
    return Image.open(BytesIO(made[0]))


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_however_the_phone_was_held_the_picture_stands_upright(orientation, kind):
    exif = Image.Exif()
    exif[0x0112] = orientation
    made = opened(saved(scene(HOW_STORED[orientation]), kind, exif=exif)).convert("RGB")
    seen = [made.getpixel(place) for place in ((10, 10), (53, 10), (53, 53), (10, 53))]
    for got, wanted in zip(seen, CORNERS, strict=True):
        assert max(abs(number - other) for number, other in zip(got, wanted, strict=True)) < 40


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_nothing_tells_where_or_with_what_it_was_taken(kind):
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Maker", "Model"
    exif.get_ifd(0x8825).update({1: "N", 2: (53.0, 20.0, TiffImagePlugin.IFDRational(6)), 3: "W"})
    content = saved(scene(), kind, exif=exif, icc_profile=b"profile" * 30, comment=b"at home")
    assert b"Maker" in content
    made = usable_photograph(content)
    assert isinstance(made, tuple)
    assert not any(word in made[0] for word in (b"Maker", b"Model", b"Exif", b"eXIf", b"profile", b"at home"))
    assert not Image.open(BytesIO(made[0])).getexif()


def test_a_large_one_is_reduced_and_keeps_its_proportions():
    made = opened(saved(Image.new("RGB", (4000, 3000), "grey"), "JPEG"))
    assert made.size == (LONGEST_SIDE, LONGEST_SIDE * 3 // 4)
    assert opened(saved(Image.new("RGB", (300, 200)))).size == (300, 200)


def test_transparent_parts_become_white_paper():
    image = Image.new("RGBA", (10, 10), (255, 0, 0, 0))
    image.putpixel((5, 5), (0, 0, 0, 255))
    image.putpixel((6, 6), (0, 0, 0, 128))
    made = opened(saved(image))
    assert made.mode == "RGB"
    assert made.getpixel((0, 0)) == (255, 255, 255)
    assert made.getpixel((5, 5)) == (0, 0, 0)
    assert 120 <= made.getpixel((6, 6))[0] <= 135


def test_sixteen_bits_keep_their_greys():
    ramp = np.linspace(0, 65535, 256).astype(np.uint16).reshape(16, 16)
    made = np.asarray(opened(saved(Image.fromarray(ramp))).convert("L")).flatten()
    assert np.abs(made.astype(int) - np.arange(256)).max() <= 1


def test_colours_for_printing_become_colours_for_screens():
    made = opened(saved(Image.new("CMYK", (8, 8), (0, 255, 255, 0)), "JPEG"))
    red, green, blue = made.convert("RGB").getpixel((4, 4))
    assert (red > 200, green < 90, blue < 90) == (True, True, True)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA"])
def test_every_kind_of_png_is_taken(mode):
    assert opened(saved(scene().convert(mode))).mode == "RGB"


def bomb(side: int) -> bytes:
    """A PNG of a few kilobytes that says it has so many pixels a side, one bit each."""

    def chunk(name: bytes, content: bytes) -> bytes:
        return (
            struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))
        )

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0))
    rows = chunk(b"IDAT", zlib.compress(bytes(side * (side // 8 + 1)), 9))
    return b"\x89PNG\r\n\x1a\n" + head + rows + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [8000, 20000])
def test_a_small_file_with_too_many_pixels_is_refused(side):
    assert side * side > MOST_PIXELS
    made = usable_photograph(bomb(side))
    assert isinstance(made, str)
    assert "pixels" in made


def test_a_moving_one_is_refused():
    frames = [Image.new("RGB", (8, 8), colour) for colour in ("red", "green")]
    made = usable_photograph(saved(frames[0], "PNG", save_all=True, append_images=frames[1:]))
    assert made == "is animated: it has 2 frames, paper shows one"


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_spoilt_bytes_are_refused_or_taken_and_never_stop_the_tool(kind):
    chance, whole = random.Random(4), saved(scene(size=(32, 24)), kind)
    outcomes = set()
    for _ in range(150):
        spoilt = bytearray(whole[: chance.randrange(4, len(whole) + 1)])
        for _ in range(chance.randrange(4)):
            spoilt[chance.randrange(3, len(spoilt))] = chance.randrange(256)
        made = usable_photograph(bytes(spoilt))
        outcomes.add(type(made))
        assert isinstance(made, tuple) or made.startswith(("is ", "has "))
    assert str in outcomes
