"""The dossier as a PDF and as one HTML page, and the drawing of a reading in its limits."""

from __future__ import annotations

import base64
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import Unpack

from markupsafe import Markup

from traveler.definition.fields import languages_of
from traveler.definition.plan import Plan
from traveler.measure.number import format_number
from traveler.sheets.make import Request, fill_template, make_sheet
from traveler.sheets.pdf import fonts
from traveler.sheets.pdf.render import EmbeddedFile, attached_plan
from traveler.sheets.pictures import Album
from traveler.sheets.sheet import Printing, PrintOptions, Sheet, UnitHeader
from traveler.sheets.views.head import head
from traveler.sheets.words import Words
from traveler.shop.settings import Settings

WIDTH, HEIGHT = 86, 14
"""Millimeters."""
LEFT, RIGHT = Fraction(13), Fraction(84)
"""Where the scale begins and ends; the names of the rows stand before it."""
ABOVE, MIDDLE, BELOW = Fraction(14, 5), Fraction(29, 5), Fraction(44, 5)
"""Height of the row before, of this unit, of the row after."""
AXIS, LABELS = Fraction(21, 2), Fraction(27, 2)
TEXT = "2.7"
"""Height of letters in mm: 7.7 pt."""
FAR = 1
"""Neighbors further outside the limits than so many tolerance widths stand at the edge, as arrows."""


@dataclass(frozen=True, slots=True)
class Strip:
    """What is drawn, exact, all in one unit. ``labels`` are the limits as printed: lower, upper.

    ``words`` say what the drawing shows, for who cannot see it; ``rows`` are the names of the two rows.
    """

    value: Fraction
    lower: Fraction | None = None
    upper: Fraction | None = None
    accept_lower: Fraction | None = None
    accept_upper: Fraction | None = None
    found: Fraction | None = None
    before: tuple[Fraction, ...] = ()
    after: tuple[Fraction, ...] = ()
    labels: tuple[str, str] = ("", "")
    words: str = ""
    rows: tuple[str, str] = ("before", "after")


@dataclass(frozen=True, slots=True)
class Scale:
    """From a value to millimeters."""

    least: Fraction
    most: Fraction

    def at(self, value: Fraction) -> Fraction:
        """Where a value stands; what lies beyond an end stands at that end."""
        inside = min(max(value, self.least), self.most)
        return LEFT + (inside - self.least) / (self.most - self.least) * (RIGHT - LEFT)


def strip_scale(strip: Strip) -> Scale:
    """A scale that holds the limits and this unit's values, and neighbors that are not far outside."""
    own = [value for value in (strip.value, strip.found, strip.lower, strip.upper) if value is not None]
    others = [*strip.before, *strip.after]
    if strip.lower is not None and strip.upper is not None:
        reach = (strip.upper - strip.lower) * FAR
        others = [other for other in others if strip.lower - reach <= other <= strip.upper + reach]
    shown = [*own, *others]
    least, most = min(shown), max(shown)
    if strip.lower is None and 0 < least <= most / 2:
        least = Fraction(0)  # a run-out, a gap, a noise: how far from nothing is what matters
    room = (most - least) / 12 or abs(most) / 12 or Fraction(1)
    return Scale(least if least == 0 and strip.lower is None else least - room, most + room)


def draw(strip: Strip) -> Markup:
    """The drawing as SVG, to be set into a page."""
    scale = strip_scale(strip)
    parts = [
        *_band(strip, scale),
        *_row(strip.before, scale, ABOVE, _circle),
        *_row(strip.after, scale, BELOW, _triangle),
        *_names(strip),
        *_own(strip, scale),
    ]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="strip" viewBox="0 0 {WIDTH} {HEIGHT}" '
        f'width="{WIDTH}mm" height="{HEIGHT}mm" role="img" font-family="Traveler Sans" font-size="{TEXT}">'
    )
    title = Markup("<title>{}</title>").format(strip.words)
    return Markup(head) + title + Markup("").join(parts) + Markup("</svg>")  # noqa: S704 - our own numbers


def _mm(value: Fraction) -> str:
    text = format_number(value, 2)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _band(strip: Strip, scale: Scale) -> Iterator[Markup]:
    """The tolerance, its limits with their labels, the acceptance limits, the axis."""
    low = scale.at(strip.lower) if strip.lower is not None else LEFT
    high = scale.at(strip.upper) if strip.upper is not None else RIGHT
    if strip.lower is not None or strip.upper is not None:
        yield _tag("rect", x=low, y=Fraction(1), width=high - low, height=AXIS - 1, fill="#dedede")
    yield _line(LEFT, AXIS, RIGHT, AXIS, "0.2")
    for limit in (strip.accept_lower, strip.accept_upper):
        if limit is not None:
            at = scale.at(limit)
            yield _line(at, Fraction(1), at, AXIS, "0.3", dashes="1 0.7")
    for limit, label in zip((strip.lower, strip.upper), strip.labels, strict=True):
        if limit is not None:
            at = scale.at(limit)
            yield _line(at, Fraction(1, 2), at, AXIS + Fraction(2, 5), "0.6")
            yield _text(at, LABELS, label, "middle")


def _row(values: Sequence[Fraction], scale: Scale, y: Fraction, sign: object) -> Iterator[Markup]:
    """The neighbors of one row; equal values are moved up and down a little, so that many look many."""
    seen: dict[Fraction, int] = {}
    for value in values:
        turn = seen[value] = seen.get(value, -1) + 1
        lift = Fraction((0, 3, -3, 6, -6)[turn % 5], 10)
        if scale.least <= value <= scale.most:
            yield sign(scale.at(value), y + lift)  # type: ignore[operator]
        else:
            edge = RIGHT if value > scale.most else LEFT
            yield _text(edge, y + 1, "»" if value > scale.most else "«", "middle")


def _circle(x: Fraction, y: Fraction) -> Markup:
    return _tag("circle", cx=x, cy=y, r=Fraction(7, 10), fill="none", stroke="#000", stroke_width="0.22")


def _triangle(x: Fraction, y: Fraction) -> Markup:
    half, up, down = Fraction(17, 20), Fraction(9, 10), Fraction(13, 20)
    points = f"{_mm(x)},{_mm(y - up)} {_mm(x + half)},{_mm(y + down)} {_mm(x - half)},{_mm(y + down)}"
    return _tag("polygon", points=points, fill="none", stroke="#000", stroke_width="0.22")


def _names(strip: Strip) -> Iterator[Markup]:
    if strip.before:
        yield _text(Fraction(0), ABOVE + 1, strip.rows[0], "start")
    if strip.after:
        yield _text(Fraction(0), BELOW + 1, strip.rows[1], "start")


def _own(strip: Strip, scale: Scale) -> Iterator[Markup]:
    """This unit: a hairline, how it was found, and the black diamond on top of everything."""
    at = scale.at(strip.value)
    yield _line(at, Fraction(1), at, AXIS, "0.2")
    if strip.found is not None:
        start = scale.at(strip.found)
        way = 1 if at > start else -1
        yield _diamond(start, "#fff")
        if abs(at - start) > 4:
            tip = at - way * 2
            yield _line(start + way * Fraction(3, 2), MIDDLE, tip, MIDDLE, "0.35")
            back = tip - way * Fraction(6, 5)
            points = f"{_mm(tip)},{_mm(MIDDLE)} {_mm(back)},{_mm(MIDDLE - Fraction(7, 10))} "
            points += f"{_mm(back)},{_mm(MIDDLE + Fraction(7, 10))}"
            yield _tag("polygon", points=points, fill="#000")
    yield _diamond(at, "#000")


def _diamond(x: Fraction, fill: str) -> Markup:
    half = Fraction(8, 5)
    points = f"{_mm(x)},{_mm(MIDDLE - half)} {_mm(x + half)},{_mm(MIDDLE)} "
    points += f"{_mm(x)},{_mm(MIDDLE + half)} {_mm(x - half)},{_mm(MIDDLE)}"
    return _tag("polygon", points=points, fill=fill, stroke="#000", stroke_width="0.35")


def _line(x1: Fraction, y1: Fraction, x2: Fraction, y2: Fraction, width: str, dashes: str = "") -> Markup:
    dashed = {"stroke_dasharray": dashes} if dashes else {}
    return _tag("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke="#000", stroke_width=width, **dashed)


def _text(x: Fraction, y: Fraction, text: str, anchor: str) -> Markup:
    return Markup('<text x="{}" y="{}" text-anchor="{}">{}</text>').format(_mm(x), _mm(y), anchor, text)


def _tag(name: str, **attributes: Fraction | str) -> Markup:
    said = (
        Markup(' {}="{}"').format(key.replace("_", "-"), _mm(value) if isinstance(value, Fraction) else value)
        for key, value in attributes.items()
    )
    return Markup("<") + name + Markup("").join(said) + Markup("/>")


Kept = Mapping[str, tuple[bytes, str]]
"""Name of a picture → its content and media type."""


def dossier_printing(settings: Settings, printed: datetime, **options: Unpack[PrintOptions]) -> Printing:
    """The circumstances of the print; of a shop with two languages the dossier takes the first."""
    options["language"] = languages_of(settings.language)[0]
    return Printing(settings, printed, **options)


def row_names(printing: Printing) -> tuple[str, str]:
    """What the rows of a strip are called: units before, units after."""
    say = printing.say
    return say("before"), say("after")


def dossier_pdf(
    plan: Plan, unit: UnitHeader, view: Mapping[str, object], kept: Kept, attached: bytes, printing: Printing
) -> Sheet:
    """The dossier on the shop's paper.

    Args:
        plan: what the unit was built to; attached.
        unit: serial, order, dates.
        view: what ``sheets/dossier_body.html`` shows.
        kept: the photographs.
        attached: the dossier as JSON, attached too.
        printing: the circumstances.
    """
    say = printing.say
    title = say("Dossier {serial}, {title}", serial=unit.serial, title=plan.title)
    page = head(plan, unit, printing, say("Dossier"), say("For the shop only."), copied=False)
    sources = {name: f"picture:{name}" for name in kept}
    data = EmbeddedFile("dossier.json", attached, "Data")
    return make_sheet(
        Request(
            template="sheets/dossier.html",
            title=title,
            context={"head": page, **view, "sources": _or_none(sources, view)},
            album=Album(kept=dict(kept)),
            address=printing.address(unit.serial, plan.gtin),
            attached=(attached_plan(plan), data),
            spelled=True,
        ),
        printing,
    )


def dossier_page(
    plan: Plan, unit: UnitHeader, view: Mapping[str, object], kept: Kept, printing: Printing
) -> bytes:
    """The dossier as one HTML file: fonts, pictures and drawings inside it, nothing fetched from elsewhere.

    Raises:
        jinja2.TemplateError: one of the shop's own templates is wrong.
    """
    say: Words = printing.say
    files = {"plain": fonts.SANS, "bold": fonts.SANS_BOLD, "mono": fonts.MONO_BOLD}
    faces = {
        name: _data(printing.templates.read(f"fonts/{file}.ttf"), "font/ttf") for name, file in files.items()
    }
    sources = {name: _data(content, media) for name, (content, media) in kept.items()}
    request = Request(
        template="sheets/dossier_page.html",
        title=say("Dossier {serial}, {title}", serial=unit.serial, title=plan.title),
        context={**view, "fonts": faces, "day": printing.day, "sources": _or_none(sources, view)},
    )
    return fill_template(request, printing).encode()


def _or_none(sources: Mapping[str, str], view: Mapping[str, object]) -> dict[str | None, str]:
    """An address for every photograph that is asked for; empty where no picture is kept."""
    wanted = view.get("photo_names", ())
    names = wanted if isinstance(wanted, tuple) else ()
    return {None: "", **dict.fromkeys(names, ""), **sources}


def _data(content: bytes, media: str) -> str:
    return f"data:{media};base64,{base64.b64encode(content).decode()}"
