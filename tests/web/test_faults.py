"""What goes wrong on a shop's PC: a clear answer, nothing half written, and the same form again."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event
from sqlmodel import func, select
from starlette.testclient import TestClient

import app.db
from app import pictures
from app.config import Settings
from app.db import Database
from app.keeping.check import check_records
from app.models.event import Event
from app.models.reading import Reading
from tests.killed_server import fields
from tests.test_pictures import encoded
from tests.web.bench import Bench, words

KEPT = "Nothing of this was stored, and nothing earlier was lost."


class Page:
    """A machinist's form with one figure, which may be sent again and again."""

    def __init__(self, browser: TestClient, bench: Bench, database: Database) -> None:
        self.browser, self.database = browser, database
        self.address = f"/heads/{bench.head.id}/stem-heights"
        name, had, had_id = fields(browser.get(self.address).text, "stem_height")[0]
        self.form = {"client_key": "a1b2c3d4", name: "1.8512", had: had_id}
        self.before = self.counts()

    def counts(self) -> tuple[int, int]:
        with self.database.read() as session:
            return (
                session.exec(select(func.count()).select_from(Reading)).one(),
                session.exec(select(func.count()).select_from(Event)).one(),
            )

    def is_refused(self, *told: str) -> None:
        answer = self.browser.post(self.address, data=self.form)
        assert answer.status_code == 503
        for each in told:
            assert each in words(answer)

    def is_kept_when_sent_again(self, readings: int = 1) -> None:
        assert self.counts() == self.before
        for _ in range(2):
            assert self.browser.post(self.address, data=self.form).status_code == 303
        before, events = self.before
        assert self.counts() == (before + readings, events + 1)


@pytest.fixture
def form(bench: Bench, signed_in_as: Callable[[str], TestClient], database: Database) -> Page:
    return Page(signed_in_as("Marek"), bench, database)


@contextmanager
def connected(database: Database, pragma: str) -> Iterator[None]:
    """Every connection meanwhile has this limit."""

    def limit(connection: Any, _record: object) -> None:
        connection.execute(pragma)

    database.close()
    event.listen(database.engine, "connect", limit)
    try:
        yield
    finally:
        event.remove(database.engine, "connect", limit)
        database.close()


def in_order(database: Database, settings: Settings) -> bool:
    return not any(part.faults for part in check_records(database, settings.photos))


def test_a_database_that_another_program_holds(
    form: Page, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app.db, "BUSY_SECONDS", 0.05)
    database.close()
    with closing(sqlite3.connect(database.url.database or "")) as other:
        other.execute("BEGIN IMMEDIATE")
        form.is_refused("Another program holds the records", KEPT)
        assert form.browser.get(form.address).status_code == 200, "reading goes on"
    form.is_kept_when_sent_again()


def test_a_full_disk(bench: Bench, form: Page, database: Database, settings: Settings) -> None:
    form.address = f"/jobs/{bench.job.number}/notes"
    form.form = {"client_key": "a1b2c3d4", "kind": "note", "text": "burnt " * 300}
    with database.read() as session:
        pages = session.connection().exec_driver_sql("PRAGMA page_count").scalar()
    with connected(database, f"PRAGMA max_page_count = {pages}"):
        # The last pages of the file have some room left.
        for number in range(20):
            some = form.form | {"client_key": f"b{number}"}
            if form.browser.post(form.address, data=some).status_code == 503:
                break
        form.before = form.counts()
        form.is_refused("The disk of the shop's PC is full", KEPT, "Make room")
        assert in_order(database, settings)
    form.is_kept_when_sent_again(readings=0)


def test_a_folder_that_became_read_only(form: Page, database: Database, settings: Settings) -> None:
    with connected(database, "PRAGMA query_only = ON"):
        form.is_refused("The records may only be read", KEPT)
    form.is_kept_when_sent_again()
    assert in_order(database, settings)


def test_a_picture_that_the_disk_has_no_room_for(
    bench: Bench,
    form: Page,
    settings: Settings,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(pictures.os, "fsync", full)
    answer = form.browser.post(
        f"/jobs/{bench.job.number}/photos",
        data={"photo_of": "intake"},
        files={"picture": ("seat.jpg", encoded(), "image/jpeg")},
    )
    assert answer.status_code == 503
    assert "The disk of the shop's PC is full" in words(answer)
    assert form.counts() == form.before
    assert [path for path in settings.photos.rglob("*") if path.is_file()] == []


def test_a_database_that_is_damaged_while_the_shop_works(form: Page, database: Database) -> None:
    file = Path(database.url.database or "")
    with database.read() as session:
        session.connection().exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    database.close()
    whole = file.read_bytes()
    file.write_bytes(whole[:4096] + b"\xff" * (len(whole) - 4096))
    answer = form.browser.get(form.address)
    assert answer.status_code == 503
    assert "The database or its disk is damaged" in words(answer)
    assert "which backup reads well" in words(answer)
