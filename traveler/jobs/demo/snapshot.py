"""The photograph of an open crate, as far as a demonstration without a camera can take one."""

from __future__ import annotations

from io import BytesIO

WIDTH, HEIGHT = 640, 420
WOOD, EDGE, DARK, FOAM, STEEL = 190, 60, 95, 225, 130
"""Shades of grey."""


def crate_picture() -> bytes:
    """A crate seen from above with a winder in it, strapped to the skid, as PNG; the same bytes each time."""
    from PIL import Image, ImageDraw

    picture = Image.new("L", (WIDTH, HEIGHT), 240)
    pen = ImageDraw.Draw(picture)
    pen.rectangle((40, 40, 600, 380), fill=WOOD, outline=EDGE, width=6)
    for plank in range(90, 600, 50):
        pen.line((plank, 40, plank, 380), fill=EDGE, width=1)
    pen.rectangle((70, 70, 570, 350), fill=DARK, outline=EDGE, width=4)
    for left in (90, 500):
        pen.rectangle((left, 90, left + 50, 330), fill=FOAM, outline=EDGE)
    pen.rectangle((150, 150, 490, 270), fill=STEEL, outline=EDGE, width=3)
    for spindle in range(4):
        x = 185 + 80 * spindle
        pen.ellipse((x, 180, x + 30, 210), fill=FOAM, outline=EDGE, width=2)
        pen.rectangle((x + 11, 210, x + 19, 255), fill=EDGE)
    for strap in (220, 400):
        pen.rectangle((strap, 70, strap + 10, 350), fill=EDGE)
    pen.rectangle((300, 285, 360, 325), fill=FOAM, outline=EDGE)
    saved = BytesIO()
    picture.save(saved, "PNG", optimize=True)
    return saved.getvalue()
