"""The shell: help and documentation for every command, light at start, one sentence for every failure."""

from __future__ import annotations

import codecs
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer.main

from traveler.cli import main as shell
from traveler.cli.main import GROUPS, VERBS, build, run
from traveler.definition.serial import check_character_ok

DOCS = Path(__file__).parents[2] / "docs" / "commands.md"
HEAVY = ("weasyprint", "pint", "scipy", "matplotlib", "sqlalchemy", "alembic", "pikepdf", "numpy")


def commands() -> Iterator[tuple[str, Any]]:
    """Every command by its full name."""

    def walk(command: Any, name: tuple[str, ...]) -> Iterator[tuple[str, Any]]:
        if hasattr(command, "commands"):
            for part, inside in command.commands.items():
                yield from walk(inside, (*name, part))
        else:
            yield " ".join(name), command

    yield from walk(typer.main.get_command(build()), ())


ALL = dict(commands())


def test_there_are_commands_for_the_whole_job() -> None:
    assert set(ALL) >= {
        "definition check", "issue", "print", "unit blank", "record", "enter", "adjust", "note",
        "unit strike", "status", "validate", "release", "crate", "place", "ship", "trace",
        "records verify", "demo", "shop create",
    }  # fmt: skip


@pytest.mark.parametrize("name", ALL)
def test_every_command_explains_itself(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*name.split(), "--help"]) == 0
    out = capsys.readouterr().out
    assert len(ALL[name].help.split("Example:")[0].split()) > 5
    assert f"Example: traveler {name}" in ALL[name].help
    assert f"Example: traveler {name}" in out
    assert all(parameter.help for parameter in ALL[name].params), "an option without a word"


@pytest.mark.parametrize("name", ALL)
def test_every_command_speaks_json(name: str) -> None:
    assert "--json" in {option for parameter in ALL[name].params for option in parameter.opts}


@pytest.mark.parametrize("name", ALL)
def test_every_command_is_documented_with_an_example(name: str) -> None:
    text = DOCS.read_text(encoding="utf-8")
    assert f"## traveler {name}\n\n```sh\ntraveler {name}" in text
    assert f"(#traveler-{name.replace(' ', '-')})" in text


def test_no_command_is_documented_that_is_not_there() -> None:
    found = re.findall(r"^## traveler (.+)$", DOCS.read_text(encoding="utf-8"), re.MULTILINE)
    assert sorted(found) == sorted(ALL)


def test_serials_in_help_and_documentation_could_have_been_given() -> None:
    texts = [DOCS.read_text(encoding="utf-8"), *(command.help for command in ALL.values())]
    serials = set(re.findall(r"\b[A-Z]{2}\d+-\d{4}-\d{4}[0-9A-Z*]", " ".join(texts)))
    assert serials
    assert [serial for serial in serials if not check_character_ok(serial)] == []


LIGHT = f"""
import sys
from traveler.cli.main import run
code = run(["--help"])
print("loaded:", [name for name in {HEAVY} if name in sys.modules])
sys.exit(code)
"""


def test_help_loads_nothing_heavy() -> None:
    done = subprocess.run([sys.executable, "-c", LIGHT], capture_output=True, text=True, timeout=120)
    assert (done.returncode, done.stdout.splitlines()[-1]) == (0, "loaded: []")


def test_the_help_of_the_whole_fits_a_screen(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for columns, wanted in (("80", "--help"), ("200", "-h"), ("60", "-h")):
        monkeypatch.setenv("COLUMNS", columns)
        assert run([wanted]) == 0
        lines = capsys.readouterr().out.splitlines()
        assert len(lines) <= 40 or columns == "60"
        assert max(map(len, lines)) <= int(columns)


def test_fifteen_daily_commands_and_eight_groups(capsys: pytest.CaptureFixture[str]) -> None:
    assert len(VERBS["Daily work"]) == 15
    assert VERBS["First steps"] == ("demo", "explain")
    assert len(GROUPS) == 8
    assert {name for name in ALL if " " not in name} == {*VERBS["Daily work"], *VERBS["First steps"]}
    assert {name.split()[0] for name in ALL if " " in name} == set(GROUPS)


def test_an_option_means_the_same_in_every_command() -> None:
    """Options that many commands share take a value of one kind; those of old names are gone."""
    metavars: dict[str, set[str | None]] = {}
    for command in ALL.values():
        for each in command.params:
            for option in each.opts:
                metavars.setdefault(option, set()).add(each.metavar)
    for option in ("--by", "--at", "--on", "--since", "--until", "--due", "--reason", "--text", "--pin-file"):
        assert len(metavars[option]) == 1, (option, metavars[option])
    for option in ("--gauge", "--lot", "--order", "--slot", "--symptom", "--unit", "--language", "--shop"):
        assert len(metavars[option]) == 1, (option, metavars[option])
    assert not {"--what", "--where", "--list", "--date", "--set", "--plot", "--sheet-file"} & set(metavars)


def test_the_version_is_shown(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"]) == 0
    assert re.fullmatch(r"traveler \d+\.\d+\.\d+\n", capsys.readouterr().out)


def completed(words: str, folder: Path) -> list[str]:
    """What the shell is offered after these words."""
    program = "from traveler.cli.main import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, cwd=folder, timeout=120,
        env={
            **os.environ, "_TRAVELER_COMPLETE": "complete_bash", "COMP_WORDS": words,
            "COMP_CWORD": str(len(words.split(" ")) - 1),
        },
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


def test_the_shell_completes_commands_options_and_what_the_shop_has(shop_folder: Path) -> None:
    assert completed("traveler re", shop_folder) == ["record", "release", "readings", "records"]
    assert completed("traveler gauge ca", shop_folder) == ["calibrate"]
    assert "--by" in completed("traveler note X Y --", shop_folder)
    assert completed("traveler note X Y --by q", shop_folder) == ["qmoor"]
    assert completed("traveler gauge withdraw IND", shop_folder) == ["IND-03", "IND-07"]
    assert completed("traveler issue st", shop_folder) == ["step-stool"]
    assert completed("traveler status S", shop_folder) == []


def test_help_lists_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--help"]) == 0
    out = capsys.readouterr().out
    assert [name for name in ALL if name.split()[0] not in out] == []


@pytest.mark.parametrize("words", [[], *([group] for group in GROUPS)])
def test_without_a_command_the_help_page_alone_is_shown(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(words) == 0
    out, err = capsys.readouterr()
    assert out.startswith(" ".join(["Usage: traveler", *words]))
    assert err == ""


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        ("watch", "did you mean 'traveler shop watch'? See 'traveler --help'"),
        ("verify", "did you mean 'traveler records verify'? See 'traveler --help'"),
        ("dossier", "did you mean 'traveler unit dossier'? See 'traveler --help'"),
        ("gauge trace", "did you mean 'traveler trace'? See 'traveler gauge --help'"),
        ("isue", "did you mean 'traveler issue'? See 'traveler --help'"),
        ("xyzzy", "see 'traveler --help'"),
    ],
)
def test_a_command_that_is_elsewhere_is_named(
    words: str, hint: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(words.split()) == 2
    assert capsys.readouterr().err == f"traveler: there is no command 'traveler {words}'; {hint}\n"


def test_a_shop_named_before_the_command_is_explained(capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["--shop", "here", "status"], ["--shop=here", "status"]):
        assert run(words) == 2
        assert "--shop stands before the command; write it after the command" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("issue x --variant 2 --by a --count many", "--count must be a whole number, found 'many'"),
        ("issue x --variant 2 --by a --quantity 0", "--quantity must be at least 1, found '0'"),
        ("unit decide X one --as scrap --by a", "STOP must be a whole number, found 'one'"),
        ("unit blank X --format pdf", "--format: 'pdf' is not one of 'csv', 'yaml'"),
    ],
)
def test_a_wrong_value_is_told_in_our_words(
    words: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(words.split()) == 2
    assert capsys.readouterr().err.startswith(f"traveler: {told}; see 'traveler ")


@pytest.mark.parametrize("columns", ["50", "64", "80", "97"])
def test_no_option_is_folded_at_a_hyphen(
    columns: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    for name in ALL:
        assert run([*name.split(), "--help"]) == 0
        out = capsys.readouterr().out
        assert not re.search(r"[a-z]-$|x>=", out, re.MULTILINE), (name, out)
        assert out.isascii() or "\N{NON-BREAKING HYPHEN}" not in out


def test_a_terminal_that_lacks_signs_shows_others_for_them(shop_folder: Path) -> None:
    program = "import sys; from traveler.cli.main import main; main()"
    words = [sys.executable, "-c", program, "people", "authority", "--shop", str(shop_folder)]
    done = subprocess.run(
        words, capture_output=True, env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    )
    assert done.returncode == 0, done.stderr
    assert b"\\u" not in done.stdout
    assert b"-----" in done.stdout
    assert b"   - may not, by this shop's settings" in done.stdout


def test_a_sign_without_a_replacement_stays_an_escape() -> None:
    from traveler.cli.answer import PLAIN, written_plainly

    codecs.register_error("plainly", written_plainly)
    assert "".join(PLAIN.values()).isascii()
    text = "0.5 ± 0.1 µm² ≤ 3 → x\u4e2d\udcff"
    assert text.encode("ascii", "plainly") == b"0.5 +/- 0.1 um^2 <= 3 -> x\\u4e2d\\udcff"


@pytest.mark.parametrize(
    "arguments",
    [
        ["nosuch"],
        ["issue"],
        ["issue", "x", "--count", "many"],
        ["trace", "--nosuch"],
        ["readings", "judge", "--rule", "odd"],
    ],
)
def test_wrong_usage_is_one_sentence_and_where_to_look(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("traveler: ")
    assert err.count("\n") == 1
    assert "--help'" in err


def test_wrong_usage_with_json_is_one_document(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["issue", "x", "--json"]) == 2
    document = json.loads(capsys.readouterr().out)
    assert (document["exit"], document["findings"]) == (2, [])
    assert "--variant" in document["error"]


def test_an_error_nobody_expected_is_one_sentence_with_a_report(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken() -> None:
        msg = "kaput"
        raise RuntimeError(msg)

    monkeypatch.setattr(shell, "build", lambda: lambda **_: broken())
    assert run(["records", "verify"]) == 2
    err = capsys.readouterr().err
    assert err.startswith("traveler: a defect of traveler itself: RuntimeError: kaput; the report is in ")
    report = Path(err.strip().rsplit(" ", 1)[1])
    assert "in broken" in report.read_text(encoding="utf-8")
    report.unlink()


def test_a_reader_that_goes_away_is_no_defect() -> None:
    program = "import sys; from traveler.cli.main import main; sys.argv[1:]= ['definition', 'schema']; main()"
    reading, writing = os.pipe()
    os.close(reading)
    shown = subprocess.run([sys.executable, "-c", program], stdout=writing, stderr=subprocess.PIPE, text=True)
    os.close(writing)
    assert (shown.returncode, shown.stderr) == (2, "")


def test_a_file_name_that_is_no_text_can_be_spoken_of(tmp_path: Path) -> None:
    name = os.fsencode(tmp_path / "r") + b"\xff.csv"
    program = b"import sys; from traveler.cli.main import main; main()"
    done = subprocess.run([os.fsencode(sys.executable), b"-c", program, b"record", name], capture_output=True)
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr
    assert b"there is no file" in done.stderr
