"""The words of the sheets in the language of the shop.

English is what the code says; catalogues translate it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from io import BytesIO

from traveler.sheets.resources import Templates
from traveler.sheets.twin import twin


@dataclass(frozen=True, slots=True)
class Words:
    """One language. Calling it with an English text gives the text in that language."""

    language: str
    catalogue: dict[str, str]
    names: Mapping[str, str] = field(default_factory=dict)
    """What the definition calls its positions, values and variables in this language."""

    def __call__(self, text: str, **values: object) -> str:
        """The text translated (or itself), with ``{names}`` replaced by ``values``."""
        translated = self.catalogue.get(text) or text
        return translated.format(**values) if values else translated

    @property
    def second(self) -> str:
        """The second language of the sheet; one language has none."""
        return ""

    def known(self, text: str) -> bool:
        """Whether the catalogue translates this text."""
        return bool(self.catalogue.get(text))


@dataclass(frozen=True, slots=True)
class TwoWords:
    """Two languages at once, for the words that templates add. The first is printed large."""

    one: Words
    other: Words

    @property
    def language(self) -> str:
        """The first language."""
        return self.one.language

    @property
    def second(self) -> str:
        """The second language."""
        return self.other.language

    def __call__(self, text: str, **values: object) -> str:
        """The text in both languages, each with ``{names}`` replaced by ``values``."""
        return twin(self.one(text, **values), self.other(text, **values), self.second)


@lru_cache(maxsize=16)
def words(language: str, templates: Templates) -> Words:
    """The words of one language, from ``locale/LANGUAGE/LC_MESSAGES/sheets.po``."""
    from babel.messages.pofile import read_po

    path = templates.find(f"locale/{language}/LC_MESSAGES/sheets.po")
    if path is None:
        return Words(language, {})
    catalogue = read_po(BytesIO(path.read_bytes()), locale=language)
    return Words(
        language,
        {
            str(message.id): str(message.string)
            for message in catalogue
            if message.id and message.string and not message.fuzzy
        },
    )
