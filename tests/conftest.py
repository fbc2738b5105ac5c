"""Fixtures that every room's tests may use: a store's address, on SQLite and on PostgreSQL.

PostgreSQL is the server of ``TRAVELER_TEST_POSTGRES`` if that is set, else a private one that is started for
the tests where its programs are installed. With neither, its tests are skipped, or fail where
``TRAVELER_REQUIRE_ALL=1``. Each test gets a schema of its own.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from html import unescape
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Any, NoReturn

import pytest
from sqlalchemy import make_url

# Rewriting the assertions takes as long as all other collecting: what was rewritten is kept for the next run,
# also where the environment asks Python to write no bytecode.
sys.dont_write_bytecode = False

# Tables are laid out for the width of the screen; in tests it is always the same.
os.environ["COLUMNS"] = "120"

_HOW = "set TRAVELER_TEST_POSTGRES=postgresql://user@server/name, or install it: apt-get install postgresql"


GOLDEN = Path(__file__).parent / "golden"


def pytest_addoption(parser: pytest.Parser) -> None:
    words = "write the texts in tests/golden; read the difference"
    parser.addoption("--refresh-golden", action="store_true", help=words)


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """Compares a text with the file of this name in ``tests/golden``, or writes that file again."""

    def compare(name: str, text: str) -> None:
        file = GOLDEN / name
        if request.config.getoption("--refresh-golden"):
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, encoding="utf-8", newline="\n")
        assert file.is_file(), f"there is no {file}; run pytest with --refresh-golden and read what it writes"
        assert text == file.read_text(encoding="utf-8"), "if the change is meant: --refresh-golden"

    return compare


def _programs() -> Path | None:
    """Where initdb and pg_ctl are: on the path, or where Debian keeps them."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name))
    return folders[-1] if folders else None


def _run_as_server(*command: str | Path) -> None:
    """Run a server program; PostgreSQL refuses root, so then as its own user."""
    words = [str(word) for word in command]
    if os.geteuid() == 0:
        words = ["setpriv", "--reuid=postgres", "--regid=postgres", "--init-groups", *words]
    done = subprocess.run(words, capture_output=True, text=True, cwd="/", timeout=120)
    assert done.returncode == 0, done.stdout + done.stderr


def _missing(reason: str) -> NoReturn:
    if os.environ.get("TRAVELER_REQUIRE_ALL") == "1":
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session")
def missing() -> Callable[[str], NoReturn]:
    """Skips a test for want of a part of the system, with the reason; fails where all must be there."""
    return _missing


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """The address of a PostgreSQL database for tests."""
    given = os.environ.get("TRAVELER_TEST_POSTGRES")
    if given:
        yield given
        return
    programs = _programs()
    if programs is None:
        _missing(f"no PostgreSQL here; {_HOW}")
    folder = Path(tempfile.mkdtemp(prefix="traveler-pg-"))
    try:
        if os.geteuid() == 0:
            shutil.chown(folder, "postgres", "postgres")
        cluster = folder / "cluster"
        _run_as_server(
            programs / "initdb", "-D", cluster, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--no-sync"
        )
        settings = f"-c listen_addresses='' -c unix_socket_directories={folder} -c max_connections=200"
        _run_as_server(
            programs / "pg_ctl", "-D", cluster, "-l", folder / "log", "-o", settings, "-w", "start"
        )
        try:
            yield f"postgresql+psycopg://postgres@/postgres?host={folder}"
        finally:
            _run_as_server(programs / "pg_ctl", "-D", cluster, "-m", "immediate", "-w", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def _own_schema(server: str) -> Iterator[str]:
    """An address whose tables are nobody else's, dropped afterwards."""
    import psycopg

    schema = f"test_{secrets.token_hex(6)}"
    address = make_url(server).set(drivername="postgresql")
    plain = address.render_as_string(hide_password=False)
    with psycopg.connect(plain, autocommit=True) as connection:
        connection.execute(f"CREATE SCHEMA {schema}")
    own = address.set(drivername="postgresql+psycopg").update_query_dict(
        {"options": f"-csearch_path={schema}"}
    )
    yield own.render_as_string(hide_password=False)
    with psycopg.connect(plain, autocommit=True) as connection:
        connection.execute(f"DROP SCHEMA {schema} CASCADE")


@pytest.fixture
def postgres_url(postgres_server: str) -> Iterator[str]:
    """A PostgreSQL address whose tables are this test's own."""
    with _own_schema(postgres_server) as url:
        yield url


@pytest.fixture
def new_store_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Callable[[str], str]]:
    """``sqlite`` or ``postgresql`` → the address of an empty store, as many as a test needs."""
    with ExitStack() as opened:

        def made(kind: str) -> str:
            if kind == "sqlite":
                return f"sqlite:///{tmp_path / secrets.token_hex(6)}.db"
            return opened.enter_context(_own_schema(request.getfixturevalue("postgres_server")))

        yield made


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def store_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of an empty store, once on SQLite and once on PostgreSQL."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'records.db'}"
    return str(request.getfixturevalue("postgres_url"))


_LOOK = """<script>document.title = JSON.stringify({
    width: document.documentElement.scrollWidth,
    window: innerWidth,
    text: document.body.innerText.length,
    asked: performance.getEntriesByType("resource")
        .map(one => one.name).filter(one => !one.startsWith("data:")),
    broken: [...document.images].filter(one => !one.naturalWidth).length,
})</script></body>"""


@pytest.fixture
def browser(missing: Callable[[str], NoReturn], tmp_path: Path) -> Callable[[str, int], dict[str, Any]]:
    """Opens a page (its HTML, and how wide the window is) in Chromium, and tells what came of it.

    ``width`` of the page and of its ``window`` in pixels, length of the ``text``, what it ``asked`` for
    elsewhere, how many of its pictures are ``broken``.
    """
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if program is None:
        missing("no Chromium here to look at pages with; apt-get install chromium")

    def look(html: str, wide: int) -> dict[str, Any]:
        page = tmp_path / "looked-at.html"
        page.write_text(html.replace("</body>", _LOOK), encoding="utf-8")
        options = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"]
        options += [f"--user-data-dir={tmp_path / 'browser'}", f"--window-size={wide},900", "--dump-dom"]
        done = subprocess.run([program, *options, page.as_uri()], capture_output=True, text=True, timeout=120)
        title = re.search("<title>(.*?)</title>", done.stdout, re.DOTALL)
        assert title, done.stderr[-2000:]
        seen: dict[str, Any] = json.loads(unescape(title[1]))
        return seen

    return look


@pytest.fixture
def shop_folder(tmp_path: Path) -> Path:
    """The folder of a small shop with one small product, ``step-stool``; nothing is issued yet."""
    return Path(shutil.copytree(Path(__file__).parent / "world", tmp_path / "shop"))


@pytest.fixture(scope="session")
def tried() -> dict[tuple[str, str, str], object]:
    """Trial prints already made, by digest and variant: each takes a second and comes out the same."""
    return {}


@pytest.fixture(scope="session")
def large_store() -> ModuleType:
    """The builder of large stores, ``tests/bench/large_store.py``."""
    where = Path(__file__).parent / "bench" / "large_store.py"
    spec = spec_from_file_location("large_store", where)
    assert spec is not None
    assert spec.loader is not None
    module = sys.modules["large_store"] = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def year_of_work() -> ModuleType:
    """The builder of a shop with sixty units built, ``tests/year_of_work.py``."""
    spec = spec_from_file_location("year_of_work", Path(__file__).parent / "year_of_work.py")
    assert spec is not None
    assert spec.loader is not None
    module = sys.modules["year_of_work"] = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def built_year(year_of_work: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """The folder of that shop on SQLite, and what was built; to be read only."""
    from traveler.record.store import Store

    folder = Path(shutil.copytree(Path(__file__).parent / "world", tmp_path_factory.mktemp("year") / "shop"))
    with Store.open("sqlite:///records.db", folder=folder) as store:
        return folder, year_of_work.build(store, folder)


@pytest.fixture(scope="session")
def year(built_year: tuple[Path, Any]) -> Iterator[Any]:
    """The open office of that shop, three days after the last work; read only."""
    from datetime import timedelta

    from traveler.jobs.open import open_session

    folder, built = built_year
    opened = open_session(folder, built.end + timedelta(days=3))
    assert opened.session is not None, opened.findings
    with opened.session.store:
        yield opened.session


@pytest.fixture
def quick_trial(tried: dict[tuple[str, str, str], object], monkeypatch: pytest.MonkeyPatch) -> None:
    """The trial print before an issue is made once for each definition and variant in all tests."""
    from traveler.sheets.batch.requests import render_traveler

    def once(session: Any, shown: Any, plan: Any, *rest: Any, **more: Any) -> object:
        key = (plan.digest, plan.variant, f"{more}")
        if key not in tried:
            tried[key] = render_traveler(session, shown, plan, *rest, **more)
        return tried[key]

    monkeypatch.setattr("traveler.jobs.issue.render_traveler", once)
