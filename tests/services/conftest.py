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
from tests.services.floor import START, Floor, Floors


@pytest.fixture(scope="session")
def floors(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest
) -> Floors:
    """The floor on each kind of database, built once."""
    return Floors(
        sqlite_template,
        tmp_path_factory.mktemp("floor"),
        lambda: cast_to(Cluster, request.getfixturevalue("postgres")),
    )


@pytest.fixture
def sqlite_start(request: pytest.FixtureRequest, sqlite_template: Path, floors: Floors) -> Path:
    """With the floor laid out, for a test that works on it."""
    return floors.sqlite() if "floor" in request.fixturenames else sqlite_template


@pytest.fixture
def postgres_start(request: pytest.FixtureRequest, floors: Floors) -> str:
    """With the floor laid out, for a test that works on it."""
    return floors.postgresql() if "floor" in request.fixturenames else TEMPLATE


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
def floor(database: Database, cast: Cast, floors: Floors) -> Floor:
    """A crib, and an iron head of eight valves ready to be measured."""
    return Floor.found(database, cast, START + floors.took)
