"""The people of the shop in the tests, and the one open write they act through."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any
from typing import cast as cast_to

import pytest

from app.db import Database
from app.models.person import Person
from app.services.write import Write
from tests.postgres import TEMPLATE, Cluster
from tests.services.cast import Cast, found_cast, new_cast
from tests.services.floor import Done, Floor, Floors, nothing


@pytest.fixture(scope="session")
def floors(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest
) -> Floors:
    """Floors at every stage that a test has asked for, built once on each kind of database."""
    return Floors(
        sqlite_template,
        tmp_path_factory.mktemp("floor"),
        lambda: cast_to(Cluster, request.getfixturevalue("postgres")),
    )


@pytest.fixture
def stage() -> Done:
    """What was done on the floor already; a file or a test that starts further on says so."""
    return nothing


@pytest.fixture
def sqlite_start(request: pytest.FixtureRequest, sqlite_template: Path, floors: Floors) -> Path:
    """With the floor at its stage, for a test that works on it."""
    if "floor" not in request.fixturenames:
        return sqlite_template
    return floors.sqlite(request.getfixturevalue("stage"))


@pytest.fixture
def postgres_start(request: pytest.FixtureRequest, floors: Floors) -> str:
    """With the floor at its stage, for a test that works on it."""
    if "floor" not in request.fixturenames:
        return TEMPLATE
    return floors.postgresql(request.getfixturevalue("stage"))


@pytest.fixture
def cast(request: pytest.FixtureRequest, database: Database) -> Cast:
    """Olive owns the shop, Max machines, Wren writes service."""
    return found_cast(database) if "floor" in request.fixturenames else new_cast(database)


Writing = Callable[..., AbstractContextManager[Write]]


@pytest.fixture
def writing(database: Database, cast: Cast) -> Writing:
    """`with writing() as tx:` is one form sent by the machinist; `by=` names someone else."""

    @contextmanager
    def write(by: Person | None = cast.machinist, **options: Any) -> Iterator[Write]:
        with database.write() as session:
            yield Write(session, by=by, **options)

    return write


@pytest.fixture
def floor(database: Database, floors: Floors, stage: Done) -> Floor:
    """A crib, and an iron head of eight valves as far as `stage` says."""
    return floors.floor(stage, database)
