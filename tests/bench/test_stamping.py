"""Two hundred travelers of the demonstration's largest product, by stamping and by three ways of rendering.

The baselines: WeasyPrint renders each traveler as :func:`traveler.sheets.traveler.traveler_pdf` does; typst
and reportlab set the same pages (every line of text in its place, every box, every QR code and corner mark;
reportlab with form fields, typst has none). They get all places and sizes for nothing: the layout is done.

Run it with ``pytest -m bench tests/bench/test_stamping.py -s``.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from statistics import median
from typing import Any

import pikepdf
import pytest

from traveler.jobs.issue import IssueRequest, issue
from traveler.jobs.open import open_session
from traveler.jobs.print import print_new
from traveler.sheets.batch.print_job import PrintContext, PrintJob
from traveler.sheets.batch.requests import PrintJobs
from traveler.sheets.batch.stamp import master, taken_apart
from traveler.sheets.pdf import codes as corners
from traveler.sheets.pdf import codes as qr
from traveler.sheets.pdf.paper import A4, POINTS_PER_MM, Square
from traveler.sheets.templates import shipped_folder, templates
from traveler.shop.session import Session

ROOT = Path(__file__).resolve().parents[2]
WORLD = ROOT / "tests" / "world"
NOW = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
PRODUCT, VARIANT = "bobbin-winder", "8"
UNITS, MANY, RENDERS = 200, 2000, 3


def set_up(folder: Path) -> Path:
    """A shop with the definitions of the demonstration."""
    shutil.copytree(WORLD, folder, ignore=shutil.ignore_patterns("product_defs"))
    shutil.copytree(ROOT / "product_defs", folder / "product_defs")
    return folder


def opened(folder: Path) -> Session:
    session = open_session(folder, NOW).session
    assert session is not None
    return session


def issued(session: Session, count: int) -> tuple[str, ...]:
    done = issue(session, IssueRequest(PRODUCT, VARIANT, "rhale", count, "4471"))
    assert len(done.serials) == count, [str(finding) for finding in done.findings]
    return done.serials


def seconds_each(make: Callable[[int], object], times: int) -> float:
    """Median seconds of one, after one to warm up."""
    make(0)
    taken = []
    for number in range(1, times + 1):
        start = time.perf_counter()
        make(number)
        taken.append(time.perf_counter() - start)
    return median(taken)


@dataclass(frozen=True)
class Page:
    """What stands on a page, in points from the bottom left: lines of text, boxes."""

    lines: list[tuple[float, float, float, str]]
    boxes: list[tuple[str, bool, float, float, float, float]]


def pages_of(content: bytes) -> list[Page]:
    """The pages of a rendered traveler as plain places and texts."""
    import pypdfium2

    drawn = pypdfium2.PdfDocument(content)
    found = []
    with pikepdf.open(BytesIO(content)) as pdf:
        for number, page in enumerate(pdf.pages):
            text = drawn[number].get_textpage()
            places = [text.get_rect(place) for place in range(text.count_rects())]
            lines = [
                (left, bottom, top - bottom, text.get_text_bounded(left, bottom, right, top).strip())
                for left, bottom, right, top in places
            ]
            boxes = []
            for widget in page.get("/Annots", ()):
                field = widget if "/T" in widget else widget.Parent
                left, bottom, right, top = (float(edge) for edge in widget.Rect)
                name = f"{field.T}@{number}-{len(boxes)}"
                boxes.append((name, field.FT == "/Btn", left, bottom, right - left, top - bottom))
            found.append(Page(lines, boxes))
    return found


def squares(serial: str, page: int) -> Iterator[tuple[float, float, float, float]]:
    """The dark squares of a page's marks: left, bottom, width, height."""
    for corner, spot in enumerate(A4.corners()):
        yield from _dark(corners.mark(page, corner, templates()), spot)
    yield from _dark(qr.matrix(qr.qr_address(serial).payload(page + 1)), A4.qr())


def _dark(modules: qr.Symbol, spot: Square) -> Iterator[tuple[float, float, float, float]]:
    left, bottom, side = spot.points(A4)
    scale = side / len(modules)
    for column, row, length in qr.runs(modules):
        yield left + column * scale, bottom + (len(modules) - row - 1) * scale, length * scale, scale


def by_reportlab(pages: list[Page], serial: str, like: str) -> bytes:
    """The pages set by reportlab, with form fields."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    if "Traveler" not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont("Traveler", shipped_folder() / "fonts" / "TravelerSans-Regular.ttf"))
    out = BytesIO()
    canvas = Canvas(out, pagesize=(A4.width * POINTS_PER_MM, A4.height * POINTS_PER_MM))
    for number, page in enumerate(pages):
        for left, bottom, wide, high in squares(serial, number):
            canvas.rect(left, bottom, wide, high, stroke=0, fill=1)
        for left, bottom, size, text in page.lines:
            canvas.setFont("Traveler", max(size, 1))
            canvas.drawString(left, bottom, text.replace(like, serial))
        for name, tick, left, bottom, wide, high in page.boxes:
            if tick:
                canvas.acroForm.checkbox(name=name, x=left, y=bottom, size=wide, borderWidth=1)
            else:
                canvas.acroForm.textfield(name=name, x=left, y=bottom, width=wide, height=high, borderWidth=1)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def by_typst(compiler: Any, pages: list[Page], serial: str, like: str) -> bytes:
    """The pages set by typst: the boxes drawn, no fields."""
    parts = [
        f"#set page(width: {A4.width}mm, height: {A4.height}mm, margin: 0pt)",
        '#set text(font: "Traveler Sans", top-edge: "ascender", bottom-edge: "descender")',
    ]
    for number, page in enumerate(pages):
        parts += ["#pagebreak()"] if number else []
        parts += [_typst_box(*square, ", fill: black") for square in squares(serial, number)]
        parts += [_typst_box(*box[2:], "") for box in page.boxes]
        for left, bottom, size, text in page.lines:
            said = " ".join(text.replace(like, serial).split()).replace("\\", "\\\\").replace('"', '\\"')
            parts.append(f'{_typst_at(left, bottom, size)}text(size: {max(size, 1):.2f}pt, "{said}"))')
    made: bytes = compiler.compile("\n".join(parts).encode())
    return made


def _typst_at(left: float, bottom: float, high: float) -> str:
    return f"#place(dx: {left:.3f}pt, dy: {A4.height * POINTS_PER_MM - bottom - high:.3f}pt, "


def _typst_box(left: float, bottom: float, wide: float, high: float, more: str) -> str:
    return f"{_typst_at(left, bottom, high)}rect(width: {wide:.3f}pt, height: {high:.3f}pt{more}))"


@pytest.mark.bench
def test_two_hundred_travelers_stamped_against_three_ways_of_rendering(tmp_path: Path) -> None:
    import pypdfium2
    import typst

    session = opened(set_up(tmp_path / "shop"))
    serials = issued(session, UNITS)
    context, jobs = PrintContext(session.shop, session.now), PrintJobs(session)
    wanted = [jobs.new(serial) for serial in serials]
    rendered = wanted[0].sheet.render(context, wanted[0].unit)
    pages = pages_of(rendered.pdf)

    weasyprint = seconds_each(
        lambda number: wanted[number].sheet.render(context, wanted[number].unit), RENDERS
    )
    fonts = [str(shipped_folder() / "fonts")]
    compiler = typst.Compiler(font_paths=fonts, ignore_system_fonts=True)
    by_lines = seconds_each(lambda number: by_typst(compiler, pages, serials[number], serials[0]), RENDERS)
    by_canvas = seconds_each(lambda number: by_reportlab(pages, serials[number], serials[0]), RENDERS)

    for made in (
        by_typst(compiler, pages, serials[1], serials[0]),
        by_reportlab(pages, serials[1], serials[0]),
    ):
        assert len(pypdfium2.PdfDocument(made)) == rendered.pages
        assert serials[1] in pypdfium2.PdfDocument(made)[0].get_textpage().get_text_range()

    one_core = seconds_each(_stamping(session, wanted), 1) / UNITS
    batch = _printing(session, serials)
    boxes = sum(len(page.boxes) for page in pages)
    print(f"\n{UNITS} travelers of {PRODUCT} {VARIANT}, {rendered.pages} pages and {boxes} boxes each")
    _line("WeasyPrint, each rendered", weasyprint, weasyprint)
    _line("reportlab, same pages with fields", by_canvas, weasyprint)
    _line("typst, same pages without fields", by_lines, weasyprint)
    _line("stamped, files written, one core", one_core, weasyprint)
    print(f"  stamping is {weasyprint / one_core:.0f} × WeasyPrint, {by_canvas / one_core:.1f} × reportlab, "
          f"{by_lines / one_core:.1f} × typst (one core each)")  # fmt: skip
    print(f"  the whole job, {UNITS} files from nothing, processes started and the master made and checked: "
          f"{batch:.2f} s, {UNITS / batch:.1f}/s, {weasyprint * UNITS / batch:.0f} × WeasyPrint")  # fmt: skip


def _line(name: str, each: float, base: float) -> None:
    print(f"  {name:36} {each * 1000:9.2f} ms each {1 / each:9.1f}/s   {base / each:7.1f} ×")


def _stamping(session: Session, wanted: list[PrintJob]) -> Callable[[int], None]:
    """Stamps all units and writes their files, in this process, from a master that is there."""
    from traveler.sheets.batch.templates import CHUNK, portions, stamp_files

    context, first = PrintContext(session.shop, session.now), wanted[0]
    stamp = master(
        taken_apart(
            lambda unit: first.sheet.render(context, unit), first.unit, session.shop.settings,
            first.sheet.plan.gtin, context.templates,
        )
    )  # fmt: skip

    def run(number: int) -> None:
        for portion in portions(wanted, CHUNK):
            folder = session.shop.folder / f"bench-{number}"
            stamp_files(stamp, [(wish.unit, folder / wish.unit.serial / "traveler.pdf") for wish in portion])

    return run


def _printing(session: Session, serials: tuple[str, ...]) -> float:
    start = time.perf_counter()
    printed = list(print_new(session, serials))
    taken = time.perf_counter() - start
    assert sum(len(printout.files) for printout in printed) == len(serials)
    return taken


@pytest.mark.bench
def test_two_thousand_travelers_and_the_memory_they_take(tmp_path: Path) -> None:
    print()
    for count in (UNITS, MANY):
        folder = set_up(tmp_path / f"shop-{count}")
        with opened(folder).store:
            pass
        told = subprocess.run(
            [sys.executable, __file__, str(folder), str(count)], capture_output=True, text=True, check=True
        )
        print(told.stdout.rstrip())


def _measured(folder: Path, count: int) -> None:
    """Prints so many in a process of its own, and tells time and memory."""
    import resource

    session = opened(folder)
    serials = issued(session, count)
    taken = _printing(session, serials)
    own = next(
        line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM")
    )
    printing = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = sum(sum(resource.getrusage(who)[:2]) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    print(f"  {count} travelers printed in {taken:.1f} s ({count / taken:.0f}/s)")
    print(f"    {cpu:.1f} s of CPU with the issue; largest {int(own.split()[1]) / 1024:.0f} MB in the job,")
    print(f"    {printing.ru_maxrss / 1024:.0f} MB in a process that prints")


if __name__ == "__main__":
    _measured(Path(sys.argv[1]), int(sys.argv[2]))
