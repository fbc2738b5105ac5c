"""Whether a text fits a space of fixed size, by the widths of the shipped fonts; if not, what is cut."""

from __future__ import annotations

from dataclasses import dataclass

from traveler.sheets.fonts import Face

MM_PER_POINT = 25.4 / 72
CUT = "…"


@dataclass(frozen=True, slots=True)
class Space:
    """So many lines of a width in millimetres, set in one face at a size in points."""

    face: Face
    size: float
    width: float
    lines: int

    def fits(self, text: str) -> bool:
        """Whether the text fits, broken between words where it needs more than one line."""
        return self.needed(text) <= self.lines

    def needed(self, text: str) -> int:
        """How many lines the text takes; a word wider than a line is broken."""
        line, count = "", 1
        for word in text.split():
            longer = f"{line} {word}".strip()
            if self.wide(longer) <= self.width:
                line = longer
                continue
            count += 1 if line else 0
            line = word
            while self.wide(line) > self.width:
                line = line[self._breaks_at(line) :]
                count += 1
        return count

    def shortened(self, text: str) -> str:
        """The text, or as much of it as fits with an ellipsis."""
        if self.fits(text):
            return text
        kept = text
        while kept and not self.fits(kept.rstrip() + CUT):
            kept = kept[:-1]
        return kept.rstrip() + CUT

    def wide(self, text: str) -> float:
        """Width of the text on one line, in millimetres."""
        known = (self.face.widths.get(character, 1000) for character in text)
        return sum(known) / 1000 * self.size * MM_PER_POINT

    def _breaks_at(self, word: str) -> int:
        return next((end for end in range(len(word), 1, -1) if self.wide(word[:end]) <= self.width), 1)
