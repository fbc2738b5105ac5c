"""HTML to PDF by WeasyPrint. Nothing is fetched but the shop's own files; complaints become findings."""

from __future__ import annotations

import json
import logging
import threading
import warnings
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from urllib.parse import unquote

from traveler.definition.plan import Plan
from traveler.finding import Finding
from traveler.record.entry import Entry
from traveler.sheets.templates import Templates

if TYPE_CHECKING:
    from weasyprint import Document
    from weasyprint.urls import URLFetcher


@dataclass(frozen=True, slots=True)
class EmbeddedFile:
    """A file inside the PDF; ``relation`` says what it is to the sheet (PDF/A-3, AFRelationship)."""

    name: str
    content: bytes
    relation: str = "Source"


def attached_plan(plan: Plan) -> EmbeddedFile:
    """The plan as ``plan.json``; ``Plan.model_validate_json`` reads it back."""
    return EmbeddedFile("plan.json", (plan.model_dump_json(indent=1) + "\n").encode("utf-8"))


def attached_entries(entries: Iterable[Entry]) -> EmbeddedFile:
    """The entries as ``entries.json``, complete, in order; ``Entry.model_validate`` reads each back."""
    content = json.dumps([entry.model_dump(mode="json") for entry in entries], indent=1, ensure_ascii=False)
    return EmbeddedFile("entries.json", (content + "\n").encode("utf-8"), "Data")


@dataclass(frozen=True, slots=True)
class AssetSource:
    """What a page may ask for: ``shop:NAME`` from the templates, ``picture:NAME`` from the pictures given."""

    templates: Templates
    pictures: Mapping[str, tuple[bytes, str]]

    def take(self, url: str) -> tuple[bytes, str]:
        """Content and media type of the thing at this address.

        Raises:
            ValueError: any other address; WeasyPrint logs it and it becomes a finding.
        """
        scheme, _, name = url.partition(":")
        if scheme == "shop":
            return self.templates.read(name), "application/octet-stream"
        if scheme == "picture" and unquote(name) in self.pictures:
            return self.pictures[unquote(name)]
        msg = f"a sheet may not fetch {url}"
        raise ValueError(msg)


def fetcher(assets: AssetSource) -> URLFetcher:
    """WeasyPrint's way to these assets, and to nothing else."""
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class AssetFetcher(URLFetcher):  # type: ignore[misc]  # the library has no types
        def fetch(self, url: str, headers: object = None) -> URLFetcherResponse:  # noqa: ARG002 - the base's shape
            content, media = assets.take(url)
            return URLFetcherResponse(url, content, {"Content-Type": media})

    return AssetFetcher()


class _Listener(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.thread = threading.get_ident()
        self.heard: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        if threading.get_ident() == self.thread:
            self.heard.append(record.getMessage())


@contextmanager
def listening() -> Iterator[list[str]]:
    """What WeasyPrint (and the font library under it) complains about in this thread meanwhile."""
    listener = _Listener()
    loggers = [logging.getLogger(name) for name in ("weasyprint", "fontTools")]
    for logger in loggers:
        logger.addHandler(listener)
    try:
        yield listener.heard
    finally:
        for logger in loggers:
            logger.removeHandler(listener)


def complaints(heard: list[str], template: str) -> list[Finding]:
    """WeasyPrint's complaints as findings: a template or style sheet is wrong."""
    return [
        Finding(
            "SHT010",
            f"template {template}: {text}",
            hint="correct the template, style sheet or picture it names",
        )
        for text in dict.fromkeys(heard)
    ]


def lay_out_pages(html: str, assets: AssetSource) -> Document:
    """The pages of an HTML document, laid out."""
    from weasyprint import HTML
    from weasyprint.text.fonts import FontConfiguration

    page = HTML(string=html, base_url="shop:", url_fetcher=fetcher(assets))
    return page.render(font_config=FontConfiguration(), **OPTIONS)


def write_pdf(document: Document, attached: Iterable[EmbeddedFile], when: datetime) -> bytes:
    """The laid out pages as a PDF, with files attached; ``when`` (UTC) is their time."""
    from weasyprint import Attachment

    files = [
        Attachment(
            string=attached_file.content,
            name=attached_file.name,
            relationship=attached_file.relation,
            created=when,
            modified=when,
        )
        for attached_file in attached
    ]
    with warnings.catch_warnings():
        # WeasyPrint 70 leaves the file of its color profile to the garbage collector
        warnings.filterwarnings("ignore", "unclosed file .*sRGB2014", ResourceWarning)
        content: bytes = document.write_pdf(attachments=files, **OPTIONS)
    return content


OPTIONS = {"pdf_forms": True, "pdf_variant": "pdf/a-3a", "pdf_tags": True}
"""Tagged, with form fields, built as PDF/A-3a."""
