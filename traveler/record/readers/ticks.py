"""The words people and spreadsheets use for a tick, in English and Spanish."""

from __future__ import annotations

YES = frozenset({
    "yes", "y", "x", "ok", "okay", "on", "true", "done", "ticked", "checked",
    "✓", "✔", "☑", "☒", "✗", "✘", "×",
    "sí", "si", "s", "hecho", "verdadero", "correcto",
})  # fmt: skip
"""A mark of any shape in a box is a tick, a cross too."""

NO = frozenset({"no", "n", "off", "false", "not done", "☐", "-", "–", "—", "falso", "no hecho"})


def tick(text: str) -> bool | None:
    """True for a tick, False for a word that says there is none, None for anything else.

    >>> tick("Sí"), tick("no"), tick("0.05")
    (True, False, None)
    """
    word = text.strip().casefold().rstrip(".!")
    if word in YES or text.strip() in YES:
        return True
    return False if word in NO or text.strip() in NO else None
