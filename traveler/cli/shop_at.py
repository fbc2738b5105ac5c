"""From ``--shop``, the environment or the present folder to an open shop."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from traveler.cli.clock import now
from traveler.cli.present import CannotDo, Found
from traveler.finding import blocking

if TYPE_CHECKING:
    from traveler.shop.session import Session


def shop_folder(given: Path | None) -> Path:
    """The folder given, else the nearest one upwards with a ``shop.yaml``.

    Raises:
        CannotDo: there is no shop.
    """
    from traveler.shop.folder import SHOP_FILE, find_folder

    hint = "go into a shop's folder, name one with --shop DIR, or set one up with 'traveler set-up DIR'"
    if given is None:
        found = find_folder(Path.cwd())
        if found is None:
            what = f"there is no shop in {Path.cwd()} nor above it"
            raise CannotDo(what, hint)
        return found
    if not (given / SHOP_FILE).is_file():
        what = f"there is no shop in {given}: no {SHOP_FILE}"
        raise CannotDo(what, hint)
    return given


@contextmanager
def session_at(given: Path | None, language: str | None = None) -> Iterator[Session]:
    """The open shop; warnings about its files go to stderr, and its records are closed at the end.

    ``TRAVELER_DATABASE`` names other records than ``shop.yaml`` does; ``language`` is that of the sheets,
    where somebody asked for one.

    Raises:
        CannotDo: there is no shop, or no words for its sheets in this language.
        Found: its files have blocking findings.
        StoreTrouble: its records cannot be opened.
    """
    from traveler.jobs.open import open_session

    opened = open_session(shop_folder(given), now(), database=os.environ.get("TRAVELER_DATABASE") or None)
    if opened.session is None:
        raise Found(opened.findings)
    for finding in opened.findings:
        if not blocking([finding]):
            print(f"{finding} ({finding.weight})", file=sys.stderr)
    with opened.session.store:
        yield opened.session if language is None else _speaking(opened.session, language)


def _speaking(session: Session, language: str) -> Session:
    from traveler.sheets.words import templates, why_not

    if problem := why_not(language, templates(session.shop.folder)):
        raise CannotDo(problem, "name one, like --language es, or two for one sheet, like es+en")
    return replace(session, language=language)
