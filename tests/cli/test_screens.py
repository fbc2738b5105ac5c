"""Every screen of the demonstration: its own text, and each command in the shop it leaves.

Each is compared with a text in ``tests/golden/screens``: wide, with 60 columns, and as JSON.
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
import typer

from traveler.cli.answer import console
from traveler.cli.main import build, run
from traveler.cli.shop import _show
from traveler.demo.stage import Scene
from traveler.demo.story import Story

NOW = "2026-11-02T12:00:00+00:00"
WIDE, NARROW = "120", "60"
FORMS = (("wide", [], WIDE), ("narrow", [], NARROW), ("json", ["--json"], WIDE))
WINDER, OTHER, WHEEL, UNDONE = "BW4-2644-00210", "BW4-2644-0022Z", "PW230-2610-0018", "PW230-2610-0026"
CASE, PLATE = "BW4-2637-0011E/71", "EP-2634-0017"

SCREENS = f"""
status
status {UNDONE}
status --all
validate {UNDONE}
validate {WINDER} --slots
trace {OTHER}
trace --lot P-2112/77
issue bobbin-winder --variant 4 --order 4480 --due 2026-12-01 --by rhale
print {UNDONE} --by tkiln
record filled/{UNDONE}-49.csv
enter {UNDONE} 30-9 done --by evolt
enter {UNDONE} 30-8 250 --by evolt
adjust {UNDONE} belt-deflection
note {UNDONE} 'Pedal cable rubs at the left leg' --by tkiln
stop {OTHER} --reason 'Bearing lot P-2112/77 under suspicion' --by qmoor
release {UNDONE} --by qmoor
release {PLATE} --by qmoor
crate {UNDONE} --by pstrap
place {WHEEL} --to 'rack 4' --by pstrap
ship {WHEEL} --to 'Collin Thread Hall' --by sdock
complain {WINDER} --text 'Hums at full speed' --symptom noise --by sdock
explain REA001
explain NOSUCH
unit files {WINDER}
unit dossier {WINDER} --to dossier.html
unit strike {UNDONE} 14 --reason 'Read on the wrong gauge' --by qmoor
unit attach {UNDONE} photo.png --text 'Left leg' --by tkiln
unit blank {UNDONE} --to blank.csv
unit decide {OTHER} 72 --as use-as-is --concession C-0012 --reason 'Agreed with the customer' --by qmoor
unit stops
case show {CASE}
case update {CASE} --cause 'Bearing lot P-2112/77 too tight' --lies-in purchased --by qmoor
case list
case causes {CASE}
case contain {CASE} --lot P-2112/77
gauge list
gauge list IND-03
gauge due --within 1y
gauge calibrate IND-07 --result good --on 2026-11-02 --as-found in --certificate C-3311 --by qmoor
gauge withdraw IND-03 --reason 'Dropped' --by qmoor
gauge restore IND-03 --by qmoor
gauge study study.csv --tolerance '0 to 0.1 mm'
gauge recall IND-03 --error '+0.02 mm' --since 2026-08-01
people list
people authority
people add bnew --name 'B. New' --role assembler --by dmarrow
people leave awick --on 2026-11-30 --by dmarrow
people delegate quality --from qmoor --to rhale --until 2026-11-20 --by dmarrow
people pin tkiln --new-pin-file pin.txt --by dmarrow
people unlock tkiln --by dmarrow
definition check product_defs/bobbin-winder.yaml
definition schema
definition compare product_defs/end-plate.yaml changed.yaml
definition limits '25 H7'
readings statistics bobbin-winder runout
readings judge --limits 'max 0.05 mm' --reading '0.048 mm' --uncertainty '0.003 mm' --rule guarded
readings export --to tables.sqlite
records verify
records seal --to sealed.jsonl
records export {WINDER} --to bag
records import bag --by qmoor
records backup backup
records restore backup
records move --to sqlite:///moved.db
shop create elsewhere --name 'Fernhill Tools'
shop watch
"""
COMMANDS = SCREENS.strip().splitlines()

STUDY = "part,operator,trial,value\n" + "".join(
    f"{part},{person},{trial},0.{30 + 3 * part + trial + len(person) % 3:03} mm\n"
    for part in range(1, 11)
    for person in ("tkiln", "awick", "iwren")
    for trial in (1, 2)
)


def words(line: str) -> list[str]:
    """The arguments of a line, as a shell splits them."""
    return [quoted or plain for quoted, plain in re.findall(r"'([^']*)'|(\S+)", line)]


def file_name(line: str) -> str:
    """The golden text of a command: its own words, without what it is asked about."""
    return re.sub(r"[^a-zA-Z0-9]+", "-", line).strip("-")[:60] + ".txt"


def scrubbed(text: str, folder: Path) -> str:
    """The text without what differs from run to run: folders, digests, random names."""
    text = text.replace(str(folder), "SHOP").replace(str(folder.parent), "ABOVE")
    text = re.sub(r"\b[0-9a-f]{64}\b", "<digest>", text)
    text = re.sub(r"\b[0-9a-f]{8,32}…", "<digest>…", text)
    return "\n".join(line.rstrip() for line in text.splitlines()) + "\n"


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str, list[Scene]]]:
    """The demonstration, played once: the folder it leaves, what it showed, and its scenes."""
    from PIL import Image

    folder = tmp_path_factory.mktemp("screens") / "shop"
    scenes: list[Scene] = []
    play = Story.scenes

    def kept(story: Story) -> Iterator[Scene]:
        for scene in play(story):
            scenes.append(scene)
            yield scene

    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TRAVELER_NOW", NOW)
        patch.setenv("COLUMNS", WIDE)
        patch.setattr(Story, "scenes", kept)
        with redirect_stdout(StringIO()) as out:
            assert run(["demo", str(folder)]) == 0
    Image.new("RGB", (40, 30), "gray").save(folder / "photo.png")
    (folder / "pin.txt").write_text("4711\n", encoding="utf-8")
    (folder / "study.csv").write_text(STUDY, encoding="utf-8")
    plate = (folder / "product_defs/end-plate.yaml").read_text(encoding="utf-8")
    (folder / "changed.yaml").write_text(plate.replace("revision: C", "revision: D"), encoding="utf-8")
    yield folder, out.getvalue(), scenes
    shutil.rmtree(folder)


def test_the_demonstration_on_a_wide_terminal(
    played: tuple[Path, str, list[Scene]], golden: Callable[[str, str], None]
) -> None:
    folder, shown, _ = played
    golden("screens/demo.txt", scrubbed(shown, folder))


def test_the_demonstration_on_a_narrow_terminal(
    played: tuple[Path, str, list[Scene]],
    golden: Callable[[str, str], None],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    folder, _, scenes = played
    monkeypatch.setenv("COLUMNS", NARROW)
    screen = console()
    for number, scene in enumerate(scenes, 1):
        _show(screen, number, scene, folder)
    golden("screens/demo-narrow.txt", scrubbed(capsys.readouterr().out, folder))


def test_the_demonstration_as_json(
    played: tuple[Path, str, list[Scene]], golden: Callable[[str, str], None]
) -> None:
    folder, _, scenes = played
    document = json.dumps([scene.as_dict() for scene in scenes], ensure_ascii=False, indent=1)
    golden("screens/demo.json", scrubbed(document, folder))


@pytest.mark.parametrize("line", COMMANDS)
def test_each_command_in_the_shop_of_the_demonstration(
    line: str,
    played: tuple[Path, str, list[Scene]],
    tmp_path: Path,
    golden: Callable[[str, str], None],
    monkeypatch: pytest.MonkeyPatch,
    quick_trial: None,
) -> None:
    shown = []
    monkeypatch.setenv("TRAVELER_NOW", NOW)
    for name, more, columns in FORMS[:1] if line == "definition schema" else FORMS:
        folder = tmp_path / name / "shop"
        shutil.copytree(played[0], folder)
        monkeypatch.chdir(folder)
        monkeypatch.setenv("COLUMNS", columns)
        for before in BEFORE.get(" ".join(line.split()[:2]), []):
            with redirect_stdout(StringIO()):
                assert run(words(before)) == 0, before
        if line.startswith("records restore"):
            (folder / "records.db").unlink()
        with redirect_stdout(StringIO()) as out, redirect_stderr(StringIO()) as err:
            code = run([*words(line), *more])
        answer = scrubbed(out.getvalue() + err.getvalue(), folder)
        assert "Traceback" not in answer
        assert "a defect of traveler" not in answer
        shown.append(f"$ traveler {line} {' '.join(more)}".rstrip() + f"  [{name}, exit {code}]\n{answer}")
    golden(f"screens/{file_name(line)}", "\n".join(shown))


BEFORE = {
    "gauge restore": ["gauge withdraw IND-03 --reason 'Dropped' --by qmoor"],
    "records import": [f"records export {WINDER} --to bag"],
    "records restore": ["records backup backup"],
    "unit stops": [f"stop {OTHER} --reason 'Bearing lot under suspicion' --by qmoor"],
}
"""What has to be done before a screen says more than that there is nothing to do."""


def test_every_command_has_a_screen() -> None:
    def walk(command: Any, name: str) -> Iterator[str]:
        for part, inside in getattr(command, "commands", {}).items():
            yield from walk(inside, f"{name} {part}".strip())
        if not hasattr(command, "commands"):
            yield name

    missing = {
        name
        for name in walk(typer.main.get_command(build()), "")
        if not any(f"{line} ".startswith(f"{name} ") for line in COMMANDS)
    }
    assert missing == {"demo"}
