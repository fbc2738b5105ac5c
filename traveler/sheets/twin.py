"""A text in the two languages of a sheet: the first as it would stand alone, the second small beside it."""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup, escape

BESIDE = " / "
"""Between the two where there is only plain text: tooltips, words for who cannot see a picture."""


class Twin(str):
    """One text in two languages. As plain text it reads ``first / second``; a page sets it in two runs.

    The second run is an ``a`` element, which the sheets use for nothing else: the page engine writes no
    language into its tags, ``tags.py`` finds the second language by this element and names it.
    """

    __slots__ = ("first", "language", "second")
    first: str
    second: str
    language: str

    def __new__(cls, first: str, second: str, language: str) -> Twin:
        """The text ``first`` with ``second`` beside it, which is in ``language``."""
        made = super().__new__(cls, f"{first}{BESIDE}{second}")
        made.first, made.second, made.language = first, second, language
        return made

    @property
    def other(self) -> Markup:
        """The second text as a run of its language."""
        return Markup('<a class="second" lang="{}">{}</a>').format(self.language, self.second)

    def __html__(self) -> Markup:
        """Both texts for a page."""
        return Markup("{} {}").format(escape(self.first), self.other)


def twin(first: str, second: str, language: str) -> str:
    """Both texts, or the one where they are the same."""
    return first if first == second else Twin(first, second, language)


def first(text: str) -> str:
    """The text in the first language of the sheet."""
    return text.first if isinstance(text, Twin) else text


def second(text: str) -> str:
    """The run in the second language of the sheet; empty where there is one language or one text."""
    return text.other if isinstance(text, Twin) else ""


def seconds(texts: Iterable[str]) -> tuple[str, ...]:
    """The runs in the second language of those texts that have one."""
    return tuple(run for text in texts if (run := second(text)))


def plain(text: str) -> str:
    """Both texts without any markup, for what is no part of a page's text."""
    return str(text)
