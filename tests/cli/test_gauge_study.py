"""``gauge study``: what it prints, what it writes, and how it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml

from traveler.cli.main import run

REFERENCE = yaml.load(
    (Path(__file__).parent.parent / "reference" / "gauge_rr.yaml").read_text(encoding="utf-8"),
    Loader=yaml.CBaseLoader,  # noqa: S506 - makes texts only
)

GAUGES = """\
format: 1
gauges:
  - id: IND-03                       # the good one
    kind: indicator
    resolution: 0.001 mm
    interval_days: 365
    calibrations:
      - {on: 2026-01-12, certificate: C-2201}
  - {id: IND-04, kind: indicator, uncertainty: 0.009 mm, interval_days: 365}
"""


def study_file(folder: Path, name: str = "aiag", head: str = "# unit: mm\n") -> Path:
    rows = [
        f"P{part},{'ABC'[operator]},{trial},{value}"
        for part, by_operator in enumerate(REFERENCE["tables"][name], 1)
        for operator, trials in enumerate(by_operator)
        for trial, value in enumerate(trials, 1)
    ]
    path = folder / f"{name}.csv"
    path.write_text(head + "\n".join(["part,operator,trial,value", *rows]) + "\n", encoding="utf-8")
    return path


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    folder.mkdir()
    (folder / "shop.yaml").write_text("format: 1\nname: Marrowby Machine Works\n", encoding="utf-8")
    (folder / "people.yaml").write_text("format: 1\npeople: []\n", encoding="utf-8")
    (folder / "gauges.yaml").write_text(GAUGES, encoding="utf-8")
    return folder


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TRAVELER_NOW", "2026-06-01T12:00:00+00:00")
    monkeypatch.delenv("TRAVELER_SHOP", raising=False)


def told(capsys: pytest.CaptureFixture[str]) -> dict:
    return json.loads(capsys.readouterr().out)


def test_the_study_is_told_in_json_with_the_published_result(tmp_path, capsys) -> None:
    assert run(["gauge", "study", str(study_file(tmp_path)), "--method", "average-range", "--json"]) == 0
    result = told(capsys)
    assert (result["parts"], result["operators"], result["trials"]) == (10, 3, 3)
    assert result["grr_percent"] == "26.68"  # AIAG MSA data; published 26.7 % (from memory)
    assert (result["categories"], result["band"]) == (5, "may be acceptable")
    assert result["unit"] == "mm"
    assert result["exit"] == 0


def test_the_study_is_told_as_text_with_both_tables(tmp_path, capsys) -> None:
    assert run(["gauge", "study", str(study_file(tmp_path)), "--tolerance", "0 ± 3 mm"]) == 0
    text, warnings = capsys.readouterr()
    for part in ("10 parts × 3 operators × 3 trials", "interaction pooled", "gauge (GRR)", "sum of squares"):
        assert part in text
    assert "% of tolerance" in text
    assert "30.24" in text  # 6 · 0.302372 / 6
    assert "for the register: uncertainty: 0.61 mm, k: 2" in text
    assert "STU009 part P4 by B spreads over 1.02" in warnings


def test_a_tolerance_may_be_told_as_its_width(tmp_path, capsys) -> None:
    run(["gauge", "study", str(study_file(tmp_path)), "--tolerance", "0.006 m", "--json"])
    assert told(capsys)["shares"]["gauge"]["percent_of_tolerance"] == "30.24"


def test_the_interaction_can_be_kept(tmp_path, capsys) -> None:
    run(["gauge", "study", str(study_file(tmp_path)), "--interaction", "with", "--json"])
    result = told(capsys)
    assert result["interaction_pooled"] is False
    assert result["anova"][2]["source"] == "interaction"
    assert float(result["anova"][2]["p"]) == pytest.approx(0.97411, abs=1e-5)


@pytest.mark.parametrize(("name", "start"), [("a.png", b"\x89PNG"), ("a.svg", b"<?xml"), ("a.PDF", b"%PDF")])
def test_a_plot_is_drawn_in_the_kind_its_name_asks_for(tmp_path, capsys, name, start) -> None:
    picture = tmp_path / "pictures" / name
    assert run(["gauge", "study", str(study_file(tmp_path)), "--to", str(picture)]) == 0
    assert picture.read_bytes().startswith(start)
    assert f"drawn in {picture}" in capsys.readouterr().out


def test_a_picture_of_another_kind_is_refused_before_anything_is_done(tmp_path, capsys, shop) -> None:
    picture = tmp_path / "a.bmp"
    where = ["--to", str(picture), "--gauge", "IND-03", "--write", "--shop", str(shop)]
    assert run(["gauge", "study", str(study_file(tmp_path)), *where]) == 2
    assert "end its name in .png, .svg, .pdf" in capsys.readouterr().err
    assert not picture.exists()
    assert (shop / "gauges.yaml").read_text(encoding="utf-8") == GAUGES


def test_without_set_the_register_is_left_alone(tmp_path, shop) -> None:
    assert run(["gauge", "study", str(study_file(tmp_path)), "--gauge", "IND-03", "--shop", str(shop)]) == 0
    assert (shop / "gauges.yaml").read_text(encoding="utf-8") == GAUGES


def test_set_writes_the_uncertainty_and_keeps_the_rest_of_the_register(tmp_path, capsys, shop) -> None:
    where = ["--gauge", "IND-03", "--write", "--shop", str(shop), "--json"]
    assert run(["gauge", "study", str(study_file(tmp_path, "caliper")), *where]) == 0
    result = told(capsys)
    assert result["register"] == str(shop / "gauges.yaml")
    assert "resolution" in result["counted"]
    line = "  - id: IND-03                       # the good one\n"
    added = f"    uncertainty: {result['expanded_uncertainty']}\n    k: 2\n"
    written = (shop / "gauges.yaml").read_text(encoding="utf-8")
    assert sorted(written.splitlines()) == sorted((GAUGES + added).splitlines())
    assert line in written
    assert run(["gauge", "study", str(study_file(tmp_path, "caliper")), *where]) == 0
    assert (shop / "gauges.yaml").read_text(encoding="utf-8") == written


def test_set_replaces_an_uncertainty_that_was_there(tmp_path, shop) -> None:
    where = ["--gauge", "IND-04", "--write", "--shop", str(shop), "--k", "3"]
    assert run(["gauge", "study", str(study_file(tmp_path, "caliper")), *where]) == 0
    line = (shop / "gauges.yaml").read_text(encoding="utf-8").splitlines()[-1]
    assert line == "  - {id: IND-04, kind: indicator, uncertainty: 0.011 mm, interval_days: 365, k: 3}"


def test_a_calibration_with_an_uncertainty_of_its_own_is_counted_and_pointed_out(
    tmp_path, capsys, shop
) -> None:
    own = GAUGES.replace("certificate: C-2201", "certificate: C-2201, uncertainty: 2 mm, k: 2")
    (shop / "gauges.yaml").write_text(own, encoding="utf-8")
    where = ["--gauge", "IND-03", "--write", "--shop", str(shop), "--json"]
    assert run(["gauge", "study", str(study_file(tmp_path, "caliper")), *where]) == 0
    result = told(capsys)
    assert result["expanded_uncertainty"] == "2.1 mm"
    assert [finding["code"] for finding in result["findings"] if finding["code"] == "STU011"] == ["STU011"]


REFUSED = {
    "no such file": (["no.csv"], "no.csv cannot be read: No such file or directory"),
    "write without gauge": (["aiag.csv", "--write"], "--write needs the gauge"),
    "tolerance in another unit": (["aiag.csv", "--tolerance", "3 N"], "tolerance '3 N' is not understood"),
    "tolerance of nothing": (["aiag.csv", "--tolerance", "0 mm"], "tolerance '0 mm' is not above zero"),
    "one-sided tolerance": (["aiag.csv", "--tolerance", "max 3 mm"], "has one bound only"),
    "resolution without unit": (["aiag.csv", "--resolution", "0.1"], "resolution '0.1' is not understood"),
    "k in words": (["aiag.csv", "--k", "two"], "coverage factor: 'two' is not a number"),
    "k of nothing": (["aiag.csv", "--k", "0"], "coverage factor 0 is not above zero"),
    "unknown method": (["aiag.csv", "--method", "guess"], "--method"),
    "unknown gauge": (["aiag.csv", "--gauge", "IND-33", "--shop", "shop"], "did you mean 'IND-03'?"),
    "no shop": (["aiag.csv", "--gauge", "IND-03", "--shop", "nowhere"], "there is no shop in nowhere"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_done_is_said_in_one_line(tmp_path, capsys, shop, monkeypatch, name) -> None:
    arguments, message = REFUSED[name]
    study_file(tmp_path)
    monkeypatch.chdir(tmp_path)
    assert run(["gauge", "study", *arguments]) == 2
    assert message in capsys.readouterr().err


def test_a_study_without_spread_sets_no_uncertainty(tmp_path, capsys, shop) -> None:
    path = tmp_path / "still.csv"
    rows = [f"{part},{who},{trial},5 mm" for part in (1, 2) for who in "AB" for trial in (1, 2)]
    path.write_text("\n".join(["part,operator,trial,value", *rows]), encoding="utf-8")
    assert run(["gauge", "study", str(path)]) == 0
    assert "%GRR - (nothing varies), no spread in the gauge" in capsys.readouterr().out
    assert run(["gauge", "study", str(path), "--gauge", "IND-04", "--write", "--shop", str(shop)]) == 2
    assert "it gives no uncertainty" in capsys.readouterr().err


def test_problems_of_the_file_are_all_listed_with_their_lines_and_exit_1(tmp_path, capsys) -> None:
    path = tmp_path / "bad.csv"
    path.write_text(
        "part,operator,trial,value\n1,A,1,\n1,A,2,5 mmm\n1,B,1,5 N,x\n1,B,1,4 N\n", encoding="utf-8"
    )
    assert run(["gauge", "study", str(path), "--json"]) == 1
    found = [
        (finding["code"], finding["at"].removeprefix(f"{path}:")) for finding in told(capsys)["findings"]
    ]
    assert found == [("STU004", "2:4"), ("STU002", "3:4"), ("STU004", "4:5"), ("STU007", "5")]


def test_gaps_and_too_small_designs_are_findings_of_the_file(tmp_path, capsys) -> None:
    path = study_file(tmp_path)
    whole = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join(whole[:-1]), encoding="utf-8")
    assert run(["gauge", "study", str(path)]) == 1
    assert f"{path} STU006 operator C measured part P10 2 times, 3 are expected" in capsys.readouterr().err
    path.write_text("\n".join(whole[:5]), encoding="utf-8")
    assert run(["gauge", "study", str(path)]) == 1
    assert "STU005 a study needs two parts or more, there are 1" in capsys.readouterr().err


def test_a_gauge_that_takes_too_much_of_the_variation_is_warned_of(tmp_path, capsys) -> None:
    path = tmp_path / "poor.csv"
    rows = [f"{p},{o},{t},{p + 3 * t + 2 * o} mm" for p in (1, 2, 3) for o in (1, 2) for t in (1, 2)]
    path.write_text("\n".join(["part,operator,trial,value", *rows]), encoding="utf-8")
    assert run(["gauge", "study", str(path)]) == 0
    text, warnings = capsys.readouterr()
    assert "not acceptable" in text
    assert "STU012 the gauge takes" in warnings
    assert "STU010" not in warnings


def test_steps_too_coarse_are_warned_of_instead_of_single_ranges(tmp_path, capsys) -> None:
    run(["gauge", "study", str(study_file(tmp_path, "caliper")), "--json"])
    found = told(capsys)["findings"]
    assert [serial["code"] for serial in found] == ["STU010"]
    assert found[0]["what"].startswith("19 of 30 cells show no spread at all")


def test_a_shop_with_a_broken_register_is_refused_with_its_findings(tmp_path, capsys, shop) -> None:
    (shop / "gauges.yaml").write_text("format: 1\ngauges: 3\n", encoding="utf-8")
    assert run(["gauge", "study", str(study_file(tmp_path)), "--gauge", "IND-03", "--shop", str(shop)]) == 1
    assert "gauges.yaml:2" in capsys.readouterr().err


def test_the_help_has_an_example(capsys) -> None:
    assert run(["gauge", "study", "--help"]) == 0
    assert "Example: traveler gauge study indicator.csv" in " ".join(capsys.readouterr().out.split())
