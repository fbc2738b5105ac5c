"""Writing a dossier: PDF, an HTML page that stands for itself, JSON; each whole or not at all."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

from traveler.files import write_whole
from traveler.finding import CannotDo, Finding, Place, Weight
from traveler.record.errors import StoreError
from traveler.result import Result
from traveler.sheets.batch.catalog import SHEETS
from traveler.sheets.batch.requests import unit_header
from traveler.sheets.dossier import dossier_page, dossier_pdf, dossier_printing, row_names
from traveler.sheets.pictures import usable
from traveler.sheets.words import templates
from traveler.shop.session import Session
from traveler.trace.dossier.gather import dossier
from traveler.trace.dossier.pages import view_of
from traveler.trace.dossier.result import Dossier, PhotoShown
from traveler.trace.judging import judge
from traveler.verdict.judge import Judged

FORMATS = ("pdf", "html", "json")


@dataclass(frozen=True, slots=True)
class DossierWritten(Result):
    """The dossier and its files; the filled record lies beside the PDF."""

    json_keys: ClassVar[str] = "files dossier=found"

    found: Dossier
    files: tuple[Path, ...]
    findings: tuple[Finding, ...]


def chosen_formats(text: str) -> tuple[str, ...]:
    """``pdf,html`` as formats, each once.

    Raises:
        CannotDo: one of them is none.
    """
    asked = tuple(dict.fromkeys(part.strip().lower() for part in text.split(",") if part.strip()))
    unknown = [code for code in asked if code not in FORMATS]
    if unknown or not asked:
        what = f"there is no format {unknown[0]!r}" if unknown else "no format is named"
        raise CannotDo(what, f"formats are {', '.join(FORMATS)}")
    return asked


def write_dossier(
    session: Session, serial: str, *, to: Path | None = None, formats: Sequence[str] = FORMATS
) -> DossierWritten:
    """Gathers the dossier and writes it, into ``to`` or where the unit's sheets are.

    Findings: CAS007 a photograph of the record that cannot be shown (warning); those of the sheet.

    Raises:
        CannotDo: no unit of this serial was issued here.
        StoreTrouble: its records cannot be read.
        OSError: the files cannot be written.
    """
    with session.store.reading() as records:
        found = dossier(session, records, serial)
        judged = judge(session, records, serial)
    folder = to if to is not None else session.shop.output / serial
    kept, findings = _pictures(session, serial, found.photos)
    content = (json.dumps(found.as_dict(), ensure_ascii=False, indent=1) + "\n").encode()
    files: list[Path] = []
    if "pdf" in formats or "html" in formats:
        pages, more = _pages(session, judged, found, kept, content, formats)
        findings += more
        files += [write_whole(folder / name, page) for name, page in pages]
    if "json" in formats:
        files.append(write_whole(folder / "dossier.json", content))
    return DossierWritten(found, tuple(files), tuple(findings))


def _pages(
    session: Session,
    judged: Judged,
    found: Dossier,
    kept: Mapping[str, tuple[bytes, str]],
    content: bytes,
    formats: Sequence[str],
) -> tuple[list[tuple[str, bytes]], list[Finding]]:
    shop = session.shop
    printing = dossier_printing(shop.settings, session.now, templates(shop.folder))
    shown = unit_header(session, judged.unit, judged.entries)
    view = view_of(found, shown.issued, row_names(printing))
    pages, findings = [], []
    if "pdf" in formats:
        sheet = dossier_pdf(judged.plan, shown, view, kept, content, printing)
        findings += list(sheet.findings)
        if sheet.printed:
            pages.append(("dossier.pdf", sheet.pdf))
        record = SHEETS["record"].render(session, judged, 1)
        findings += list(record.findings)
        if record.printed:
            pages.append(("dossier-record.pdf", record.pdf))
    if "html" in formats:
        pages.append(("dossier.html", dossier_page(judged.plan, shown, view, kept, printing)))
    return pages, findings


def _pictures(
    session: Session, serial: str, photos: Sequence[PhotoShown]
) -> tuple[dict[str, tuple[bytes, str]], list[Finding]]:
    """SHA-256 → the photograph as it goes into a page."""
    kept: dict[str, tuple[bytes, str]] = {}
    findings: list[Finding] = []
    for digest, name in dict.fromkeys((photo.digest, photo.name) for photo in photos):
        if digest is None:
            continue
        try:
            made = usable(session.store.attachments.get(digest))
        except StoreError as problem:
            made = problem.what
        if isinstance(made, str):
            what = f"photograph {name or digest[:12]} {made}"
            findings.append(Finding("CAS007", what, Place(unit=serial), Weight.WARNING))
        else:
            kept[digest] = made
    return kept, findings
