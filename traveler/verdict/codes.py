"""How much a finding of the verdict weighs in a shop."""

from __future__ import annotations

from traveler.finding import Finding, Place, Weight, finding_codes
from traveler.shop.settings import Settings

_RANK = {Weight.NOTE: 0, Weight.WARNING: 1, Weight.BLOCKING: 2}

CODES = {code: kind for code, kind in finding_codes().items() if kind.verdict}
"""The findings that a verdict can raise."""


def weigh(code: str, settings: Settings) -> Weight:
    """The weight of a finding in this shop: its own, or the shop's, which cannot lower a firm one."""
    own = CODES[code]
    wanted = settings.weights.get(code, own.weight)
    return own.weight if own.firm and _RANK[wanted] < _RANK[own.weight] else wanted


def refused_weights(settings: Settings) -> list[Finding]:
    """What is wrong with ``weights`` in the shop's settings; place is the key (GAT005, GAT006)."""
    findings = []
    for code, wanted in settings.weights.items():
        place = Place(slot=f"weights.{code}")
        if code not in CODES:
            text = f"weights: there is no finding {code} of a verdict"
            findings.append(Finding("GAT006", text, place, hint="see docs/findings.md"))
        elif weigh(code, settings) is not wanted:
            text = f"weights: {code} ({CODES[code].title}) is {CODES[code].weight}; found {wanted}"
            findings.append(Finding("GAT005", text, place, hint="leave the line out"))
    return findings
