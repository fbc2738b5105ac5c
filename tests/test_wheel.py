"""The wheel carries the templates and the sample products, so an installed program works from any folder."""

import re
import subprocess
import sys
import tomllib
import zipfile
from email.parser import BytesParser
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> zipfile.ZipFile:
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "--no-build-isolation", "-w", folder]
    subprocess.run([*command, ROOT], check=True, capture_output=True)
    (file,) = folder.glob("traveler-*.whl")
    return zipfile.ZipFile(file)


def test_the_wheel_carries_templates_products_and_migrations(wheel):
    names = set(wheel.namelist())
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


def test_the_wheel_carries_notices_and_license_texts(wheel):
    """An installed program has the notices beside the pieces, and the texts with the metadata."""
    names = set(wheel.namelist())
    assert {"traveler/_shipped/templates/NOTICE.md", "traveler/measure/NOTICE.md"} <= names
    (metadata,) = (name for name in names if name.endswith(".dist-info/METADATA"))
    told = BytesParser().parsebytes(wheel.read(metadata))
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert told["License-Expression"] == project["license"]
    assert set(project["license"].split(" AND ")) == {
        "MIT", "Apache-2.0", "Bitstream-Vera", "LicenseRef-Arev",
    }  # fmt: skip
    folder = metadata.removesuffix("METADATA") + "licenses/"
    kept = {name.removeprefix(folder) for name in names if name.startswith(folder)}
    assert kept == set(told.get_all("License-File"))
    assert {"LICENSE", "templates/licenses/Apache-2.0.txt", "templates/fonts/LICENSE.txt"} <= kept


def test_the_notice_names_every_piece_that_is_not_ours():
    """Fonts and the marker table; text, styles, icons and pages are the project's own."""
    notice = (ROOT / "templates" / "NOTICE.md").read_text(encoding="utf-8")
    fonts = (ROOT / "templates" / "fonts").glob("*.ttf")
    assert "corners.txt" in notice
    assert {re.sub(r"-.*", "", font.name) for font in fonts} <= set(re.findall(r"Traveler\w+", notice))
    for text in re.findall(r"`([\w./-]+\.txt)`", notice):
        assert (ROOT / "templates" / text).is_file(), text
