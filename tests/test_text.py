"""One reader of days, moments and durations, and one finder of near names, for every command and file."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from traveler.text import (
    SYNONYMS,
    DoubtfulHour,
    NotUnderstood,
    did_you_mean,
    nearest,
    plural,
    read_day,
    read_duration,
    read_moment,
    read_start,
)

MADRID = ZoneInfo("Europe/Madrid")
TODAY = date(2026, 11, 2)
PACKAGE = Path(__file__).parent.parent / "traveler"


@pytest.mark.parametrize(
    "text",
    [
        "20261102",
        "2026-11-2",
        "2026-02-30",
        "02.11.2026",
        "2026-W45-1",
        "2026-11-02T10:00",
        "soon",
        "",
        "٢٠٢٦-١١-٠٢",
    ],
)
def test_a_day_has_one_writing(text: str) -> None:
    assert read_day(" 2026-11-02 ") == TODAY
    with pytest.raises(NotUnderstood, match="is not a day") as refused:
        read_day(text)
    assert refused.value.hint == "write it as 2026-11-30"


MOMENTS = {
    "2026-11-02 14:30": datetime(2026, 11, 2, 13, 30, tzinfo=UTC),
    "2026-11-02T14:30": datetime(2026, 11, 2, 13, 30, tzinfo=UTC),
    "2026-11-02  9:05": datetime(2026, 11, 2, 8, 5, tzinfo=UTC),
    "2026-11-02T14:30:05": datetime(2026, 11, 2, 13, 30, 5, tzinfo=UTC),
    "2026-11-02 14:30:05,25": datetime(2026, 11, 2, 13, 30, 5, 250_000, tzinfo=UTC),
    "2026-11-02 14:30z": datetime(2026, 11, 2, 14, 30, tzinfo=UTC),
    "2026-11-02T14:30-05:00": datetime(2026, 11, 2, 19, 30, tzinfo=UTC),
    "2026-11-02 14:30 +0100": datetime(2026, 11, 2, 13, 30, tzinfo=UTC),
}


@pytest.mark.parametrize("text", MOMENTS)
def test_a_moment_has_an_offset_or_is_in_the_zone_of_the_shop(text: str) -> None:
    assert read_moment(text, MADRID) == MOMENTS[text]


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-02",
        "20261102T1430",
        "2026-11-02T14",
        "2026-11-02 24:30",
        "2026-02-30 10:00",
        "14:30",
        "monday",
    ],
)
def test_what_is_no_moment_is_refused(text: str) -> None:
    with pytest.raises(NotUnderstood, match="is not a date with a time") as refused:
        read_moment(text, MADRID)
    assert refused.value.hint == "write it as 2026-11-30 14:30"


def test_an_hour_that_the_clocks_skip_or_repeat_needs_its_offset() -> None:
    for text, fate in (("2026-03-29 02:30", "did not happen"), ("2026-10-25 02:30", "happened twice")):
        with pytest.raises(DoubtfulHour, match=fate):
            read_moment(text, MADRID)
    assert read_moment("2026-10-25 02:30+01:00", MADRID) == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert read_moment("2026-10-25 02:30").tzinfo is None


DURATIONS = {
    "30": 30, "30d": 30, "30 d": 30, "1 day": 1, "30 days": 30, "6w": 42, "6 weeks": 42, "6m": 180,
    "6 Months": 180, "1y": 365, "2 years": 730, "0": 0,
}  # fmt: skip


@pytest.mark.parametrize("text", DURATIONS)
def test_a_duration_is_also_how_far_back_a_span_starts(text: str) -> None:
    assert read_duration(text) == timedelta(days=DURATIONS[text])
    assert read_start(text, TODAY) == TODAY - timedelta(days=DURATIONS[text])
    assert read_start("2026-09-14", TODAY) == date(2026, 9, 14)


@pytest.mark.parametrize("text", ["", "d", "-3d", "1.5w", "6q", "12345d", "3 d 4", "soon", "９d"])
def test_what_is_no_duration_is_refused(text: str) -> None:
    with pytest.raises(NotUnderstood, match="not a duration"):
        read_duration(text)
    with pytest.raises(NotUnderstood, match="neither a day nor a duration"):
        read_start(text, TODAY)


def test_a_span_does_not_start_before_the_calendar() -> None:
    with pytest.raises(NotUnderstood, match="neither a day nor a duration"):
        read_start("9999y", TODAY)


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    for reader in (read_day, read_moment, read_duration, lambda said: read_start(said, TODAY)):
        with suppress(NotUnderstood):
            assert reader(text) is not None


@given(st.dates(), st.datetimes(timezones=st.just(UTC)))
def test_what_is_written_in_iso_8601_comes_back(day: date, moment: datetime) -> None:
    assert read_day(day.isoformat()) == day
    assert read_moment(moment.isoformat()) == moment


def test_counts_come_with_their_noun() -> None:
    assert [plural(number, "entry", "entries") for number in (0, 1, 2)] == [
        "0 entries",
        "1 entry",
        "2 entries",
    ]


@pytest.mark.parametrize(
    ("name", "known", "meant"),
    [
        ("runot", ["runout", "play"], "runout"),
        ("run-out", ["runout"], "runout"),
        ("ind 03", ["CAL-01", "IND-03"], "IND-03"),
        ("Tolerance", ["gauge", "limits"], "limits"),
        ("gage", ["gauge", "limits"], "gauge"),
        ("backlash", ["runout", "play"], "play"),
        ("x", ["runout", "play"], None),
        ("anything", [], None),
    ],
)
def test_the_nearest_name_is_another_spelling_a_synonym_or_a_near_one(
    name: str, known: list[str], meant: str | None
) -> None:
    assert nearest(name, known) == meant


def test_a_name_is_found_by_its_title() -> None:
    assert nearest("T. Kiln", ["rhale", "tkiln"], {"rhale": "R. Hale", "tkiln": "T. Kiln"}) == "tkiln"


def test_a_hint_names_the_nearest_or_lists_what_there_is() -> None:
    assert did_you_mean("plya", ["runout", "play"]) == "did you mean 'play'?"
    assert did_you_mean("zzz", ["runout", "play"]) == "known are runout, play"
    assert did_you_mean("zzz", ["runout"], "see the sheet") == "see the sheet"
    assert did_you_mean("zzz", [f"n{number}" for number in range(20)]).endswith("n11 …")


@pytest.mark.parametrize(
    ("name", "known", "hint"),
    [
        ("REA1", ["REA015", "REA001", "REA010"], "did you mean 'REA001'?"),
        ("P-2112-77", ["P-2112/77", "P-2112/78"], "did you mean 'P-2112/77'?"),
        ("ind3", ["IND-03", "IND-30"], "did you mean 'IND-03'?"),
        ("IND-99", ["IND-03", "IND-05", "CAL-01"], "did you mean 'IND-03' or 'IND-05'?"),
        ("30-9", [f"30-{number}" for number in range(1, 7)], "see the sheet"),
        ("boss", ["director", "packer"], "did you mean 'director'?"),
        ("°", ["mm", "deg"], "see the sheet"),
    ],
)
def test_numbers_are_compared_without_leading_zeros_and_equally_near_names_are_all_listed(
    name: str, known: list[str], hint: str
) -> None:
    assert did_you_mean(name, known, "see the sheet") == hint


def test_a_word_stands_once_in_a_group_of_synonyms() -> None:
    assert all(len(set(group)) == len(group) > 1 for group in SYNONYMS)


@pytest.mark.parametrize(
    ("call", "homes"),
    [
        ("get_close_matches(", {"text.py"}),
        ("strptime(", set()),
        ("fromisoformat(", {"text.py", "record/stored.py"}),
    ],
)
def test_there_is_one_home_for_each_reader(call: str, homes: set[str]) -> None:
    found = {
        str(file.relative_to(PACKAGE)) for file in PACKAGE.rglob("*.py") if call in file.read_text("utf-8")
    }
    assert found == homes
