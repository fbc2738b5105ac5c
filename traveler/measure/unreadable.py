"""The one thing that every parser of this room raises: text that cannot be read, with what to do about it."""

from __future__ import annotations


class Unreadable(ValueError):  # noqa: N818 - it is said of a text, not of the program
    """Text (a number, a unit, limits) that cannot be read, or values that do not go together.

    Whoever calls a parser turns this into a finding with a place. ``code`` is three letters and three
    digits (``docs/measurement.md``), ``what`` says what was found and what was expected, ``hint`` what to
    write instead, ``span`` where in the text it lies (start, end), if that is known.
    """

    def __init__(self, code: str, what: str, hint: str = "", span: tuple[int, int] | None = None) -> None:
        super().__init__(f"{code} {what}; {hint}" if hint else f"{code} {what}")
        self.code = code
        self.what = what
        self.hint = hint
        self.span = span
