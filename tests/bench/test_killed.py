"""As in tests/web/test_killed.py, two hundred times; started by name, prints what it found.

.venv/bin/pytest tests/bench/test_killed.py -s
"""

from __future__ import annotations

from app.config import Settings
from app.db import Database
from tests.web.bench import Bench
from tests.web.conftest import *  # noqa: F403  (the page tests' shop)
from tests.web.conftest import Cast
from tests.web.killing import survives

ROUNDS = 200


def test_every_acknowledged_reading_survives_two_hundred_kills(
    bench: Bench, settings: Settings, database: Database, cast: Cast
) -> None:
    found = survives(bench, settings, database, cast, ROUNDS)
    print(f"\n{ROUNDS} kills: {found.acknowledged} readings acknowledged, {found.kept} there")
    assert found.kept == found.acknowledged
