"""What an entry says on a sheet of the record: who was stood in for, the PIN, what is measured again."""

from __future__ import annotations

import pytest

from traveler.record.entry import Decided, Noted, Released, Signed
from traveler.sheets.entry_text import entry_text
from traveler.sheets.templates import templates
from traveler.sheets.words import words

TOLD = {
    "en": [
        "signed",
        "signed, instead of qmoor",
        "released after 3 entries, last link abc, instead of qmoor, PIN checked",
        "decided on #4, rework, to be re-measured: runout, 30-4",
        "seen",
    ],
    "es": [
        "firma",
        "firma, en lugar de qmoor",
        "liberado tras 3 anotaciones, último eslabón abc, en lugar de qmoor, PIN comprobado",
        "decidido sobre #4, retrabajo, por volver a medir: runout, 30-4",
        "seen",
    ],
}
BODIES = (
    Signed(),
    Signed(instead_of="qmoor"),
    Released(head="abc", count=3, instead_of="qmoor", pin_checked=True),
    Decided(stop=4, decision="rework", measure_again=("runout", "30-4")),
    Noted(text="seen"),
)


@pytest.mark.parametrize("language", TOLD)
def test_it_is_said_in_the_language_of_the_sheet(language: str) -> None:
    say = words(language, templates())
    assert [entry_text(body, say) for body in BODIES] == TOLD[language]
