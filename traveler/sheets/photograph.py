"""Photographs (PNG, JPEG) in steps: turned upright, reduced to what a printer shows, without remarks."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from traveler.record.media import read_strictly

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_BYTES = 12_000_000
MOST_PIXELS = 50_000_000
LONGEST_SIDE = 1400
"""Pixels: 85 mm, the width of a picture in a step, at more than 400 dpi. More only makes files large."""
RASTER = {b"\x89PNG\r\n\x1a\n": "PNG", b"\xff\xd8\xff": "JPEG"}
DEEP = frozenset({"I", "I;16", "I;16B", "I;16L", "F"})
"""Modes of more than eight bits a channel."""


def usable_photograph(content: bytes) -> tuple[bytes, str] | str:
    """The photograph as it goes into the page, with its media type; or why it cannot be used.

    Orientation (Exif 2.3, tag 274) is followed, then every remark is left out: place, camera, thumbnail,
    colour profile. Transparent parts become white, 16 bits a channel become 8, CMYK becomes RGB.
    """
    if len(content) > MOST_BYTES:
        return f"has {len(content):,} bytes, at most {MOST_BYTES:,} are taken"
    kind = next((kind for start, kind in RASTER.items() if content.startswith(start)), "")
    try:
        with read_strictly():
            made = _upright(content, kind)
            return made if isinstance(made, str) else _written(made, kind)
    except Exception as problem:  # noqa: BLE001 - decoders meet anybody's bytes, and fail in many ways
        return f"is damaged: {problem or type(problem).__name__}"


def _upright(content: bytes, kind: str) -> Image | str:
    from PIL import Image, ImageOps

    with Image.open(BytesIO(content), formats=[kind]) as opened:
        if opened.width * opened.height > MOST_PIXELS:
            return f"has {opened.width} × {opened.height} pixels, at most {MOST_PIXELS:,} are taken"
        if getattr(opened, "n_frames", 1) > 1 and kind == "PNG":
            return f"is animated: it has {getattr(opened, 'n_frames', 1)} frames, paper shows one"
        opened.load()
        reduced = _shallow(ImageOps.exif_transpose(opened))
    reduced.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    return reduced


def _shallow(image: Image) -> Image:
    """Eight bits a channel, RGB, nothing transparent."""
    from PIL import Image

    if image.mode in DEEP:
        return image.point(lambda value: value / 256).convert("L").convert("RGB")
    if not image.has_transparency_data:
        return image.convert("RGB")
    clear = image.convert("RGBA")
    paper = Image.new("RGBA", clear.size, "white")
    paper.alpha_composite(clear)
    return paper.convert("RGB")


def _written(image: Image, kind: str) -> tuple[bytes, str]:
    image.info.clear()
    out = BytesIO()
    if kind == "JPEG":
        image.save(out, "JPEG", quality=85, optimize=True)
    else:
        image.save(out, "PNG", optimize=True)
    return out.getvalue(), f"image/{kind.lower()}"
