"""What every layer of tests shares: real databases, one fresh and migrated for each test."""

from __future__ import annotations

import gc
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import hypothesis
import pytest

from app import migrate
from app.config import Settings
from app.db import Database
from tests.databases import opened
from tests.postgres import TEMPLATE, Cluster, quick_place
from tests.typed import Run, typing

# A slow machine is no fault: nothing is held against a clock.
hypothesis.settings.register_profile("unhurried", deadline=None)
hypothesis.settings.load_profile("unhurried")

# Hundreds of databases are made, written and thrown away: none of them waits for a disk.
if memory := quick_place():
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", memory)


# Ten thousand collected tests are never rubbish; looking through them again and again for some
# took a seventh of the run's processor time.
gc.set_threshold(100_000, 50, 100)


def pytest_collection_finish() -> None:
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated SQLite file in one piece; copying it takes a millisecond."""
    folder = tmp_path_factory.mktemp("template")
    file = folder / "migrated.sqlite3"
    migrate.upgrade(f"sqlite:///{file}")
    return migrate.copy_sqlite(file, folder, "template")


@pytest.fixture(scope="session")
def postgres() -> Iterator[Cluster]:
    """The throw-away PostgreSQL server, started once, on demand."""
    cluster = Cluster()
    yield cluster
    cluster.stop()


@pytest.fixture
def sqlite_url(sqlite_template: Path, tmp_path: Path) -> str:
    """A fresh SQLite file with every table."""
    file = tmp_path / "seatwright.sqlite3"
    shutil.copyfile(sqlite_template, file)
    return f"sqlite:///{file}"


@pytest.fixture
def sqlite_start(sqlite_template: Path) -> Path:
    """The file that a test's SQLite database is a copy of."""
    return sqlite_template


@pytest.fixture
def postgres_start() -> str:
    """The database that a test's PostgreSQL database is a copy of."""
    return TEMPLATE


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """A fresh database with every table, on SQLite and then on PostgreSQL."""
    if request.param == "sqlite":
        file = tmp_path / "seatwright.sqlite3"
        shutil.copyfile(request.getfixturevalue("sqlite_start"), file)
        yield f"sqlite:///{file}"
        return
    cluster: Cluster = request.getfixturevalue("postgres")
    name = cluster.new_database(request.getfixturevalue("postgres_start"))
    yield cluster.url(name)
    cluster.drop(name)


@pytest.fixture
def database(database_url: str) -> Iterator[Database]:
    """A fresh database on each of the two kinds: a test that takes it runs twice."""
    with opened(database_url) as database:
        yield database


@pytest.fixture
def sqlite_database(sqlite_url: str) -> Iterator[Database]:
    """A fresh SQLite database, for what does not depend on the kind."""
    with opened(sqlite_url) as database:
        yield database


@pytest.fixture
def make_settings(tmp_path: Path) -> Callable[..., Settings]:
    """Settings as the tests want them: cheap PINs, a temporary folder, the test client's name."""

    def make(**changes: object) -> Settings:
        options: dict[str, object] = {
            "data": tmp_path,
            "pin_cost": "cheap",
            "trusted_hosts": ("localhost", "127.0.0.1", "testserver"),
            "owner_code": "TEST-CODE",
        }
        return Settings(**(options | changes))  # type: ignore[arg-type]

    return make


@pytest.fixture
def settings(make_settings: Callable[..., Settings], sqlite_url: str) -> Settings:
    """Settings for a server on the fresh SQLite file of `sqlite_url`."""
    return make_settings(database_url=sqlite_url)


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Types a command; how it ended and all it said."""
    return typing(capsys, monkeypatch)
