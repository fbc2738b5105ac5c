"""Drawings (SVG) in steps: what they may hold, and how they come to be set in the shop's own fonts.

A drawing must stand for itself: nothing in it may run, move, or be fetched from elsewhere. Its texts are set
in the shipped fonts, or each machine would print them in another one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from functools import cache, lru_cache
from io import BytesIO
from xml.etree import ElementTree as ET

from traveler.sheets.render import Shelf, lay_out, listening, write
from traveler.sheets.resources import templates

MEDIA = "image/svg+xml"
SVG = "{http://www.w3.org/2000/svg}"
MOST_BYTES = 2_000_000
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
    if len(content) > MOST_BYTES:
        return f"has {len(content):,} bytes, a drawing may have {MOST_BYTES:,}"
    if b"<!ENTITY" in content:
        return "is damaged: it defines entities"
    try:
        root = ET.fromstring(content)  # noqa: S314 - entities are refused above
    except (ET.ParseError, ValueError, LookupError) as problem:
        return f"is damaged: {problem}"
    if root.tag != f"{SVG}svg":
        return f'is no SVG: its first element is <{_local(root)}>, not <svg xmlns="{SVG[1:-1]}">'
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
    shelf = Shelf(templates(), {"trial": (content, MEDIA)})
    try:
        with listening() as heard:
            page = write(lay_out(TRIAL, shelf), (), _ANY_TIME)
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
            one for one in pdf.objects if isinstance(one, pikepdf.Stream) and one.get("/Subtype") == "/Form"
        )
        return b" ".join(one.read_bytes() for one in (*(page.Contents for page in pdf.pages), *groups))


_ANY_TIME = datetime(2026, 1, 1, tzinfo=UTC)


def drawn_texts(content: bytes) -> str:
    """All that is written in a usable drawing."""
    root = ET.fromstring(content)  # noqa: S314 - it was found usable before
    return " ".join("".join(one.itertext()) for one in root.iter(f"{SVG}text"))


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
    named = {one.get("id", ""): one for one in root.iter() if one.get("id")}
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
        for one in element.iter():
            href = next((value for key, value in one.attrib.items() if key.rpartition("}")[2] == "href"), "")
            again = drawn(href.strip().removeprefix("#")) if _local(one) == "use" else 0
            total = min(total + 1 + again, MOST_DRAWN + 1)
        return total

    return f"draws more than {MOST_DRAWN:,} elements" if count(root) > MOST_DRAWN else ""


def _depth(root: ET.Element) -> int:
    """How deep it is nested, as far as that matters."""
    level, depth = [root], 0
    while level and depth <= MOST_DEEP:
        level = [child for one in level for child in one]
        depth += 1
    return depth
