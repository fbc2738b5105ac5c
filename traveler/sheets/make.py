"""From a finished view model to a finished file: fill the template, lay out, write, postprocess."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from datetime import UTC
from functools import partial
from io import BytesIO
from typing import TYPE_CHECKING, Any

from markupsafe import Markup
from pydantic import BaseModel

from traveler.definition.plan import Plan
from traveler.finding import Finding, Weight, blocking
from traveler.sheets.pdf import codes as corners
from traveler.sheets.pdf import codes as overlay
from traveler.sheets.pdf import fonts
from traveler.sheets.pdf.codes import Address
from traveler.sheets.pdf.paper import Paper
from traveler.sheets.pdf.postprocess import TemplateFault, order_form, order_tags
from traveler.sheets.pdf.render import (
    AssetSource,
    EmbeddedFile,
    complaints,
    lay_out_pages,
    listening,
    write_pdf,
)
from traveler.sheets.pictures import Album, StepPicture
from traveler.sheets.sheet import Printing, Sheet
from traveler.sheets.templates import Templates
from traveler.sheets.views.boxes import Box, Form
from traveler.sheets.views.head import HeadView
from traveler.sheets.views.limits import LimitView
from traveler.sheets.views.steps import OperationView, continued_line
from traveler.sheets.words import (
    BESIDE,
    BilingualWords,
    Words,
    bilingual,
    first,
    plain_text,
    second,
    seconds,
    translated,
)

if TYPE_CHECKING:
    from jinja2 import Environment
    from pikepdf import Pdf


@dataclass(frozen=True, slots=True)
class Pairing:
    """Joins what the views of one sheet say in two languages; ``language`` is the second."""

    language: str

    def join(self, first: Any, other: Any) -> Any:
        """Both as one: of the same shape as ``one``; what has no counterpart stays as in ``one``."""
        if isinstance(first, Markup) and first.startswith("<svg"):
            return first  # a drawing is there once
        if isinstance(first, str):
            return bilingual(first, other, self.language)
        if isinstance(first, Box):
            filled = self.join(first.filled, other.filled)
            return replace(first, title=self._beside(first.title, other.title), filled=filled)
        if isinstance(first, StepPicture):
            return replace(first, words=self._beside(first.words, other.words))
        if isinstance(first, LimitView):
            return self._limits(first, other)
        if isinstance(first, HeadView):
            return self._head(first, other)
        if isinstance(first, OperationView):
            return self._operation(first, other)
        return self._inside(first, other)

    def form(self, first: Form, other: Form) -> Form:
        """The boxes of both, once each, with tooltips in both languages."""
        return Form({name: self.join(box, other.boxes[name]) for name, box in first.boxes.items()})

    def _inside(self, first: Any, other: Any) -> Any:
        if isinstance(first, tuple | list) and len(first) == len(other):
            return type(first)(self.join(*pair) for pair in zip(first, other, strict=True))
        if isinstance(first, Mapping):
            return {key: self.join(value, other[key]) for key, value in first.items()}
        if is_dataclass(first) and not isinstance(first, type):
            names = [field.name for field in fields(first)]
            return replace(first, **self._each(first, other, names))
        if isinstance(first, BaseModel):
            return first.model_copy(update=self._each(first, other, list(type(first).model_fields)))
        return first

    def _each(self, first: Any, other: Any, names: list[str]) -> dict[str, Any]:
        return {name: self.join(getattr(first, name), getattr(other, name)) for name in names}

    def _beside(self, first: str, other: str) -> str:
        return first if first == other else f"{first}{BESIDE}{other}"

    def _limits(self, first: LimitView, other: LimitView) -> LimitView:
        """Limits are printed once; what to accept when guarded is a sentence, and said in both languages."""
        return replace(first, accept=self.join(first.accept, other.accept))

    def _head(self, first: HeadView, other: HeadView) -> HeadView:
        """The head has fixed space: name of the sheet and the rule of the foot in both, the rest in one."""
        return replace(
            first, sheet=self._beside(first.sheet, other.sheet), rule=self.join(first.rule, other.rule)
        )

    def _operation(self, first: OperationView, other: OperationView) -> OperationView:
        names = [field.name for field in fields(first) if field.name != "continued"]
        both = f"{first.continued}{BESIDE}{other.continued.removeprefix(first.number).strip()}"
        differ = first.continued != other.continued
        shown = both if differ and continued_line().fits(both) else first.continued
        return replace(first, continued=shown, **self._each(first, other, names))


def postprocess(raw: bytes, request: Request, printing: Printing) -> bytes:
    """The finished file.

    Its identifier is a hash of its content, so the same content gives the same bytes.
    """
    import pikepdf

    with pikepdf.open(BytesIO(raw)) as pdf:
        order_form(pdf, request.form, printing.templates)
        order_tags(pdf, printing.languages[1] if printing.paired else "")
        _attached_once(pdf)
        if request.address is not None:
            overlay.mark_pages(pdf, request.address, request.paper or printing.paper, printing.templates)
        out = BytesIO()
        pdf.save(out, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return out.getvalue()


def _attached_once(pdf: Pdf) -> None:
    """WeasyPrint lists an associated file twice."""
    from pikepdf import Array

    if "/AF" in pdf.Root:
        pdf.Root.AF = Array({item.objgen: item for item in pdf.Root.AF}.values())


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
    attached: tuple[EmbeddedFile, ...] = ()
    paper: Paper | None = None
    findings: tuple[Finding, ...] = ()
    spelled: bool = False


Build = Callable[[Plan, Printing], Request]
"""What a sheet is made of in one language: the plan with its texts in it, and the print in it."""


def make_sheet(request: Request, printing: Printing) -> Sheet:
    """The sheet. With a blocking finding there is no PDF."""
    from jinja2 import TemplateError

    try:
        html = fill_template(request, printing)
    except (TemplateError, TypeError, ValueError, ArithmeticError, LookupError) as problem:
        return Sheet(b"", (*request.findings, template_fault(request.template, problem)))
    findings = [*request.findings, *request.album.findings, *_address(request.address)]
    strange = strange_characters(html, printing)
    if request.spelled:
        html = spelled_out(html, printing)
        strange = [replace(character, weight=Weight.WARNING) for character in strange]
    findings += strange
    if blocking(findings):
        return Sheet(b"", tuple(findings))
    try:
        return _write(html, request, printing, findings)
    except TemplateFault as fault:
        return Sheet(b"", (*findings, template_fault(request.template, fault)))


def make_in_each(build: Build, plan: Plan, printing: Printing) -> Sheet:
    """The sheet in its language, or in its two languages.

    ``build`` is asked once for each, with the plan whose texts are in that language (``plan`` where the
    print has none) and the print in that language alone.
    """
    shown = tuple(printing.texts) or (plan,) * len(printing.languages)
    request, *other = [
        build(text, printing.alone(language, text.names))
        for text, language in zip(shown, printing.languages, strict=True)
    ]
    return make_sheet(paired(request, other[0], printing) if other else request, printing)


def paired(first: Request, other: Request, printing: Printing) -> Request:
    """Two requests for the same sheet, each in one language, as one that says everything in both."""
    pairing = Pairing(printing.languages[1])
    return replace(
        first, context=pairing.join(first.context, other.context), form=pairing.form(first.form, other.form)
    )


def _write(html: str, request: Request, printing: Printing, findings: list[Finding]) -> Sheet:
    with listening() as heard:
        document = lay_out_pages(html, AssetSource(printing.templates, request.album.kept))
        pages = len(document.pages)
        if pages > corners.MOST_PAGES and request.form.boxes:
            findings.append(too_long(pages))
            return Sheet(b"", tuple(findings), pages)
        raw = write_pdf(document, request.attached, printing.printed.astimezone(UTC))
    findings += complaints(heard, request.template)
    if blocking(findings):
        return Sheet(b"", tuple(findings), pages)
    return Sheet(postprocess(raw, request, printing), tuple(findings), pages)


def page_environment(templates: Templates, words: Words | BilingualWords) -> Environment:
    """A Jinja environment.

    Undefined names fail, everything is escaped, ``_`` speaks the sheet's language.
    """
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader([str(folder) for folder in templates.folders]),
        undefined=StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["_"] = words
    environment.globals["icon"] = templates.icon
    environment.globals["spoken"] = partial(translated, say=words)
    environment.globals |= {
        "first": first,
        "second": second,
        "seconds": seconds,
        "plain": plain_text,
    }
    return environment


def fill_template(request: Request, printing: Printing) -> str:
    """The HTML of the sheet."""
    template = page_environment(printing.templates, printing.both).get_template(request.template)
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
            hint="write it another way in the definition",
        )
        for character in fonts.missing((html,), printing.templates)
    ]


def spelled_out(html: str, printing: Printing) -> str:
    """The HTML with each character that the shipped fonts lack written as its number, ``[U+4E2D]``."""
    lacking = fonts.missing((html,), printing.templates)
    return html.translate({ord(text): f"[U+{ord(text):04X}]" for text in lacking})


def template_fault(template: str, problem: Exception) -> Finding:
    """The finding for a template that fails: one of the shop's own is wrong."""
    name = getattr(problem, "name", None) or template
    line = getattr(problem, "lineno", None)
    return Finding(
        "SHT011",
        f"template {name}{f' line {line}' if line else ''}: {problem}",
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
