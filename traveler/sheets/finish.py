"""From a finished view model to a finished file: fill the template, lay out, write, put the PDF in order."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC

from traveler.definition.plan import Plan
from traveler.finding import Finding, Weight, blocking
from traveler.sheets import corners, fonts
from traveler.sheets.attached import Attached
from traveler.sheets.boxes import Form
from traveler.sheets.form import TemplateFault
from traveler.sheets.pairing import Pairing
from traveler.sheets.paper import Paper
from traveler.sheets.pictures import Album
from traveler.sheets.put_in_order import put_in_order
from traveler.sheets.qr import Address
from traveler.sheets.render import Shelf, complaints, lay_out, listening, write
from traveler.sheets.sheet import Printing, Sheet


@dataclass(frozen=True, slots=True)
class Request:
    """All that a sheet is made of.

    Without ``address`` a page carries no marks; a label draws its own QR code. ``spelled``: characters that
    the fonts lack are spelled out rather than refused, for what was written by hand long ago.
    """

    template: str
    title: str
    context: Mapping[str, object]
    form: Form = field(default_factory=Form)
    album: Album = field(default_factory=Album)
    address: Address | None = None
    attached: tuple[Attached, ...] = ()
    paper: Paper | None = None
    findings: tuple[Finding, ...] = ()
    spelled: bool = False


Build = Callable[[Plan, Printing], Request]
"""What a sheet is made of in one language: the plan with its texts in it, and the print in it."""


def make(request: Request, printing: Printing) -> Sheet:
    """The sheet. With a blocking finding there is no PDF."""
    from jinja2 import TemplateError

    try:
        html = fill(request, printing)
    except (TemplateError, TypeError, ValueError, ArithmeticError, LookupError) as problem:
        return Sheet(b"", (*request.findings, template_fault(request.template, problem)))
    findings = [*request.findings, *request.album.findings, *_address(request.address)]
    strange = strange_characters(html, printing)
    if request.spelled:
        html = spelled_out(html, printing)
        strange = [replace(one, weight=Weight.WARNING, why=_SPELLED) for one in strange]
    findings += strange
    if blocking(findings):
        return Sheet(b"", tuple(findings))
    try:
        return _write(html, request, printing, findings)
    except TemplateFault as fault:
        return Sheet(b"", (*findings, template_fault(request.template, fault)))


def make_in_each(build: Build, plan: Plan, texts: Sequence[Plan], printing: Printing) -> Sheet:
    """The sheet in its language, or in its two languages.

    ``build`` is asked once for each, with the plan whose texts are in that language (``texts``; without
    them ``plan`` for each) and the print in that language alone.
    """
    shown = tuple(texts) or (plan,) * len(printing.languages)
    one, *other = [
        build(one, printing.alone(language, one.names))
        for one, language in zip(shown, printing.languages, strict=True)
    ]
    return make(paired(one, other[0], printing) if other else one, printing)


def paired(one: Request, other: Request, printing: Printing) -> Request:
    """Two requests for the same sheet, each in one language, as one that says everything in both."""
    pairing = Pairing(printing.languages[1])
    return replace(
        one, context=pairing.join(one.context, other.context), form=pairing.form(one.form, other.form)
    )


def _write(html: str, request: Request, printing: Printing, findings: list[Finding]) -> Sheet:
    with listening() as heard:
        document = lay_out(html, Shelf(printing.templates, request.album.kept))
        pages = len(document.pages)
        if pages > corners.MOST_PAGES and request.form.boxes:
            findings.append(too_long(pages))
            return Sheet(b"", tuple(findings), pages)
        raw = write(document, request.attached, printing.printed.astimezone(UTC))
    findings += complaints(heard, request.template)
    if blocking(findings):
        return Sheet(b"", tuple(findings), pages)
    return Sheet(put_in_order(raw, request, printing), tuple(findings), pages)


def fill(request: Request, printing: Printing) -> str:
    """The HTML of the sheet."""
    template = printing.templates.environment(printing.both).get_template(request.template)
    return template.render(
        language=printing.spoken,
        languages=printing.languages,
        title=request.title,
        shop=printing.settings.name,
        paper=request.paper or printing.paper,
        printed=printing.printed.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        **request.context,
    )


def strange_characters(html: str, printing: Printing) -> list[Finding]:
    """A finding for each character the shipped fonts lack."""
    return [
        Finding(
            "SHT001",
            f"character {character!r} (U+{ord(character):04X}) is not in the shop's fonts",
            why="it would be printed in whatever font the machine has, or as an empty box",
            hint="write it another way in the definition",
        )
        for character in fonts.missing((html,), printing.templates)
    ]


def spelled_out(html: str, printing: Printing) -> str:
    """The HTML with each character that the shipped fonts lack written as its number, ``[U+4E2D]``."""
    lacking = fonts.missing((html,), printing.templates)
    return html.translate({ord(one): f"[U+{ord(one):04X}]" for one in lacking})


_SPELLED = "the sheet spells it as its number; the entry attached to it has the character"


def template_fault(template: str, problem: Exception) -> Finding:
    """The finding for a template that fails: one of the shop's own is wrong."""
    name = getattr(problem, "name", None) or template
    line = getattr(problem, "lineno", None)
    return Finding(
        "SHT011",
        f"template {name}{f' line {line}' if line else ''}: {problem}",
        why="there is no sheet without it",
        hint="correct the template, or take it out of the shop's templates/ to print with the shipped one",
    )


def too_long(pages: int) -> Finding:
    """The finding for a form with more pages than there are corner marks."""
    return Finding(
        "SHT005",
        f"the sheet has {pages} pages, at most {corners.MOST_PAGES} can be marked",
        hint="split the product into parts with travelers of their own",
    )


def _address(address: Address | None) -> list[Finding]:
    if address is None or not address.problem:
        return []
    return [
        Finding(
            "SHT004",
            f"{address.problem}; the code says {address.start}/PAGE instead",
            weight=Weight.WARNING,
            hint="shorten base_url in shop.yaml",
        )
    ]
