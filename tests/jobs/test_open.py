"""Opening the office: what the settings may not say is listed at its place; times are the shop's."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from traveler.jobs.open import open_session
from traveler.record.entry import Noted
from traveler.record.errors import StoreError
from traveler.shop.session import Session

NOW = datetime(2026, 11, 2, 23, 30, tzinfo=UTC)


@pytest.fixture
def session(shop_folder: Path) -> Iterator[Session]:
    """The small shop, whose zone is far east of the clock."""
    settings = shop_folder / "shop.yaml"
    settings.write_text(settings.read_text("utf-8").replace("Europe/Dublin", "Pacific/Auckland"), "utf-8")
    opened = open_session(shop_folder, NOW)
    assert opened.session is not None
    with opened.session.store:
        yield opened.session


def test_the_day_is_that_of_the_shops_wall(session: Session) -> None:
    assert session.today == date(2026, 11, 3)
    assert session.day(datetime(2026, 11, 2, 9, 0, tzinfo=UTC)) == date(2026, 11, 2)


def test_an_entry_is_done_now_unless_told_otherwise_and_keeps_the_zone(session: Session) -> None:
    assert session.draft("X", "tkiln", Noted(text="a")).at == NOW
    earlier = datetime(2026, 11, 1, tzinfo=UTC)
    draft = session.draft("X", "tkiln", Noted(text="a"), at=earlier, slot="10-1")
    assert (draft.at, draft.zone, draft.slot) == (earlier, "Pacific/Auckland", "10-1")


@pytest.mark.parametrize(
    ("line", "code", "column"),
    [
        ("weights: {PER001: note}", "GAT005", 19),
        ("weights: {XYZ001: note}", "GAT006", 19),
        ("authority: {relase: [quality]}", "GAT006", 21),
    ],
)
def test_weights_and_authority_that_cannot_be_are_told_at_their_place(
    shop_folder: Path, line: str, code: str, column: int
) -> None:
    settings = shop_folder / "shop.yaml"
    settings.write_text(settings.read_text("utf-8") + line + "\n", "utf-8")
    opened = open_session(shop_folder, NOW)
    assert opened.session is None
    (finding,) = opened.findings
    assert (finding.code, finding.place.line, finding.place.column) == (code, 5, column)
    assert finding.place.file == str(settings)


def test_weights_that_may_be_set_are_taken(shop_folder: Path) -> None:
    settings = shop_folder / "shop.yaml"
    settings.write_text(settings.read_text("utf-8") + "weights: {GAU006: blocking}\n", "utf-8")
    opened = open_session(shop_folder, NOW)
    assert opened.findings == ()
    assert opened.session is not None
    opened.session.store.close()


def test_records_that_cannot_be_opened_are_said_in_one_sentence(shop_folder: Path) -> None:
    (shop_folder / "records.db").write_bytes(b"this is no database, " * 200)
    with pytest.raises(StoreError) as trouble:
        open_session(shop_folder, NOW)
    assert "\n" not in trouble.value.what
