"""The arrows between the rooms, and what lies at the top of the house."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
TOP = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE",
    "traveler", "templates", "tests", "product_defs", "docs",
}  # fmt: skip


def test_the_rooms_import_inwards_only():
    done = subprocess.run(
        [Path(sys.executable).with_name("lint-imports")], cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


def test_the_top_level_holds_what_the_house_has_and_nothing_else():
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    top = {name.split("/")[0] for name in tracked}
    assert {name for name in top if not name.startswith(".")} == TOP


def test_the_readme_opens_with_the_job_in_one_paragraph():
    title, blank, *rest = (ROOT / "README.md").read_text().splitlines()
    paragraph = " ".join(rest[: rest.index("")])
    assert title == "# traveler"
    assert blank == ""
    for word in ("assembles", "YAML", "serial", "PDF", "QR", "quality", "complains"):
        assert word in paragraph


def test_the_pure_rooms_do_not_name_binary_floats_outside_the_numeric_modules():
    import ast

    numeric = {"distributions.py", "form.py"}
    guilty = []
    for room in ("measure", "definition", "verdict"):
        for path in (ROOT / "traveler" / room).rglob("*.py"):
            if path.name in numeric:
                continue
            for node in ast.walk(ast.parse(path.read_text())):
                name = isinstance(node, ast.Name) and node.id == "float"
                literal = isinstance(node, ast.Constant) and isinstance(node.value, float)
                if name or literal:
                    guilty.append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert guilty == []
