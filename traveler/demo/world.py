"""Marrowby Machine Works: settings, people, gauges. Every name, gauge and number is invented."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from traveler.files import write_whole
from traveler.finding import CannotDo

PACKAGE = Path(__file__).resolve().parent.parent


def shipped_product_defs() -> Path:
    """The folder of shipped definitions: inside an installed package, or beside it in a checkout.

    Raises:
        FileNotFoundError: neither place holds them; the installation is broken.
    """
    for folder in (PACKAGE / "_shipped" / "product_defs", PACKAGE.parent / "product_defs"):
        if any(folder.glob("*.yaml")):
            return folder
    raise FileNotFoundError(2, "the installation lacks its product definitions", str(PACKAGE / "_shipped"))


SHOP = """\
format: 1
name: Marrowby Machine Works
page_size: A4
time_zone: Europe/Dublin
decision_rule: simple
symptoms:
  noise: Runs loudly or hums
  rough: Runs rough or shakes
  damage: Damaged on the way
suppliers:
  "P-2112/*": Northmill Bearings
"""

SINCE = date(2021, 3, 1)
"""Since when everybody holds their roles."""

PEOPLE = (
    ("rhale", "R. Hale", ("engineering",)),
    ("tkiln", "T. Kiln", ("assembler",)),
    ("awick", "A. Wick", ("assembler",)),
    ("evolt", "E. Volt", ("electrician", "assembler", "inspector")),
    ("mchip", "M. Chip", ("machinist",)),
    ("iwren", "I. Wren", ("inspector",)),
    ("qmoor", "Q. Moor", ("quality", "inspector")),
    ("pstrap", "P. Strap", ("packer",)),
    ("sdock", "S. Dock", ("shipping",)),
    ("dmarrow", "D. Marrow", ("director",)),
)

GAUGES = (
    ("IND-03", "indicator", "Dial indicator 0.001 mm", "0 to 1 mm", "0.001 mm", "0.003 mm"),
    ("IND-07", "indicator", "Dial indicator 0.001 mm", "0 to 1 mm", "0.001 mm", "0.003 mm"),
    ("HG-01", "height-gauge", "Digital height gauge 600", "-10 to 600 mm", "0.01 mm", "0.02 mm"),
    ("TW-02", "torque-wrench", "Torque wrench 5-50 N·m", "5 to 50 N·m", "0.1 N·m", "0.3 N·m"),
    ("PR-01", "protractor", "Digital protractor", "0 to 180 deg", "0.01 deg", "0.03 deg"),
    ("FG-04", "feeler-gauge", "Feeler gauge set", "0.05 to 1.00 mm", "0.02 mm", "0.01 mm"),
    ("PS-01", "pull-scale", "Pull scale 50 N", "0 to 50 N", "0.1 N", "0.3 N"),
    ("ET-01", "earth-tester", "Earth continuity tester", "0 to 2 Ω", "0.001 Ω", "0.004 Ω"),
    ("TA-01", "tachometer", "Optical tachometer", "10 to 9999 1/min", "1 1/min", "2 1/min"),
    ("SM-01", "sound-meter", "Sound level meter", "30 to 130 dB", "0.1 dB", "1.0 dB"),
    ("PL-01", "precision-level", "Precision level", "0 to 2 mm/m", "0.02 mm/m", "0.02 mm/m"),
    ("IT-01", "insulation-tester", "Insulation tester 500 V", "0.01 to 50 MΩ", "0.01 MΩ", "0.05 MΩ"),
    ("CM-01", "clamp-meter", "Clamp meter", "0.05 to 40 A", "0.01 A", "0.02 A"),
    ("DC-05", "calliper", "Digital calliper 500", "0 to 500 mm", "0.01 mm", "0.02 mm"),
    ("BG-02", "bore-gauge", "Bore gauge 18-35", "18 to 35 mm", "0.001 mm", "0.002 mm"),
    ("CS-01", "crate-scale", "Platform scale 150 kg", "1 to 150 kg", "0.05 kg", "0.05 kg"),
)
"""Id, kind, title, range, resolution, expanded uncertainty (k = 2)."""

OVERDUE = "IND-07"
"""The gauge whose calibration ran out, which the demonstration uses by mistake."""

INTERVAL = 365


def set_up_world(folder: Path, day: date) -> tuple[Path, ...]:
    """Writes the shop's files and copies the shipped definitions; ``day`` is the first of the story.

    Raises:
        CannotDo: something is in the folder already.
        OSError: the folder cannot be written to.
    """
    if folder.exists() and any(folder.iterdir()):
        what = f"{folder} is not empty"
        raise CannotDo(what, "name a new folder; the demonstration changes nothing that is there")
    texts = {"shop.yaml": SHOP, "people.yaml": people_yaml(), "gauges.yaml": gauges_yaml(day)}
    files = [write_whole(folder / name, text.encode()) for name, text in texts.items()]
    for shipped in sorted(shipped_product_defs().rglob("*")):
        if shipped.is_file():
            inside = shipped.relative_to(shipped_product_defs())
            files.append(write_whole(folder / "product_defs" / inside, shipped.read_bytes()))
    return tuple(files)


def people_yaml() -> str:
    """The text of ``people.yaml``."""
    lines = ["format: 1", "people:"]
    for person, name, roles in PEOPLE:
        lines += [f"  - id: {person}", f"    name: {name}", "    roles:"]
        lines += [f"      - {{role: {role}, since: {SINCE}}}" for role in roles]
    return "\n".join(lines) + "\n"


def gauges_yaml(day: date) -> str:
    """The text of ``gauges.yaml``: all calibrated 100 days before, but one long ago."""
    lines = ["format: 1", "gauges:"]
    for number, (gauge, kind, title, reach, resolution, uncertainty) in enumerate(GAUGES, 1):
        calibrated = day - timedelta(days=100 if gauge != OVERDUE else INTERVAL + 35)
        lines += [
            f"  - id: {gauge}",
            f"    kind: {kind}",
            f"    title: {title}",
            f"    range: {reach}",
            f"    resolution: {resolution}",
            f"    uncertainty: {uncertainty}",
            f"    interval_days: {INTERVAL}",
            "    calibrations:",
            f"      - {{on: {calibrated}, certificate: C-{2200 + number}}}",
        ]
    return "\n".join(lines) + "\n"
