"""The wheel carries the templates and the sample products, so an installed program works from any folder."""

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parent.parent


def test_the_wheel_carries_templates_products_and_migrations(tmp_path):
    subprocess.run(
        [
            sys.executable,
            "-m",
            "pip",
            "wheel",
            "-q",
            "--no-deps",
            "--no-build-isolation",
            "-w",
            tmp_path,
            ROOT,
        ],
        check=True,
        capture_output=True,
    )
    (wheel,) = tmp_path.glob("traveler-*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    for folder in ("templates", "product_defs"):
        shipped = {
            f"traveler/_shipped/{path.relative_to(ROOT)}"
            for path in (ROOT / folder).rglob("*")
            if path.is_file() and "__pycache__" not in path.parts
        }
        assert shipped, folder
        assert shipped <= names
    migrations = (ROOT / "traveler" / "record" / "migrations").rglob("*.py")
    assert {str(path.relative_to(ROOT)) for path in migrations} <= names
