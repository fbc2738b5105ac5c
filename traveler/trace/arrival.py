"""What a customer read on arrival against what the unit left with: changed on the way, or not?

Both readings are uncertain, and so is their difference: U² = U₁² + U₂² for readings that do not depend on
each other (JCGM 100:2008 clause 5.1.2, both with k = 2). A change no larger than that cannot be told.
Where the customer does not say how good the gauge is, it is taken to be as good as ours, and this is said.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from traveler.measure.limits import Limits
from traveler.measure.number import exact_text, shown
from traveler.trace.statistics.exact import root, rounded


@dataclass(frozen=True, slots=True)
class ArrivalValue:
    """One check as shipped and as found. All numbers are exact and in the unit of the limits.

    ``ours`` and ``theirs`` are expanded uncertainties with k = 2, None where not known. ``shipped`` is None
    where nothing stands in the slot.
    """

    slot: str
    label: str
    unit: str
    decimals: int
    limits: Limits | None
    shipped: Fraction | None
    found: Fraction
    ours: Fraction | None = None
    theirs: Fraction | None = None

    @property
    def change(self) -> Fraction | None:
        """Found less shipped."""
        return None if self.shipped is None else self.found - self.shipped

    @property
    def squared(self) -> Fraction | None:
        """The square of the expanded uncertainty of the change; None where ours is not known."""
        if self.ours is None:
            return None
        theirs = self.ours if self.theirs is None else self.theirs
        return self.ours**2 + theirs**2

    @property
    def changed(self) -> bool | None:
        """Whether it changed by more than the uncertainty explains; None where that cannot be told."""
        if self.change is None or self.squared is None:
            return None
        return self.change**2 > self.squared

    @property
    def inside(self) -> bool | None:
        """Whether the value found is inside the limits of the check; None where it has none."""
        return None if self.limits is None else not self.excess

    @property
    def excess(self) -> Fraction:
        """How far the value found lies above the upper limit, or (negative) below the lower one."""
        upper, lower = (self.limits.upper, self.limits.lower) if self.limits else (None, None)
        if upper is not None and self.found > upper:
            return self.found - upper
        if lower is not None and self.found < lower:
            return self.found - lower
        return Fraction(0)

    @property
    def sentence(self) -> str:
        """All of it in plain words."""
        return f"{self.label}: {'; '.join(part for part in (self._change(), self._limits()) if part)}."

    def _change(self) -> str:
        found = f"{self._number(self.found)} {self.unit}"
        if self.shipped is None or self.change is None:
            return f"found {found}; what it left with is not recorded"
        if not self.change:
            return f"found {found}, as it left"
        sign = "+" if self.change > 0 else "−"
        by = f"changed by {sign}{self._number(abs(self.change))} {self.unit} since it left"
        return f"{by} ({self._number(self.shipped)} → {found}), {self._doubt()}"

    def _doubt(self) -> str:
        if self.squared is None:
            return "and how far the gauges may be out is not known"
        most = f"± {shown(Fraction(rounded(root(self.squared), 2)), 0)} {self.unit}"
        taken = "" if self.theirs is not None else ", taking the customer's gauge to be as good as ours"
        if self.changed:
            return f"more than the gauges can explain ({most}{taken})"
        return f"which the gauges alone can explain ({most}{taken})"

    def _limits(self) -> str:
        if self.limits is None:
            return ""
        if not self.excess:
            return f"inside {self.limits.text}"
        side = "over" if self.excess > 0 else "under"
        return f"outside {self.limits.text} by {self._number(abs(self.excess))} {self.unit} ({side})"

    def _number(self, value: Fraction) -> str:
        return shown(value, self.decimals)

    def as_dict(self) -> dict[str, object]:
        """For ``--json``: numbers as exact text."""

        def text(value: Fraction | None) -> str | None:
            return None if value is None else exact_text(value, self.decimals)

        return {
            "slot": self.slot,
            "label": self.label,
            "unit": self.unit,
            "limits": self.limits.text if self.limits else None,
            "shipped": text(self.shipped),
            "found": text(self.found),
            "change": text(self.change),
            "uncertainty_shipped": text(self.ours),
            "uncertainty_found": text(self.theirs),
            "changed": self.changed,
            "inside": self.inside,
            "sentence": self.sentence,
        }
