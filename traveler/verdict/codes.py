"""The findings a verdict can raise: what each is called, how much it weighs, why it matters.

One table, read by the verdict, by the gate and by the tests that compare it with ``docs/findings.md``.
"""

from __future__ import annotations

from dataclasses import dataclass

from traveler.finding import Finding, Place, Weight
from traveler.shop.settings import Settings

BLOCKING, WARNING, NOTE = Weight.BLOCKING, Weight.WARNING, Weight.NOTE
FIRM = True
"""Marks findings about safety or identity: a shop may raise their weight but never lower it."""

_RANK = {NOTE: 0, WARNING: 1, BLOCKING: 2}


@dataclass(frozen=True, slots=True)
class FindingCode:
    """One kind of finding. ``firm``: its weight cannot be lowered."""

    weight: Weight
    title: str
    why: str
    firm: bool = False


CODES: dict[str, FindingCode] = {
    # what is not there yet
    "MIS001": FindingCode(NOTE, "open slots", "work of this operation is still to be done"),
    "MIS002": FindingCode(BLOCKING, "skipped slots", "later work was closed although this is still open"),
    "MIS003": FindingCode(NOTE, "operation not begun", "nothing of this operation is recorded yet"),
    "MIS004": FindingCode(NOTE, "signature open", "an operation counts as complete when it is signed"),
    # entries and slots
    "ENT001": FindingCode(
        BLOCKING, "no such slot", "an entry for a slot the plan does not have proves nothing"
    ),
    "ENT002": FindingCode(BLOCKING, "entry does not fit the slot", "the slot asks for something else"),
    "ENT003": FindingCode(
        BLOCKING, "strike-out refused", "this kind of entry cannot be taken back by a strike-out"
    ),
    "ENT004": FindingCode(
        BLOCKING, "strikes out nothing", "a correction must name an earlier entry of the unit"
    ),
    # readings
    "REA001": FindingCode(
        BLOCKING, "reading out of tolerance", "the machine does not meet its specification", FIRM
    ),
    "REA002": FindingCode(
        BLOCKING,
        "reading in the guard band",
        "inside the specification by less than the gauge's uncertainty: conformance is not shown",
    ),
    "REA003": FindingCode(BLOCKING, "unit missing", "a number without a unit can mean anything", FIRM),
    "REA004": FindingCode(BLOCKING, "unit of another dimension", "the reading measures something else", FIRM),
    "REA005": FindingCode(BLOCKING, "value not understood", "only a readable number can be judged", FIRM),
    "REA006": FindingCode(
        WARNING, "implausible reading", "so far off, the unit or the decimal point is wrong"
    ),
    "REA007": FindingCode(
        WARNING, "finer than the gauge resolves", "digits the gauge cannot show were not read on it"
    ),
    "REA008": FindingCode(
        WARNING, "gauge too coarse for the tolerance", "a step of the gauge eats a tenth of it or more"
    ),
    "REA009": FindingCode(
        WARNING, "identical readings", "real readings scatter; these may have been copied down"
    ),
    "REA010": FindingCode(
        WARNING, "adjusted without as-found reading", "the state before the adjustment is lost"
    ),
    "REA011": FindingCode(BLOCKING, "no acceptance zone left", "the guard band is wider than the tolerance"),
    "REA012": FindingCode(
        BLOCKING, "uncertainty not known", "the guarded rule needs the gauge's uncertainty"
    ),
    "REA013": FindingCode(BLOCKING, "cannot be worked out", "the readings do not give the value asked for"),
    "REA014": FindingCode(BLOCKING, "confirmed as not so", "the statement to be confirmed is not true", FIRM),
    "REA015": FindingCode(
        BLOCKING, "limits not understood", "a reading cannot be judged against unreadable limits"
    ),
    # gauges
    "GAU001": FindingCode(BLOCKING, "gauge not named", "a reading must be traceable to a calibrated gauge"),
    "GAU002": FindingCode(
        BLOCKING, "gauge unknown", "the register does not know it, so nothing calibrated it"
    ),
    "GAU003": FindingCode(BLOCKING, "gauge of another kind", "the check asks for another kind of gauge"),
    "GAU004": FindingCode(BLOCKING, "gauge past due", "on that day its calibration had run out"),
    "GAU005": FindingCode(BLOCKING, "gauge withdrawn", "it was taken out of use"),
    "GAU006": FindingCode(
        WARNING, "gauge too uncertain", "its uncertainty uses up too much of the tolerance"
    ),
    "GAU007": FindingCode(
        BLOCKING, "gauge without good calibration", "nothing shows that it measured right that day"
    ),
    "GAU008": FindingCode(WARNING, "outside the gauge's range", "a gauge is calibrated for its range only"),
    # persons
    "PER001": FindingCode(BLOCKING, "person unknown", "a record must say who", FIRM),
    "PER002": FindingCode(
        BLOCKING, "person without the role", "this needs a role they did not hold that day", FIRM
    ),
    "PER003": FindingCode(BLOCKING, "person had left", "nobody signs after their last day", FIRM),
    "PER004": FindingCode(
        BLOCKING, "builder inspecting own work", "a second pair of eyes is the point", FIRM
    ),
    "PER005": FindingCode(
        BLOCKING, "released by a builder", "release is by someone who signed no build operation", FIRM
    ),
    # order and time
    "SEQ001": FindingCode(
        BLOCKING, "signed before its steps are complete", "a signature says that all of it is done"
    ),
    "SEQ002": FindingCode(
        BLOCKING, "operations signed out of order", "the next operation builds on the one before"
    ),
    "SEQ003": FindingCode(BLOCKING, "work past a hold point", "work stops there until it is witnessed", FIRM),
    "SEQ004": FindingCode(BLOCKING, "dated before issue", "the unit did not exist yet"),
    "SEQ005": FindingCode(BLOCKING, "dated in the future", "work cannot be recorded before it is done"),
    "SEQ006": FindingCode(
        WARNING, "out of order in time", "two entries of a slot contradict their order of recording"
    ),
    "SEQ007": FindingCode(
        NOTE, "recorded late", "what is written long after the work is remembered, not observed"
    ),
    "SEQ008": FindingCode(WARNING, "packed before release", "nothing is crated before quality released it"),
    "SEQ009": FindingCode(
        WARNING, "written after release", "the certificate shows what stood at the release"
    ),
    "SEQ010": FindingCode(
        BLOCKING, "step of life out of order", "release, crate, stock, shipment follow in this order", FIRM
    ),
    # parts
    "PAR001": FindingCode(BLOCKING, "traced part missing", "a recall could not find this unit", FIRM),
    "PAR002": FindingCode(BLOCKING, "part serial fitted elsewhere", "one part cannot be in two units", FIRM),
    "PAR003": FindingCode(BLOCKING, "lot on hold", "the lot must not be used until it is decided on", FIRM),
    "PAR004": FindingCode(WARNING, "lot unknown", "where it came from cannot be traced"),
    "PAR005": FindingCode(BLOCKING, "part serial fitted twice", "one part cannot sit in two places", FIRM),
    "PAR006": FindingCode(BLOCKING, "serial or lot confused", "the part is traced the other way", FIRM),
    "PAR007": FindingCode(BLOCKING, "another part number", "the plan asks for another part", FIRM),
    # nonconformance
    "NON001": FindingCode(BLOCKING, "open nonconformance", "stopped, and not yet decided on", FIRM),
    "NON002": FindingCode(
        BLOCKING, "use as is without concession", "a deviation needs somebody's written consent", FIRM
    ),
    "NON003": FindingCode(
        BLOCKING, "rework without a new reading", "nothing shows that the rework helped", FIRM
    ),
    "NON004": FindingCode(
        BLOCKING, "decision on nothing", "a decision must name an earlier stop of this unit"
    ),
    "NON005": FindingCode(BLOCKING, "scrapped", "a scrapped unit goes no further", FIRM),
    "NON006": FindingCode(NOTE, "used as is under concession", "out of the limits, and accepted in writing"),
    "NON007": FindingCode(
        BLOCKING, "returned to the supplier", "it is not here; decide again when it is back", FIRM
    ),
    "NON008": FindingCode(WARNING, "worked on while stopped", "what was built on may hide what was stopped"),
    # identity
    "IDN001": FindingCode(
        BLOCKING, "wrong check character", "a mistyped serial points at another machine", FIRM
    ),
    "IDN002": FindingCode(BLOCKING, "sheet of another revision", "the sheet asked for something else", FIRM),
    "IDN003": FindingCode(
        BLOCKING, "definition digest differs", "not the definition the unit was issued with", FIRM
    ),
    "IDN004": FindingCode(BLOCKING, "entry of another unit", "it belongs to another machine", FIRM),
    "IDN005": FindingCode(BLOCKING, "never issued", "a unit begins with its issue", FIRM),
    "IDN006": FindingCode(BLOCKING, "plan of another product or variant", "judged by the wrong plan", FIRM),
    "IDN007": FindingCode(
        BLOCKING, "sealed record differs", "entries before the release were changed or removed", FIRM
    ),
    # packing
    "PAC001": FindingCode(BLOCKING, "packing item missing", "the customer would miss it"),
    "PAC002": FindingCode(
        BLOCKING, "gross mass outside expectation", "something is missing, or should not be in there"
    ),
    "PAC003": FindingCode(
        BLOCKING, "wood mark missing", "untreated wood is turned back at borders (ISPM 15)"
    ),
    "PAC004": FindingCode(BLOCKING, "photo missing", "nothing shows how it left"),
    # lots of parts
    "LOT001": FindingCode(BLOCKING, "quantities do not add up", "pieces appeared or vanished"),
    "LOT002": FindingCode(
        BLOCKING, "run begun before the first piece was approved", "the whole run may be wrong"
    ),
    "LOT003": FindingCode(BLOCKING, "pieces still in rework", "they are neither good nor scrap"),
    "LOT004": FindingCode(BLOCKING, "quantity not known", "without the quantity issued nothing can add up"),
    # the gate
    "GAT001": FindingCode(
        BLOCKING, "not in the state for this", "the steps of a unit's life follow in order", FIRM
    ),
    "GAT002": FindingCode(BLOCKING, "not allowed to", "this takes a role the person does not hold", FIRM),
    "GAT004": FindingCode(BLOCKING, "already done", "it was done before", FIRM),
    "GAT005": FindingCode(
        BLOCKING, "weight cannot be lowered", "safety and identity findings keep their weight"
    ),
    "GAT006": FindingCode(BLOCKING, "no such finding or action", "the setting would have no effect"),
}


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
            findings.append(
                Finding("GAT005", text, place, why=CODES["GAT005"].why, hint="leave the line out")
            )
    return findings
