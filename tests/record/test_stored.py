"""Times as text: exact, of one length, never without a zone."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import text

from traveler.record.errors import StoreDamaged
from traveler.record.store import Store
from traveler.record.stored import time_of, time_text

FIRST, LAST = datetime(1, 1, 3), datetime(9999, 12, 28)  # noqa: DTZ001 - hypothesis wants naive ends
moments = st.datetimes(FIRST, LAST, timezones=st.timezones() | st.just(UTC))


@given(moments)
def test_a_time_comes_back_to_the_microsecond(moment):
    written = time_text(moment)
    assert len(written) == 27
    assert time_of(written) == moment.astimezone(UTC)


@given(moments, moments)
def test_text_order_is_time_order(one, two):
    assert (one.astimezone(UTC) < two.astimezone(UTC)) == (time_text(one) < time_text(two))


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="without a zone"):
        time_text(datetime(2026, 9, 14))  # noqa: DTZ001 - the naive time is the point
    with pytest.raises(ValueError, match="without a zone"):
        time_of("2026-09-14T08:30:00")


@pytest.mark.parametrize("bad", ["yesterday", "", "2026-09-14T08:30:00"])
def test_a_stored_time_that_is_none_is_told_as_damage(tmp_path, samples, bad):
    with Store.open(f"sqlite:///{tmp_path / 'records.db'}") as store:
        with store.transaction() as tx:
            tx.put_definition(samples.definition())
            tx.issue(samples.issued("BW4-1"), samples.now)
            tx.ask(text("UPDATE unit SET issued = :bad").bindparams(bad=bad))
        with pytest.raises(StoreDamaged, match="time"), store.reading() as records:
            records.unit("BW4-1")
