"""The folder of a shop: ``shop.yaml``, ``people.yaml``, ``gauges.yaml`` and what they name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

from traveler.definition.lifting import lifted_alone
from traveler.finding import Finding, blocking
from traveler.measure.unreadable import Unreadable
from traveler.shop.gauges import GaugeRegister
from traveler.shop.people import People
from traveler.shop.reading import Places, nearest, read_file
from traveler.shop.registers import GaugesFile, PeopleFile, check_gauges, check_people, positive_number
from traveler.shop.settings import Settings

SHOP_FILE, PEOPLE_FILE, GAUGES_FILE = "shop.yaml", "people.yaml", "gauges.yaml"


@dataclass(frozen=True, slots=True)
class Shop:
    """A shop as its folder says it is, read once. ``folder`` is absolute."""

    folder: Path
    settings: Settings
    people: People
    gauges: GaugeRegister

    @property
    def product_defs(self) -> Path:
        """Where the product definitions lie."""
        return self.folder / self.settings.product_defs

    @property
    def output(self) -> Path:
        """Where finished sheets go, each unit's in a folder of its serial."""
        return self.folder / self.settings.output

    @property
    def zone(self) -> ZoneInfo:
        """The shop's time zone."""
        return ZoneInfo(self.settings.time_zone)


@dataclass(frozen=True, slots=True)
class Opened:
    """A shop, or None where a finding blocks; ``settings_places`` says where each setting stands."""

    shop: Shop | None
    findings: tuple[Finding, ...]
    settings_places: Places = field(default_factory=dict)


def find_folder(start: Path) -> Path | None:
    """The nearest folder from ``start`` upwards that holds a ``shop.yaml``, or None."""
    return next((one for one in (start, *start.parents) if (one / SHOP_FILE).is_file()), None)


def open_shop(folder: Path) -> Opened:
    """The shop in this folder, with everything that is wrong in its three files.

    Findings: SHP001 to SHP006 and those of the YAML reader, each with line and column.
    """
    folder = folder.absolute()
    settings = read_file(folder / SHOP_FILE, Settings)
    people = read_file(folder / PEOPLE_FILE, PeopleFile)
    gauges = read_file(folder / GAUGES_FILE, GaugesFile)
    findings = [*settings.findings, *people.findings, *gauges.findings]
    if settings.says is not None:
        findings += check_settings(settings.says, settings.places, str(folder / SHOP_FILE))
    if people.says is not None:
        findings += check_people(people.says, people.places, str(folder / PEOPLE_FILE))
    if gauges.says is not None:
        findings += check_gauges(gauges.says, gauges.places, str(folder / GAUGES_FILE))
    if blocking(findings) or settings.says is None or people.says is None or gauges.says is None:
        return Opened(None, tuple(findings), settings.places)
    return Opened(Shop(folder, settings.says, people.says, gauges.says), tuple(findings), settings.places)


def check_settings(settings: Settings, where: Places, file: str) -> Iterator[Finding]:
    """SHP006: another format, an unknown time zone, a number that is none, a folder elsewhere."""
    if settings.format != 1:
        yield _wrong("format", f"format {settings.format} is not known here, 1 is expected", where, file)
    if settings.time_zone not in available_timezones():
        what = f"there is no time zone '{settings.time_zone}'"
        yield _wrong("time_zone", what, where, file, "write an IANA name, such as Europe/Madrid or UTC")
    try:
        lifted_alone(settings.lift_alone)
    except Unreadable as problem:
        yield _wrong("lift_alone", problem.what, where, file, problem.hint)
    for key in ("guard_factor", "minimum_tur", "minimum_ppk"):
        try:
            positive_number(getattr(settings, key))
        except Unreadable as problem:
            yield _wrong(key, f"{key}: {problem.what}", where, file, problem.hint)
    for key in ("product_defs", "output"):
        if Path(getattr(settings, key)).is_absolute() or ".." in Path(getattr(settings, key)).parts:
            what = f"{key}: '{getattr(settings, key)}' leads out of the shop's folder"
            yield _wrong(key, what, where, file, "name a folder inside it")


def _wrong(key: str, what: str, where: Places, file: str, hint: str = "") -> Finding:
    return Finding("SHP006", what, nearest(where, (key,), file), hint=hint)


def seal_files(shop: Shop) -> tuple[Path, ...]:
    """The shop's seal file and its copies; relative ones lie in the shop's folder."""
    return tuple(shop.folder / one for one in shop.settings.seals)
