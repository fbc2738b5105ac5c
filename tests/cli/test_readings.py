"""``stats``, ``watch`` and ``export-readings`` as a person types them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from traveler.cli.main import run


@pytest.fixture
def say(
    built_year: Any, year: Any, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Any:
    """Runs a command in the shop of a year's work, at its end; gives code, stdout and stderr."""
    monkeypatch.chdir(built_year[0])
    monkeypatch.delenv("TRAVELER_SHOP", raising=False)
    monkeypatch.delenv("TRAVELER_DATABASE", raising=False)
    monkeypatch.setenv("TRAVELER_NOW", year.now.isoformat())

    def go(*arguments: str | Path) -> tuple[int, str, str]:
        capsys.readouterr()
        code = run([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return go


def test_a_product_is_told_in_one_line_for_each_check_and_position(say: Any) -> None:
    code, out, err = say("readings", "statistics", "skein-reel")
    assert (code, err) == (0, "")
    assert "Statistics of skein-reel: 60 units" in out
    assert out.count("runout") >= 6
    assert "up !" in out
    assert "Rolled throughput yield" in out
    assert "note: runout had different limits" in out


def test_a_check_is_told_in_full(say: Any) -> None:
    code, out, _ = say("readings", "statistics", "skein-reel", "brake")
    assert code == 0
    for word in ("capability:", "tolerance interval:", "drift:", "chart:", "adjusting:", "brake, gauges:"):
        assert word in out
    assert "Cpk" in out


def test_a_statement_has_a_yield_but_no_readings(say: Any) -> None:
    code, out, _ = say("readings", "statistics", "skein-reel", "burrs")
    assert code == 0
    assert "no reading" in out
    assert "first time: 59 of 60 = 98.3 %" in out


def test_json_is_one_document_with_all_of_it(say: Any) -> None:
    code, out, _ = say("readings", "statistics", "skein-reel", "runout", "--position", "end=far", "--json")
    told = json.loads(out)
    assert (code, told["exit"], told["findings"]) == (0, 0, [])
    assert [check_series["position"] for check_series in told["series"]] == [{"end": "far"}] * 2
    assert told["yields"]["whole"]["n"] == 60


def test_files_are_named_in_the_answer(say: Any, tmp_path: Path) -> None:
    code, out, _ = say(
        "readings",
        "statistics",
        "skein-reel",
        "taper",
        "--to",
        tmp_path / "t.pdf",
        "--to",
        tmp_path / "t.html",
    )
    assert code == 0
    assert f"wrote {tmp_path / 't.pdf'}" in out
    assert (tmp_path / "t.html").stat().st_size > 10_000


WRONG = {
    "no such product": (("readings", "statistics", "skein"), "no unit of 'skein' was ever issued"),
    "no such check": (("readings", "statistics", "skein-reel", "run-out"), "did you mean 'runout'?"),
    "no such position": (
        ("readings", "statistics", "skein-reel", "runout", "--position", "far"),
        "'far' is not a position",
    ),
    "no such day": (
        ("readings", "statistics", "skein-reel", "--since", "last week"),
        "'last week' is neither a day nor a duration",
    ),
    "no such end": (
        ("readings", "statistics", "skein-reel", "--until", "2026-02-30"),
        "'2026-02-30' is not a day",
    ),
    "no such window": (("shop", "watch", "--since", "soon"), "'soon' is neither a day nor a duration"),
    "a page over the settings": (
        ("readings", "statistics", "skein-reel", "--to", "shop.yaml"),
        "no such kind of file",
    ),
    "a sheet over the people": (("shop", "watch", "--to", "people.yaml"), "does not end in .pdf"),
    "no such ending": (("readings", "export", "--to", "r.xlsx"), "neither a CSV nor a SQLite file"),
    "no such table": (
        ("readings", "export", "--to", "r.csv", "--table", "people"),
        "there is no table 'people'",
    ),
}


@pytest.mark.parametrize(("arguments", "said"), WRONG.values(), ids=WRONG)
def test_what_cannot_be_done_is_said_in_one_sentence(say: Any, arguments: Any, said: str) -> None:
    code, out, err = say(*arguments)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1


def test_a_folder_that_cannot_be_written_to_is_said(say: Any, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    code, _, err = say("readings", "statistics", "skein-reel", "taper", "--to", tmp_path / "file" / "t.html")
    assert code == 2
    assert "t.html" in err or "file" in err


def test_watch_ends_with_1_where_something_is_to_be_acted_on(say: Any) -> None:
    code, out, _ = say("shop", "watch", "--since", "60d")
    assert code == 1
    assert out.startswith("To act on:\n  gauge       IND-07")
    assert "> traveler readings statistics skein-reel pin-height" in out
    assert out.index("To act on:") < out.index("To look into:")


def test_watch_in_json_lists_every_notice(say: Any) -> None:
    code, out, _ = say("shop", "watch", "--since", "60d", "--json")
    told = json.loads(out)
    assert told["exit"] == code == 1
    assert {notice["level"] for notice in told["notices"]} == {"act", "look"}
    assert all(notice["look"].startswith("traveler ") for notice in told["notices"])
    assert told["findings"] == []


def test_every_command_that_watch_names_is_there(say: Any, wrong_in: Any) -> None:
    _, out, _ = say("shop", "watch", "--since", "1y", "--json")
    looks = {notice["look"] for notice in json.loads(out)["notices"]}
    assert [problem for look in looks if (problem := wrong_in(look))] == []
    assert looks


def test_an_export_says_what_it_wrote(say: Any, tmp_path: Path) -> None:
    code, out, _ = say("readings", "export", "--product", "skein-reel", "--to", tmp_path / "r.csv")
    assert code == 0
    assert out == f"wrote {tmp_path / 'r.csv'}: 481 readings of 60 units\n"
    code, out, _ = say("readings", "export", "--to", tmp_path / "all.sqlite", "--json")
    told = json.loads(out)
    assert told["rows"]["units"] == 60
    assert told["rows"]["findings"] == 0
