"""The languages of a sheet: one, or two on one sheet for a crew that shares none (``es+en``)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from traveler.definition.words import languages_of

if TYPE_CHECKING:
    from traveler.sheets.resources import Templates

MOST = 2
"""Languages on one sheet; a third would leave no room for the work."""


def known_languages(templates: Templates) -> tuple[str, ...]:
    """The languages that have a catalogue, shipped or the shop's own, by name."""
    found = {
        catalogue.parent.parent.name
        for folder in templates.folders
        for catalogue in folder.glob("locale/*/LC_MESSAGES/sheets.po")
    }
    return tuple(sorted(found))


def why_not(text: str, templates: Templates) -> str | None:
    """Why sheets cannot be made in this language or pair of languages; None where they can."""
    asked, known = languages_of(text), known_languages(templates)
    unknown = [one for one in asked if one not in known]
    if unknown:
        return f"there are no words for sheets in '{unknown[0]}', only in {', '.join(known)}"
    if len(asked) > MOST:
        return f"a sheet speaks at most {MOST} languages, not {len(asked)}"
    return f"'{text}' names one language twice" if len(set(asked)) < len(asked) else None
