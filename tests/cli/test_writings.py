"""A day, a moment and a duration are written the same way for every command."""

from __future__ import annotations

from typing import Any

import pytest

DAYS: dict[str, tuple[str, ...]] = {
    "issue": ("issue", "step-stool", "--variant", "2", "--by", "qmoor", "--due"),
    "calibrate": (
        "gauge",
        "calibrate",
        "IND-03",
        "--result",
        "good",
        "--as-found",
        "in",
        "--by",
        "qmoor",
        "--on",
    ),
    "recall": ("gauge", "recall", "IND-03", "--error", "+0.02 mm", "--until"),
    "leave": ("people", "leave", "tkiln", "--by", "qmoor", "--on"),
    "add": ("people", "add", "new", "--name", "N. New", "--role", "packer", "--by", "qmoor", "--since"),
    "delegate": (
        "people",
        "delegate",
        "quality",
        "--from",
        "qmoor",
        "--to",
        "tkiln",
        "--by",
        "qmoor",
        "--until",
    ),
    "statistics": ("readings", "statistics", "step-stool", "--until"),
}
"""Commands that take a day as their last option."""

MOMENTS: dict[str, tuple[str, ...]] = {
    "withdraw": ("gauge", "withdraw", "IND-03", "--reason", "Dropped.", "--by", "tkiln", "--at"),
    "restore": ("gauge", "restore", "IND-03", "--by", "qmoor", "--at"),
    "note": ("note", "{unit}", "Seen.", "--by", "tkiln", "--at"),
    "stop": ("stop", "{unit}", "--reason", "Cracked.", "--by", "tkiln", "--at"),
}
"""Commands that take a moment as their last option."""

SPANS: dict[str, tuple[str, ...]] = {
    "due": ("gauge", "due", "--within"),
    "watch": ("shop", "watch", "--since"),
    "statistics": ("readings", "statistics", "step-stool", "--since"),
}
"""Commands that take a duration as their last option."""


@pytest.mark.parametrize("name", DAYS)
def test_a_day_without_hyphens_is_a_day_for_no_command(command: Any, name: str) -> None:
    for text in ("20261102", "2026-W45-1", "02.11.2026"):
        refused = command(*DAYS[name], text)
        assert refused.code == 2
        assert f"'{text}' is not a day" in refused.err
        assert "write it as 2026-11-30" in refused.err


@pytest.mark.parametrize("name", MOMENTS)
def test_a_moment_is_read_and_refused_alike_by_every_command(
    command: Any, units: list[str], name: str
) -> None:
    words = [word.format(unit=units[0]) for word in MOMENTS[name]]
    for text in ("20261102T0800", "2026-11-02", "monday"):
        refused = command(*words, text)
        assert refused.code == 2
        assert f"'{text}' is not a date with a time" in refused.err


@pytest.mark.parametrize("name", SPANS)
def test_a_number_alone_is_days_for_every_command(command: Any, name: str) -> None:
    answers = [command(*SPANS[name], text) for text in ("30", "30d", "30 days")]
    assert len({(answer.code, answer.out, answer.err) for answer in answers}) == 1
    assert "duration" not in answers[0].err
    assert command(*SPANS[name], "soon").code == 2
