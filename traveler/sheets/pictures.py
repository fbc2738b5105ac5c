"""Pictures in steps: looked up, checked, reduced to what a printer shows, set into the page."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache, lru_cache
from io import BytesIO
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from traveler.finding import Finding, Place, Weight
from traveler.record.attachments import read_strictly
from traveler.sheets.pdf import fonts
from traveler.sheets.pdf.render import AssetSource, lay_out_pages, listening, write_pdf
from traveler.sheets.sheet import PictureReader, no_pictures
from traveler.sheets.templates import templates

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
    color profile. Transparent parts become white, 16 bits a channel become 8, CMYK becomes RGB.
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


MEDIA = "image/svg+xml"
SVG = "{http://www.w3.org/2000/svg}"
MOST_DRAWING_BYTES = 2_000_000
MOST_DEEP = 60
MOST_DRAWN = 20_000
"""Elements that are drawn, those drawn again by ``use`` counted each time."""
RUNS = frozenset({"script", "foreignObject", "handler", "iframe"})
MOVES = frozenset({"animate", "animateMotion", "animateTransform", "animateColor", "set"})
ELSEWHERE = re.compile(r"@import|@font-face|url\(\s*['\"]?\s*(?!['\"]?#)", re.IGNORECASE)
NO_NUMBER = re.compile(rb"(?<![\w/(<])-?(nan|inf)\b")
OUR_FONT = '* { font-family: "Traveler Sans" !important }'


def usable_drawing(content: bytes) -> tuple[bytes, str] | str:
    """The drawing as it goes into the page, with its media type; or why it cannot be used."""
    if len(content) > MOST_DRAWING_BYTES:
        return f"has {len(content):,} bytes, a drawing may have {MOST_DRAWING_BYTES:,}"
    if b"<!ENTITY" in content:
        return "is damaged: it defines entities"
    try:
        root = ET.fromstring(content)  # noqa: S314 - entities are refused above
    except (ET.ParseError, ValueError, LookupError) as problem:
        return f"is damaged: {problem}"
    if root.tag != f"{SVG}svg":
        return f'is not an SVG: its first element is <{_local(root)}>, not <svg xmlns="{SVG[1:-1]}">'
    refused = _too_much(root) or next(_unfit(root), "")
    if refused:
        return refused
    style = ET.Element(f"{SVG}style")
    style.text = OUR_FONT
    root.insert(0, style)
    made = ET.tostring(root)
    refused = _trial(made)
    return refused or (made, MEDIA)


TRIAL = (
    '<!doctype html><html lang="en"><head><title>trial</title></head>'
    '<body><img src="picture:trial" alt="trial" style="width: 10mm"></body></html>'
)


@lru_cache(maxsize=64)
def _trial(content: bytes) -> str:
    """Why the page engine cannot draw it, found by drawing it on a page of its own; empty where it can."""
    assets = AssetSource(templates(), {"trial": (content, MEDIA)})
    try:
        with listening() as heard:
            page = write_pdf(lay_out_pages(TRIAL, assets), (), _ANY_TIME)
    except Exception as problem:  # noqa: BLE001 - the engine meets anybody's drawing, and fails in many ways
        return f"cannot be drawn: {problem or type(problem).__name__}"
    if heard:
        return f"cannot be drawn: {heard[0].replace(' picture:trial', '')}"
    return "cannot be drawn: a number in it is none" if NO_NUMBER.search(_drawn(page)) else ""


def _drawn(page: bytes) -> bytes:
    """The drawing operators of a page, with those of the groups it holds."""
    import pikepdf

    with pikepdf.open(BytesIO(page)) as pdf:
        groups = (
            item
            for item in pdf.objects
            if isinstance(item, pikepdf.Stream) and item.get("/Subtype") == "/Form"
        )
        return b" ".join(
            Contents.read_bytes() for Contents in (*(page.Contents for page in pdf.pages), *groups)
        )


_ANY_TIME = datetime(2026, 1, 1, tzinfo=UTC)


def drawn_texts(content: bytes) -> str:
    """All that is written in a usable drawing."""
    root = ET.fromstring(content)  # noqa: S314 - it was found usable before
    return " ".join("".join(element.itertext()) for element in root.iter(f"{SVG}text"))


def _local(element: ET.Element) -> str:
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def _unfit(root: ET.Element) -> Iterator[str]:
    """What a drawing may not hold, in words."""
    for element in root.iter():
        name = _local(element)
        if name in RUNS:
            yield f"holds <{name}>: nothing in a drawing may run"
        if name in MOVES:
            yield f"moves (<{name}>): paper does not"
        if name == "image":
            yield "holds another picture: give that picture itself, or draw it"
        if name == "style" and ELSEWHERE.search(element.text or ""):
            yield "takes styles or fonts from elsewhere"
        for key, value in element.attrib.items():
            yield from _unfit_attribute(key.rpartition("}")[2].lower(), value)


def _unfit_attribute(name: str, value: str) -> Iterator[str]:
    if name.startswith("on"):
        yield f"holds {name}: nothing in a drawing may run"
    if name == "base" or (name == "href" and not value.strip().startswith("#")):
        yield f"refers to something outside itself: {value[:60]}"
    if name != "href" and ELSEWHERE.search(value):
        yield f"refers to something outside itself: {value[:60]}"


def _too_much(root: ET.Element) -> str:
    """Whether it is nested too deep or draws too much; ``use`` can multiply a few lines into millions."""
    if _depth(root) > MOST_DEEP:
        return f"is nested more than {MOST_DEEP} deep"
    named = {element.get("id", ""): element for element in root.iter() if element.get("id")}
    asked: set[str] = set()

    @cache
    def drawn(name: str) -> int:
        if name in asked:
            return MOST_DRAWN + 1  # it uses itself
        asked.add(name)
        total = count(named[name]) if name in named else 0
        asked.discard(name)
        return total

    def count(element: ET.Element) -> int:
        total = 0
        for item in element.iter():
            href = next((value for key, value in item.attrib.items() if key.rpartition("}")[2] == "href"), "")
            again = drawn(href.strip().removeprefix("#")) if _local(item) == "use" else 0
            total = min(total + 1 + again, MOST_DRAWN + 1)
        return total

    return f"draws more than {MOST_DRAWN:,} elements" if count(root) > MOST_DRAWN else ""


def _depth(root: ET.Element) -> int:
    """How deep it is nested, as far as that matters."""
    level, depth = [root], 0
    while level and depth <= MOST_DEEP:
        level = [child for element in level for child in element]
        depth += 1
    return depth


SCHEME = "picture:"
PICTURE_ENDINGS = ("svg", "png", "jpg")


@dataclass(frozen=True, slots=True)
class StepPicture:
    """A picture of a step: its address inside the page, and words for who cannot see it.

    Without an address it could not be used; the page then says so in its place.
    """

    source: str
    words: str


@dataclass(slots=True)
class Album:
    """The pictures of one sheet, by name: content and media type. Unusable ones become findings."""

    reader: PictureReader = no_pictures
    kept: dict[str, tuple[bytes, str]] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def picture(self, name: str, step: str) -> StepPicture:
        """The picture of this name for a step."""
        if name in self.kept:
            return StepPicture(SCHEME + name, name)
        content = self.reader(name)
        made = "is not there" if content is None else usable(content)
        if isinstance(made, str):
            self.findings.append(unusable(name, made, step))
            return StepPicture("", name)
        self.kept[name] = made
        return StepPicture(SCHEME + name, name)

    def portrait(self, product: str, words: str) -> StepPicture | None:
        """The picture of the whole product for the cover: the one named after it, if there is one."""
        for name in (f"{product}.{ending}" for ending in PICTURE_ENDINGS):
            content = self.reader(name)
            if content is not None and not isinstance(made := usable(content), str):
                self.kept[name] = made
                return StepPicture(SCHEME + name, words)
        return None


def unusable(name: str, why: str, step: str) -> Finding:
    """The finding for a picture that cannot be printed; the sheet is printed without it."""
    return Finding(
        "SHT002",
        f"picture {name} {why}",
        Place(slot=step),
        Weight.WARNING,
        hint="put an SVG, PNG or JPEG file of this name beside the definition",
    )


def usable(content: bytes) -> tuple[bytes, str] | str:
    """The picture as it goes into the page, with its media type; or why it cannot be used.

    The rules are those of :func:`usable_photograph` and :func:`usable_drawing`; texts in a drawing must be in
    the shipped fonts.
    """
    if content.startswith(tuple(RASTER)):
        return usable_photograph(content)
    if b"<svg" not in content[:5000]:
        return "is neither SVG nor PNG nor JPEG"
    made = usable_drawing(content)
    if isinstance(made, str):
        return made
    lacking = fonts.missing((drawn_texts(made[0]),), templates())
    return f"is written with {', '.join(lacking)}, which the shop's fonts lack" if lacking else made
