"""The commands that keep the record, as they are typed on the shop's PC."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import text

from app.db import Database
from app.services.people import add_person
from app.services.write import Write, log_head
from app.triggers import lift_guards
from app.workflow.words import Role
from tests.databases import opened
from tests.typed import Run


def some_events(database: Database, *names: str) -> str:
    """People are added through the service; the log's head after that."""
    with database.write() as session:
        for name in names:
            add_person(Write(session, by=None), name, Role.MACHINIST, "-")
    with database.read() as session:
        return log_head(session)


def test_check_says_that_nothing_is_wrong(
    database: Database, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    some_events(database, "Max", "Mia")
    monkeypatch.setenv(
        "SEATWRIGHT_DATABASE_URL", database.url.render_as_string(hide_password=False)
    )
    code, said = run("check", "--data", tmp_path)
    assert code == 0
    assert "The log: 2 events, each sealed by the next" in said
    assert said.endswith("Nothing is wrong.\n")
    assert "password" not in said


def test_check_says_what_is_wrong_and_ends_with_one(
    sqlite_url: str, run: Run, tmp_path: Path
) -> None:
    with opened(sqlite_url) as database:
        some_events(database, "Max", "Mia")
        with database.write() as session:
            lift_guards(session.connection())
            session.execute(text("UPDATE event SET verb = 'added nobody' WHERE id = 1"))
    code, said = run("check", "--data", tmp_path)
    assert code == 1
    assert "Guards: NOT IN ORDER\n  - the guard keep_api_key_delete is missing" in said
    assert "event 1 (“added nobody”" in said
    assert "Nothing is wrong" not in said


def test_check_tells_whether_the_log_still_holds_a_paper_s_fingerprint(
    sqlite_url: str, run: Run, tmp_path: Path
) -> None:
    with opened(sqlite_url) as database:
        head = some_events(database, "Max")
        some_events(database, "Mia")
    code, said = run("check", "--data", tmp_path, "--head", f" {head[:16].upper()} ")
    assert code == 0
    assert "The log holds it: event 1, “added a person”" in said
    code, said = run("check", "--data", tmp_path, "--head", "f" * 16)
    assert code == 1
    assert "cut short or written anew" in said
    code, said = run("check", "--data", tmp_path, "--head", "feed")
    assert code == 1
    assert "is no fingerprint" in said


def test_check_wants_records(run: Run, tmp_path: Path) -> None:
    code, said = run("check", "--data", tmp_path / "nowhere")
    assert code == 1
    assert "There are no records in" in said
    assert not (tmp_path / "nowhere").exists()
