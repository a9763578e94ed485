"""What thirty open screens cost that ask every three seconds whether anything is new."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest
from fastapi import FastAPI
from starlette.responses import PlainTextResponse
from starlette.testclient import TestClient

from app.config import Settings
from app.db import Database, now
from app.main import create_app
from app.migrate import upgrade
from app.models.person import Person
from app.services.sign_in import new_token, sign_in
from app.services.write import Write
from tests.web.conftest import HERE, open_the_shop

SCREENS, EVERY_SECONDS = 30, 3
ROUNDS = 300


@pytest.fixture
def app(tmp_path: Path) -> FastAPI:
    settings = Settings(data=tmp_path, trusted_hosts=("testserver",))
    upgrade(settings.url)
    app = create_app(settings, Database(settings.url))
    app.add_api_route("/bare", lambda: PlainTextResponse("bare"))
    return app


def signed_in(app: FastAPI) -> TestClient:
    token = new_token()
    database: Database = app.state.database
    with database.write() as session:
        open_the_shop(session)
    with database.write() as session:
        marek = session.get_one(Person, 3)
        tx = Write(session, by=None, at=now())
        sign_in(tx, marek.id, marek.pin_hash, token=token, address="here")
    browser = TestClient(app, base_url=HERE)
    browser.cookies.set(app.state.settings.cookie_name, token)
    return browser


def median_ms(ask: Callable[[], object]) -> float:
    """The middle of many, in milliseconds of this process's own time."""
    found = []
    for _ in range(ROUNDS):
        started = time.process_time()
        ask()
        found.append((time.process_time() - started) * 1000)
    return sorted(found)[ROUNDS // 2]


def test_a_question_costs_little_more_than_a_bare_answer(app: FastAPI) -> None:
    browser = signed_in(app)
    newest = browser.get("/live").headers["Newest"]
    with browser:
        assert browser.get("/live", params={"since": newest}).status_code == 204
        bare = median_ms(lambda: browser.get("/bare"))
        poll = median_ms(lambda: browser.get("/live", params={"since": newest}))
    per_second = SCREENS / EVERY_SECONDS
    busy = (poll - bare) * per_second / 10
    print(
        f"\nbare {bare:.2f} ms, poll {poll:.2f} ms: {poll / bare:.2f} of a bare answer; "
        f"{SCREENS} screens take {busy:.1f} % of one core beyond theirs"
    )
    assert poll / bare < 3
