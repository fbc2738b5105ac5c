"""A shop's folder is read whole: every mistake of its files is listed with its line."""

from __future__ import annotations

import tempfile
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.finding import Finding
from traveler.shop.folder import Opened, find_folder, open_shop
from traveler.shop.settings import Settings

SHOP = "format: 1\nname: Marrowby Machine Works\ntime_zone: Europe/Madrid\n"
PEOPLE = """\
people:
  - id: rhale
    name: R. Hale
    roles:
      - {role: engineering, since: 2026-01-05}
      - {role: inspector, since: 2026-01-05, until: 2026-06-30}
"""
GAUGES = """\
gauges:
  - id: IND-03
    kind: indicator
    range: 0 to 1 mm
    resolution: 0.001 mm
    uncertainty: 0.0030 mm
    interval_days: 365
    calibrations:
      - {on: 2026-01-12, certificate: 0017}
"""


def opened(folder: Path, shop: str = SHOP, people: str = PEOPLE, gauges: str = GAUGES) -> Opened:
    for name, text in (("shop.yaml", shop), ("people.yaml", people), ("gauges.yaml", gauges)):
        (folder / name).write_text(text, encoding="utf-8")
    return open_shop(folder)


def told(findings: tuple[Finding, ...]) -> list[tuple[str, str, int | None]]:
    return [(finding.code, Path(finding.place.file or "").name, finding.place.line) for finding in findings]


def test_a_sound_folder_opens_without_a_finding(tmp_path: Path) -> None:
    found = opened(tmp_path)
    assert found.findings == ()
    assert found.shop is not None
    assert found.shop.settings.name == "Marrowby Machine Works"
    assert found.shop.people.by_id["rhale"].holds("inspector", date(2026, 6, 30))
    assert not found.shop.people.by_id["rhale"].holds("inspector", date(2026, 7, 1))


def test_digits_of_registers_are_kept_as_written(tmp_path: Path) -> None:
    shop = opened(tmp_path).shop
    assert shop is not None
    gauge = shop.gauges.by_id["IND-03"]
    assert (gauge.uncertainty, gauge.calibrations[0].certificate) == ("0.0030 mm", "0017")


FAULTS = {
    "misspelt setting": ({"shop": SHOP + "page_siez: A4\n"}, ("SHP002", "shop.yaml", 4), "page_size"),
    "name missing": ({"shop": "format: 1\n"}, ("SHP003", "shop.yaml", 1), "'name' is missing"),
    "no such page size": ({"shop": SHOP + "page_size: A5\n"}, ("SHP004", "shop.yaml", 4), "'A4' or 'Letter'"),
    "no such time zone": (
        {"shop": "name: X\ntime_zone: Mars/Base\n"}, ("SHP006", "shop.yaml", 2), "Mars/Base",
    ),
    "format of the future": ({"shop": "format: 2\nname: X\n"}, ("SHP006", "shop.yaml", 1), "format 2"),
    "guard factor no number": (
        {"shop": SHOP + "guard_factor: one\n"}, ("SHP006", "shop.yaml", 4), "guard_factor",
    ),
    "output elsewhere": ({"shop": SHOP + "output: ../out\n"}, ("SHP006", "shop.yaml", 4), "leads out"),
    "duplicate key": ({"shop": SHOP + "name: Y\n"}, ("YML002", "shop.yaml", 4), "given twice"),
    "tab in YAML": ({"shop": "name: X\n\tbad: 1\n"}, ("YML001", "shop.yaml", 2), "spaces"),
    "person twice": (
        {"people": PEOPLE + PEOPLE.split("\n", 1)[1]}, ("SHP005", "people.yaml", 7), "first in line 2",
    ),
    "role ends before it begins": (
        {"people": PEOPLE.replace("until: 2026-06-30", "until: 2025-06-30")},
        ("SHP006", "people.yaml", 6), "before it began",
    ),
    "day in digits only": (
        {"people": PEOPLE.replace("engineering, since: 2026-01-05", "engineering, since: 20260105")},
        ("SHP004", "people.yaml", 5), "2026-11-30",
    ),
    "day that is not in the calendar": (
        {"people": PEOPLE.replace("2026-06-30", "2026-06-31")}, ("SHP004", "people.yaml", 6), "2026-06-31",
    ),
    "stand-in for nobody": (
        {"people": PEOPLE.replace("until: 2026-06-30", "instead_of: rhalle")},
        ("SHP006", "people.yaml", 6), "did you mean 'rhale'",
    ),
    "id in capitals": (
        {"people": PEOPLE.replace("id: rhale", "id: RHale")}, ("SHP004", "people.yaml", 2), "RHale",
    ),
    "gauge interval in words": (
        {"gauges": GAUGES.replace("365", "a year")}, ("SHP004", "gauges.yaml", 7), "not a whole number",
    ),
    "gauge uncertainty without unit": (
        {"gauges": GAUGES.replace("0.0030 mm", "0.0030")}, ("SHP006", "gauges.yaml", 6), "IND-03",
    ),
    "gauge resolution zero": (
        {"gauges": GAUGES.replace("resolution: 0.001 mm", "resolution: 0 mm")},
        ("SHP006", "gauges.yaml", 5), "above zero",
    ),
    "a list where keys are expected": ({"gauges": "- X\n"}, ("SHP004", "gauges.yaml", 1), "keys with values"),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_told_with_its_line_and_what_to_do(fault: str, tmp_path: Path) -> None:
    files, expected, words = FAULTS[fault]
    found = opened(tmp_path, **files)
    assert found.shop is None
    assert told(found.findings) == [expected]
    assert words in str(found.findings[0])


def test_faults_of_all_files_are_told_in_one_go(tmp_path: Path) -> None:
    found = opened(tmp_path, SHOP + "paper: A4\n", PEOPLE.replace("name:", "nmae:"), "gauges: [7]\n")
    assert {(code, file) for code, file, _ in told(found.findings)} == {
        ("SHP002", "shop.yaml"), ("SHP003", "people.yaml"), ("SHP002", "people.yaml"),
        ("SHP004", "gauges.yaml"),
    }  # fmt: skip


def test_a_missing_register_is_a_finding(tmp_path: Path) -> None:
    (tmp_path / "shop.yaml").write_text(SHOP, encoding="utf-8")
    assert told(open_shop(tmp_path).findings) == [
        ("SHP001", "people.yaml", None),
        ("SHP001", "gauges.yaml", None),
    ]


def test_a_file_that_is_not_text_is_a_finding(tmp_path: Path) -> None:
    opened(tmp_path)
    (tmp_path / "gauges.yaml").write_bytes(b"gauges: \xff\xfe")
    assert told(open_shop(tmp_path).findings) == [("SHP001", "gauges.yaml", None)]


def test_the_nearest_folder_upwards_is_the_shop(tmp_path: Path) -> None:
    opened(tmp_path)
    deep = tmp_path / "travelers" / "X"
    deep.mkdir(parents=True)
    assert find_folder(deep) == tmp_path
    assert find_folder(Path("/")) is None


@settings(max_examples=150, deadline=None)
@given(name=st.sampled_from(["shop.yaml", "people.yaml", "gauges.yaml"]), content=st.binary(max_size=200))
def test_no_content_of_a_file_makes_it_crash(name: str, content: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        opened(Path(folder))
        (Path(folder) / name).write_bytes(content)
        found = open_shop(Path(folder))
        assert found.shop is not None or found.findings


@settings(max_examples=200, deadline=None)
@given(
    place=st.integers(0, len(PEOPLE) - 1),
    put=st.sampled_from(["", ":", "-", "[", "{", "7", "~", '"', "\n", " ", "é", "- []\n", "{a: 1}"]),
)
def test_no_slip_of_the_pen_in_a_register_makes_it_crash(place: int, put: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        found = opened(Path(folder), people=PEOPLE[:place] + put + PEOPLE[place + 1 :])
        assert found.shop is not None or found.findings
        assert all(finding.place.file for finding in found.findings)


@pytest.mark.parametrize(("name", "zone"), [("Europe/Madrid", "Europe/Madrid"), ("Nowhere/Land", "UTC")])
def test_an_unknown_time_zone_counts_as_utc(name: str, zone: str) -> None:
    assert Settings(name="Marrowby Machine Works", time_zone=name).zone.key == zone
