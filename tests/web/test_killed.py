"""Power gone while tablets type: what was acknowledged is there, and nothing is half done."""

from __future__ import annotations

from app.config import Settings
from app.db import Database
from tests.web.bench import Bench
from tests.web.conftest import Cast
from tests.web.killing import survives

ROUNDS = 10


def test_every_acknowledged_reading_survives_ten_kills(
    bench: Bench, settings: Settings, database: Database, cast: Cast
) -> None:
    found = survives(bench, settings, database, cast, ROUNDS)
    assert found.acknowledged >= ROUNDS
    assert found.kept == found.acknowledged
