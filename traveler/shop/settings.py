"""Settings of a shop, read once from ``shop.yaml`` and passed down."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from pydantic import Field

from traveler.definition.fields import Frozen
from traveler.finding import Weight

Language = Literal["en", "es", "en+es", "es+en"]
"""A language of the sheets, or two on one sheet."""

Ageing = Literal["issued", "building", "inspection", "stopped", "released", "crated", "in stock"]
"""The states in which a unit waits for something."""


class Settings(Frozen):
    """What ``shop.yaml`` says. Paths are relative to the shop's folder."""

    format: int = 1
    name: str
    page_size: Literal["A4", "Letter"] = "A4"
    time_zone: str = "UTC"
    """IANA name; times in files without a zone are taken in it."""
    database: str = "sqlite:///records.db"
    base_url: str | None = None
    """Base of the addresses in QR codes; without it the payload is SERIAL/PAGE."""
    decision_rule: Literal["simple", "guarded"] = "simple"
    rounding: Literal["absolute", "rounding"] = "absolute"
    """How a reading is compared with a limit (ASTM E29)."""
    guard_factor: str = "1"
    """Guard band as a multiple of the gauge's expanded uncertainty."""
    minimum_tur: str = "4"
    """Smallest test uncertainty ratio before a gauge is called too uncertain for a limit."""
    minimum_ppk: str = "1.33"
    """Smallest Ppk of a check before ``traveler shop watch`` tells of it."""
    language: Language = "en"
    """Of the sheets; ``es+en`` prints both, the first large."""
    customer_language: Language | None = None
    """Of the sheets that go to the customer; without it the shop's."""
    product_defs: str = "product_defs"
    output: str = "travelers"
    seals: tuple[str, ...] = ("seals.jsonl",)
    """The seal file, and copies of it on other disks; none: nothing is sealed."""
    weights: dict[str, Weight] = Field(default_factory=dict)
    """Other weights for findings, by code; safety and identity findings can be raised but not lowered."""
    authority: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    """Other roles for actions, by action (``traveler.verdict.authority`` has the table)."""
    pin_for: tuple[str, ...] | None = None
    """Actions that ask people with a PIN for it; None: ``traveler.verdict.authority.PIN_FOR``."""
    pin_required: bool = False
    """Whether these actions are closed to persons without a PIN."""
    pin_length: int = Field(default=4, ge=4, le=12)
    """The fewest digits of a new PIN."""
    pin_tries: int = Field(default=5, ge=2, le=10)
    """So many wrong PINs in a row lock a person out."""
    pin_lock_minutes: int = Field(default=15, ge=1, le=1440)
    """How long the first lock-out lasts; each further wrong PIN doubles it."""
    lift_alone: str = "23 kg"
    """What one person may lift: heavier products need a caution, and their sheets say so."""
    late_after_hours: int = Field(default=24, ge=0)
    """An entry recorded more than this after the work was done is marked late."""
    attachment_types: tuple[str, ...] = (
        "image/jpeg",
        "image/png",
        "application/pdf",
        "text/plain",
        "text/csv",
    )
    """Media types of the photographs and documents that are kept; told from the bytes."""
    attachment_megabytes: int = Field(default=25, ge=1, le=1000)
    """Size of the largest of them."""
    gauge_due_days: int = Field(default=30, ge=0)
    """A gauge is due soon so many days before its calibration runs out."""
    ageing_days: dict[Ageing, Annotated[int, Field(ge=0)]] = Field(default_factory=dict)
    """Days in a state after which a unit is listed by ``watch``; else ``traveler.trace.floor``."""
    clock_minutes: int = Field(default=5, ge=0)
    """How far two clocks of the shop may differ before a time counts as lying in the future."""
    copy_down_from: int = Field(default=4, ge=2)
    """So many identical readings over all positions of a check are doubted."""
    symptoms: dict[str, str] = Field(default_factory=dict)
    """What customers complain of, by id: ``{noise: Runs loudly or hums}``."""
    suppliers: dict[str, str] = Field(default_factory=dict)
    """Where bought lots come from: pattern of the lot number (``P-2112/7*``) → name of the supplier."""

    @property
    def zone(self) -> ZoneInfo:
        """The shop's time zone; UTC where the system does not know the name."""
        try:
            return ZoneInfo(self.time_zone)
        except (ValueError, OSError, KeyError):
            return ZoneInfo("UTC")

    @property
    def clock_slack(self) -> timedelta:
        """How far a time may lie ahead of this computer's clock and still be the present."""
        return timedelta(minutes=self.clock_minutes)
