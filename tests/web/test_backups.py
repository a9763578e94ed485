"""Backups on the owner's pages: how they stand, where they go, one more now."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlmodel import col, select
from starlette.testclient import TestClient

from app.config import Settings
from app.db import Database, now
from app.keeping.backups import make_backup
from app.keeping.copies import copies_in
from app.keeping.folder import MARK, read_state
from app.keeping.view import backups_view
from app.models.event import Event
from app.triggers import lift_guards
from tests.web.bench import words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def owner(signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("owner")


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    """Where another disk would be."""
    return tmp_path.parent / f"{tmp_path.name}-stick"


def test_one_more_is_made_at_a_touch_and_stands_in_the_list(
    owner: TestClient, settings: Settings
) -> None:
    assert owner.post("/backups/now").status_code == 303
    [copy] = copies_in(settings.backups)
    told = words(owner.get("/backups"))
    assert f"Backed up: {copy.path.name}" in told
    assert f"by hand {copy.head}" in told
    assert "and nothing was done since" in told
    assert "Not as it should be" not in told


def test_the_owner_points_them_at_another_disk(
    owner: TestClient, settings: Settings, database: Database, stick: Path
) -> None:
    said = owner.post("/backups/folder", data={"folder": str(stick)})
    assert said.status_code == 422, "the test's folders are all on one disk"
    assert "on the same disk as the records" in words(said)
    assert str(stick) in said.text
    sent = {"folder": str(stick), "confirm_same_disk": "yes"}
    assert owner.post("/backups/folder", data=sent).status_code == 303
    assert (stick / MARK).exists()
    owner.post("/backups/now")
    assert len(copies_in(stick)) == 1
    with database.read() as session:
        event = session.exec(select(Event).order_by(col(Event.id).desc()).limit(1)).one()
    assert (event.verb, event.body) == ("chose where backups go", '{"elsewhere":true}')
    assert owner.post("/backups/folder", data={"folder": ""}).status_code == 303
    assert read_state(settings).folder == ""


@pytest.mark.parametrize(
    ("folder", "said"),
    [
        ("here", "must be written whole"),
        ("/nowhere-at-all/seatwright", "cannot be made"),
        ("/stick\0", "a character that cannot be written here"),
        ("/" + "x" * 600, "400"),
    ],
)
def test_a_folder_that_cannot_be_used_is_told_and_stays_typed(
    folder: str, said: str, owner: TestClient, settings: Settings
) -> None:
    page = owner.post("/backups/folder", data={"folder": folder})
    assert page.status_code == 422
    assert said in words(page)
    assert read_state(settings).folder == ""


def test_a_disk_that_is_not_there_is_told_on_the_office(
    owner: TestClient, signed_in_as: SignedInAs, stick: Path
) -> None:
    owner.post("/backups/folder", data={"folder": str(stick), "confirm_same_disk": "yes"})
    stick.rename(stick.with_name("pulled-out"))
    owner.post("/backups/now")
    office = words(owner.get("/office"))
    assert "backups to look at" in office
    assert f"The folder {stick} is not there: plug its disk in" in office
    assert "This one was kept on this PC" in office
    assert "backups to look at" not in words(signed_in_as("machinist").get("/office"))


def test_old_and_missing_backups_are_told(
    owner: TestClient, settings: Settings, database: Database
) -> None:
    with database.write() as session:
        lift_guards(session.connection())
        earlier = (now() - timedelta(days=3)).replace(tzinfo=None)
        session.execute(text("UPDATE event SET at = :at WHERE id = 1"), {"at": str(earlier)})
    assert "There is no backup yet" in words(owner.get("/office"))
    make_backup(database, settings, "day")
    assert "backups to look at" not in words(owner.get("/office"))
    owner.post("/people", data={"name": "Ida", "role": "machinist", "pin": "9999"})
    owner.post("/backups/folder", data={"folder": ""})
    with database.read() as session:
        assert not backups_view(session, settings, now() + timedelta(days=1)).is_old
        view = backups_view(session, settings, now() + timedelta(days=3))
    assert view.is_old
    assert view.wants_a_look
