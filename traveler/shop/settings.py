"""Settings of a shop, read once from ``shop.yaml`` and passed down."""

from __future__ import annotations

from typing import Literal

from traveler.definition.plan import Frozen


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
    language: Literal["en", "es"] = "en"
    product_defs: str = "product_defs"
    output: str = "travelers"
