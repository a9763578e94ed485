"""The people of the shop in the tests, and the one open write they act through."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import Any

import pytest

from app.db import Database
from app.models.person import Person
from app.services.write import Write
from app.workflow.words import Role
from tests.services.cast import Cast
from tests.services.floor import Floor


@pytest.fixture
def cast(database: Database) -> Cast:
    """Olive owns the shop, Max machines, Wren writes service."""
    people = {
        Role.OWNER: Person(name="Olive", role=Role.OWNER, pin_hash="-"),
        Role.MACHINIST: Person(name="Max", role=Role.MACHINIST, pin_hash="-"),
        Role.SERVICE_WRITER: Person(name="Wren", role=Role.SERVICE_WRITER, pin_hash="-"),
    }
    with database.write() as session:
        session.add_all(people.values())
    return Cast(people[Role.OWNER], people[Role.MACHINIST], people[Role.SERVICE_WRITER])


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
def floor(database: Database, cast: Cast) -> Floor:
    """A crib, and an iron head of eight valves ready to be measured."""
    return Floor(database, cast)
