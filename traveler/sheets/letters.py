"""Letters to customers as a table: a row for each, with its text, for a mail merge."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import astuple, dataclass, fields

from traveler.files import CSV_MARK, csv_text
from traveler.finding import CannotDo

LETTER = (
    "We are looking into a complaint about machines built with the same parts or measured with the same "
    "gauge as yours: {product}, serial {serial}, which left us on {day}. Please call us before you use it "
    "further. You need do nothing else now. {shop}"
)
"""What stands in a letter; the gaps customer, serial, product, day and shop are filled in."""

_GAP = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True, slots=True)
class Letter:
    """One letter: to whom, about which unit, and its text. The names are those of the columns."""

    customer: str
    serial: str
    product: str
    variant: str
    shipped: str
    carrier: str
    reference: str
    complained: str
    text: str


def letter_text(text: str, **gaps: str) -> str:
    """The text with its gaps filled.

    Raises:
        CannotDo: it has a gap that nothing fills.
    """
    unknown = [name for name in _GAP.findall(text) if name not in gaps]
    if unknown:
        what = f"the text of the letter has a gap that nothing fills: {{{unknown[0]}}}"
        raise CannotDo(what, f"gaps are {', '.join(f'{{{name}}}' for name in gaps)}")
    return _GAP.sub(lambda found: gaps[found[1]], text)


def letters_csv(letters: Iterable[Letter]) -> bytes:
    """The letters as CSV (RFC 4180, UTF-8 with its mark)."""
    head = [field.name for field in fields(Letter)]
    return (CSV_MARK + csv_text([head, *(astuple(letter) for letter in letters)])).encode()
