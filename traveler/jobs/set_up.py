"""Setting up the folder of a new shop."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from traveler.files import write_whole
from traveler.finding import CannotDo
from traveler.shop.settings import Settings
from traveler.verdict.authority import PIN_FOR, authority_comment

SHOP = """\
# What this shop is and how it works. docs/shop.md says what else may stand here.
format: 1
name: {name}
page_size: {page_size}            # A4 or Letter
time_zone: {time_zone}            # IANA name; times without a zone are taken in it
decision_rule: simple             # or guarded: the gauge's uncertainty is kept off the limits
# Where each release is noted outside the records; the second file is a copy, on a stick or another computer.
# seals: [seals.jsonl, /mnt/stick/seals.jsonl]
# What customers complain of: 'traveler complain SERIAL --symptom noise', ranked by 'traveler case causes'.
# symptoms:
#   noise: Runs loudly or hums
#   rough: Runs rough or shakes
#   late-damage: Damaged on the way
# Where bought lots come from, by the pattern of their numbers, so that complaints can be counted by supplier.
# suppliers:
#   "P-2112/7*": Northmill Bearings

# Who may do what: the safe defaults. To change a line, take the '#' away from it and from 'authority:'.
# 'traveler people authority' shows the table as it is in force.
#authority:
{authority}
# Actions that ask for the PIN ('traveler people pin ID'); pin_required closes them to people without one.
#pin_for: [{pin_for}]
#pin_required: true
"""

PEOPLE = """\
# Who works here, and which roles they hold from when. Nobody is taken out: give 'left' or 'until' a day.
format: 1
people: []
#  - id: rhale
#    name: R. Hale
#    roles:
#      - {role: engineering, since: 2026-01-05}
#      - {role: inspector, since: 2026-01-05, until: 2026-06-30}
# Roles: assembler, inspector, quality, packer, engineering, shipping, director.
"""

GAUGES = """\
# The gauges, with their calibrations. 'kind' is the word that product definitions use for it.
format: 1
gauges: []
#  - id: IND-03
#    kind: indicator
#    title: Dial indicator 0.001 mm
#    range: 0 to 1 mm
#    resolution: 0.001 mm
#    uncertainty: 0.003 mm          # expanded, k = 2
#    interval_days: 365
#    calibrations:                  # 'traveler gauge calibrate', 'withdraw' and 'restore' add lines
#      - {on: 2026-01-12, certificate: C-2201}
#      - {on: 2027-01-11, certificate: C-2544, as_found: out of tolerance, error: +0.004 mm}
#    withdrawals:
#      - {out: 2027-01-08T14:30, back: 2027-01-12T08:00, reason: Dropped on the floor., by: tkiln}
"""


@dataclass(frozen=True, slots=True)
class NewShop:
    """The folder and the files that were written, in the order of writing."""

    folder: Path
    files: tuple[Path, ...]


def set_up(folder: Path, settings: Settings) -> NewShop:
    """An empty shop: ``shop.yaml``, ``people.yaml``, ``gauges.yaml`` and a folder for product definitions.

    Raises:
        CannotDo: there is a shop in the folder already.
        OSError: the folder cannot be written to.
    """
    if (folder / "shop.yaml").exists():
        what = f"there is a shop in {folder} already"
        raise CannotDo(what, "choose another folder; nothing was changed")
    shop = SHOP.format(
        name=json.dumps(settings.name, ensure_ascii=False),  # a JSON text is a YAML text
        page_size=settings.page_size,
        time_zone=settings.time_zone,
        authority=authority_comment().rstrip("\n"),
        pin_for=", ".join(PIN_FOR),
    )
    (folder / settings.product_defs).mkdir(parents=True, exist_ok=True)
    files = [
        write_whole(folder / name, text.encode())
        for name, text in (("people.yaml", PEOPLE), ("gauges.yaml", GAUGES), ("shop.yaml", shop))
        if not (folder / name).exists()
    ]
    return NewShop(folder, tuple(files))
