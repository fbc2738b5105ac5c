"""The words of the sheets, in one language or two; English is what the code says, catalogs translate it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from io import BytesIO

from markupsafe import Markup, escape

from traveler.definition.fields import languages_of
from traveler.definition.plan import Operation, Step, StepKind
from traveler.sheets.templates import Templates

BESIDE = " / "
"""Between the two where there is only plain text: tooltips, words for who cannot see a picture."""


class Bilingual(str):
    """One text in two languages. As plain text it reads ``first / second``; a page sets it in two runs.

    The second run is an ``a`` element, which the sheets use for nothing else: the page engine writes no
    language into its tags, ``order_tags`` finds the second language by this element and names it.
    """

    __slots__ = ("first", "language", "second")
    first: str
    second: str
    language: str

    def __new__(cls, first: str, second: str, language: str) -> Bilingual:
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


def bilingual(first: str, second: str, language: str) -> str:
    """Both texts, or the one where they are the same."""
    return first if first == second else Bilingual(first, second, language)


def first(text: str) -> str:
    """The text in the first language of the sheet."""
    return text.first if isinstance(text, Bilingual) else text


def second(text: str) -> str:
    """The run in the second language of the sheet; empty where there is one language or one text."""
    return text.other if isinstance(text, Bilingual) else ""


def seconds(texts: Iterable[str]) -> tuple[str, ...]:
    """The runs in the second language of those texts that have one."""
    return tuple(run for text in texts if (run := second(text)))


def plain_text(text: str) -> str:
    """Both texts without any markup, for what is not part of a page's text."""
    return str(text)


@dataclass(frozen=True, slots=True)
class Words:
    """One language. Calling it with an English text gives the text in that language."""

    language: str
    catalog: dict[str, str]
    names: Mapping[str, str] = field(default_factory=dict)
    """What the definition calls its positions, values and variables in this language."""

    def __call__(self, text: str, **values: object) -> str:
        """The text translated (or itself), with ``{names}`` replaced by ``values``."""
        translated = self.catalog.get(text) or text
        return translated.format(**values) if values else translated

    @property
    def second(self) -> str:
        """The second language of the sheet; one language has none."""
        return ""

    def known(self, text: str) -> bool:
        """Whether the catalog translates this text."""
        return bool(self.catalog.get(text))


@dataclass(frozen=True, slots=True)
class BilingualWords:
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
        return bilingual(self.one(text, **values), self.other(text, **values), self.second)


@lru_cache(maxsize=16)
def words(language: str, templates: Templates) -> Words:
    """The words of one language, from ``locale/LANGUAGE/LC_MESSAGES/sheets.po``."""
    from babel.messages.pofile import read_po

    path = templates.find(f"locale/{language}/LC_MESSAGES/sheets.po")
    if path is None:
        return Words(language, {})
    catalog = read_po(BytesIO(path.read_bytes()), locale=language)
    return Words(
        language,
        {
            str(message.id): str(message.string)
            for message in catalog
            if message.id and message.string and not message.fuzzy
        },
    )


TURN = re.compile(r"(?<![A-Za-z])turn(?![A-Za-z])")
PACKING, PIECE = "Packing list", "piece"
"""The two names that definitions get by themselves, in English."""
LIMIT_WORD = re.compile(
    r"^(?:max|min)\b\.?|(?<=\s)to(?=\s)|(?<=[^\d\s]\s)(?:max|min)\.?$|^chamfer\b|\bleg\b", re.IGNORECASE
)
"""The words of limits; ``min`` right behind a number is the unit of time."""


def translated(word: str, say: Words | BilingualWords) -> str:
    """A role, signal word, direction or kind of count in the language of the sheet; another word as it is."""
    return {
        "assembler": say("assembler"),
        "inspector": say("inspector"),
        "quality": say("quality"),
        "packer": say("packer"),
        "engineering": say("engineering"),
        "shipping": say("shipping"),
        "director": say("director"),
        "electrician": say("electrician"),
        "machinist": say("machinist"),
        "DANGER": say("DANGER"),
        "WARNING": say("WARNING"),
        "CAUTION": say("CAUTION"),
        "NOTICE": say("NOTICE"),
        "clockwise": say("clockwise"),
        "counterclockwise": say("counter-clockwise"),
        "good": say("good"),
        "rework": say("rework"),
        "scrap": say("scrap"),
    }.get(word, word)


def operation_title(operation: Operation, say: Words) -> str:
    """The title of an operation; the two that the tool adds by itself are said in the sheet's language."""
    return {"Q": say("Final checks"), "C": say("Crating")}.get(operation.number, operation.title)


def sheet_name(name: str, say: Words) -> str:
    """What a sheet is called, by the name of its file; another name as it is."""
    return {
        "traveler": say("Traveler"),
        "final-checklist": say("Final checks"),
        "crating-sheet": say("Crating"),
        "certificate": say("Quality certificate"),
        "arrival-check": say("Arrival check"),
        "packing-list": say("Packing list"),
        "unit-label": say("Unit label"),
        "crate-label": say("Crate label"),
        "record": say("Record"),
    }.get(name, name)


def step_text(step: Step, say: Words) -> str:
    """What a step says; the packing step that the tool adds by itself is said in the sheet's language."""
    ours = step.kind is StepKind.PACK and step.text == PACKING
    return say("Packing list") if ours else step.text


def position_name(name: str, say: Words) -> str:
    """What a position, a value of one or a variable is called on the sheet.

    As the definition's ``names`` say; the pieces of a lot are counted by the tool.
    """
    return say("piece") if name == PIECE else say.names.get(name, name)


def spoken_turn(quantity: str, say: Words) -> str:
    """A pitch or effect as written, with the unit ``turn`` in the language of the sheet."""
    return TURN.sub(say("turn"), quantity)


def spoken_limits(text: str, say: Words) -> str:
    """Limits as written, with their words (``max``, ``min``, ``to`` …) in the language of the sheet."""
    words = {
        "max": say("max"),
        "min": say("min"),
        "to": say("to"),
        "chamfer": say("chamfer"),
        "leg": say("leg"),
    }

    def spoken(found: re.Match[str]) -> str:
        word = words[found[0].lower().removesuffix(".")]
        return f"{word}." if found[0].endswith(".") and not word.endswith(".") else word

    return LIMIT_WORD.sub(spoken, text)


MOST = 2
"""Languages on one sheet; a third would leave no space for the work."""


def known_languages(templates: Templates) -> tuple[str, ...]:
    """The languages that have a catalog, shipped or the shop's own, by name."""
    found = {
        catalog.parent.parent.name
        for folder in templates.folders
        for catalog in folder.glob("locale/*/LC_MESSAGES/sheets.po")
    }
    return tuple(sorted(found))


def why_not(text: str, templates: Templates) -> str | None:
    """Why sheets cannot be made in this language or pair of languages; None where they can."""
    asked, known = languages_of(text), known_languages(templates)
    unknown = [code for code in asked if code not in known]
    if unknown:
        return f"there are no words for sheets in '{unknown[0]}', only in {', '.join(known)}"
    if len(asked) > MOST:
        return f"a sheet speaks at most {MOST} languages, not {len(asked)}"
    return f"'{text}' names one language twice" if len(set(asked)) < len(asked) else None
