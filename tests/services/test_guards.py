"""Ways round the guards on the record."""

from __future__ import annotations

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from app.db import Database
from tests.services.floor import Floor


def test_replacing_a_row_of_the_log_is_refused_like_removing_it(
    floor: Floor, database: Database
) -> None:
    if not database.is_sqlite:
        # PostgreSQL knows no OR REPLACE; its nearest way is an update of the old row.
        statement = (
            "INSERT INTO event (id, at, verb, subject, body, prev, hash) "
            "SELECT id, at, 'forged', subject, body, prev, hash FROM event WHERE id = 1 "
            "ON CONFLICT (id) DO UPDATE SET verb = 'forged'"
        )
    else:
        statement = (
            "INSERT OR REPLACE INTO event (id, at, verb, subject, body, prev, hash) "
            "SELECT id, at, 'forged', subject, body, prev, hash FROM event WHERE id = 1"
        )
    forging = pytest.raises(DBAPIError, match="never")
    with forging, database.write() as session:
        session.execute(text(statement))
    with database.read() as session:
        verb = session.execute(text("SELECT verb FROM event WHERE id = 1")).scalar_one()
        assert verb != "forged"
