"""What a server writes down of itself: enough to find a fault, and nothing to sign in with."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlmodel import Session, select
from starlette.testclient import TestClient

from app import logs
from app.config import Settings
from app.db import Database
from app.logs import log_file, logging_to_file
from app.main import create_app
from app.models.person import Person, SignIn
from tests.databases import opened
from tests.web.conftest import PINS, open_the_shop

HERE = "http://testserver"


@pytest.fixture
def shop(settings: Settings) -> Iterator[Database]:
    with opened(settings.url) as database:
        with database.write() as session:
            open_the_shop(session)
        yield database


def lines(settings: Settings) -> str:
    folder = log_file(settings).parent
    return "".join(file.read_text(encoding="utf-8") for file in sorted(folder.iterdir()))


def test_a_fault_is_written_down_without_pin_token_or_what_stands_for_them(
    settings: Settings, shop: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = create_app(settings, shop)
    with (
        logging_to_file(settings),
        TestClient(
            app,
            base_url=HERE,
            headers={"Origin": HERE},
            follow_redirects=False,
            raise_server_exceptions=False,
        ) as browser,
    ):
        with shop.read() as session:
            [odile] = session.exec(select(Person).where(Person.name == "Odile"))
        assert browser.post(f"/sign-in/{odile.id}", data={"pin": "9182"}).status_code == 422
        assert browser.post(f"/sign-in/{odile.id}", data={"pin": PINS["Odile"]}).status_code == 303
        token = browser.cookies[settings.cookie_name]
        with shop.write() as session:
            [row] = session.exec(select(SignIn))
            session.connection().exec_driver_sql("ALTER TABLE sign_in RENAME TO away")
        answer = browser.get("/office?note=4711")
        assert answer.status_code == 503
        assert browser.post(f"/sign-in/{odile.id}", data={"pin": PINS["Odile"]}).status_code == 503
        logging.getLogger("uvicorn.error").exception("a fault", exc_info=_fault(shop, row))
    said = lines(settings)
    assert "started on port" in said
    assert "/office: no such table: sign_in" in said
    assert "SQL parameters hidden" in said
    assert "stopped" in said
    for secret in ("9182", PINS["Odile"], token, row.token_hash, odile.pin_hash):
        assert secret not in said


def _fault(shop: Database, row: SignIn) -> BaseException:
    """As a statement that went wrong is told of, with what was given to it."""
    with pytest.raises(Exception, match="no such table") as fault, Session(shop.engine) as session:
        session.exec(select(SignIn).where(SignIn.token_hash == row.token_hash)).all()
    return fault.value


def test_what_a_tablet_sent_begins_no_line_of_its_own(settings: Settings) -> None:
    with logging_to_file(settings):
        logging.getLogger("seatwright.web").error("%s: away", "/jobs/1\n2026-01-01 ERROR invented")
    [line] = [line for line in lines(settings).splitlines() if "invented" in line]
    assert "/jobs/1\\x0a2026-01-01 ERROR invented: away" in line


def test_logs_never_grow_large(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(logs, "MOST_BYTES", 2000)
    with logging_to_file(settings):
        for number in range(400):
            logging.getLogger("seatwright.web").error("line %s", number)
    files = list(log_file(settings).parent.iterdir())
    assert len(files) == 1 + logs.EARLIER_FILES
    assert all(file.stat().st_size <= 2000 for file in files)
    assert "line 399" in lines(settings)


def test_servers_that_share_a_folder_have_files_of_their_own(
    make_settings: Callable[..., Settings], tmp_path: Path
) -> None:
    url = "postgresql+psycopg://shop@db/heads"
    files = {log_file(make_settings(database_url=url, port=port)) for port in (8137, 8138)}
    assert len(files) == 2
    assert log_file(make_settings(port=8137)) == tmp_path / "logs" / "seatwright-8137.log"
