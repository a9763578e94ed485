"""The check: an untouched record is in order, and every way of changing it is told in words."""

from __future__ import annotations

import itertools
from contextlib import suppress
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlmodel import Session, col, select

from app.db import Database
from app.forms.photos import PhotoForm
from app.keeping.check import check_records, looks
from app.keeping.parts import MOST_TOLD, Faults
from app.models.event import Event
from app.pictures import file_of, keep_picture
from app.services.photos import add_photos
from app.services.sheets import issue_sheet
from app.triggers import lift_guards
from app.web.sheet_page import drawer
from app.workflow.kinds import ReadingKind, SheetKind
from app.worksheets.readings import Subject, load_one
from seed_demo.hands import filled
from tests.databases import opened
from tests.postgres import Cluster
from tests.services.finished import finish_head
from tests.services.floor import Floor
from tests.test_pictures import encoded

DRAW = drawer("http://shop.example:8137")


class RolledBack(Exception):
    """The change was only tried."""


@pytest.fixture
def photos(floor: Floor, tmp_path: Path) -> Path:
    """A head with a picture on record; the folder of the pictures."""
    folder = tmp_path / "photos"
    picture = keep_picture(encoded((600, 300)), folder)
    with floor.hands.writing() as tx:
        form = filled(PhotoForm({"photo_of": "intake"}))
        add_photos(tx, floor.job.number, form, [picture])
    return folder


@pytest.fixture
def signed(floor: Floor, photos: Path) -> Path:
    """The same signed, with its sheets issued."""
    finish_head(floor)
    for kind in (SheetKind.SET_UP, SheetKind.RECORD):
        with floor.hands.writing() as tx:
            issue_sheet(tx, kind, floor.job, floor.head, DRAW)
    return photos


def faults(session: Session, is_sqlite: bool, photos: Path) -> list[str]:
    parts = itertools.chain.from_iterable(look(session) for _, look in looks(is_sqlite, photos))
    return [words for part in parts for words in part.faults]


def in_order(database: Database, photos: Path) -> dict[str, str]:
    parts = {part.name: part for part in check_records(database, photos)}
    assert {name: part.faults for name, part in parts.items() if part.faults} == {}
    return {name: part.found for name, part in parts.items()}


ON_SQLITE = "PRAGMA defer_foreign_keys = ON"
ON_POSTGRESQL = "SET LOCAL session_replication_role = replica"
# Each way of changing the record with the guards lifted, and the words that tell it.
WAYS = {
    "UPDATE event SET verb = 'never happened' WHERE id = 5": (
        "event 5 (“never happened”",
        "not as",
    ),
    "UPDATE event SET body = '{}' WHERE id = 7": ("event 7", "as it was"),
    "DELETE FROM event WHERE id = 9": ("just before event 10", "put in, taken out or changed"),
    "UPDATE event SET hash = 'f' || substr(hash, 2) WHERE verb = 'signed positions'": (
        "“signed positions”",
        "as it was written",
    ),
    "UPDATE reading SET value = value + 2540 WHERE quantity = 'bore'": ("reading", "log says"),
    "DELETE FROM reading WHERE id = 3": ("reading 3 is in the log", "not there any more"),
    "INSERT INTO reading SELECT * FROM added": ("1 reading that the log does not know",),
    "UPDATE result SET record = replace(record, '1', '2')": (
        *("result", "not as it was accepted"),
    ),
    "UPDATE sheet SET html = replace(html, 'Fern', 'Oak') WHERE id = 1": (
        "sheet 1 (set-up sheet, revision 1) is not as it was issued",
    ),
    "UPDATE sheet SET data = '{}' WHERE id = 2": ("figures kept with sheet 2",),
    "UPDATE sheet SET sha256 = 'f' WHERE id = 2": ("sheet 2 is another one than the log names",),
    "UPDATE photo SET sha256 = small_sha256": ("photo 1 is another one",),
    "UPDATE port SET stage = 'set' WHERE label = '3E'": (
        "position 3E of head 1 is stored as “set”, and by its record it is at “done”",
    ),
    "UPDATE port SET head_id = 99 WHERE label = '3E'": ("names a head that is not there",),
}


def test_an_untouched_record_is_in_order_and_every_change_past_the_guards_is_told(
    database: Database, signed: Path
) -> None:
    found = in_order(database, signed)
    assert found["Issued sheets"] == "2 sheets, byte for byte as issued"
    assert found["Pictures"] == "1 picture, as taken"
    assert found["Stages"].startswith("8 positions of 1 head")
    assert not found["Readings"].startswith("0 ")
    for statement, words in WAYS.items():
        told = tried(database, signed, statement)
        assert [each for each in told if all(part in each for part in words)], (statement, told)
    cut_short = " ".join(tried(database, signed, "DELETE FROM event WHERE id > 20"))
    assert "was printed over a log whose head was" in cut_short
    assert ("the newest " in cut_short) is database.is_sqlite
    assert in_order(database, signed) == found


def tried(database: Database, photos: Path, statement: str) -> list[str]:
    """The faults after a change, which is then undone; lifted guards are told too."""
    found: list[str] = []
    with suppress(RolledBack), database.write() as session:
        session.execute(text(ON_SQLITE if database.is_sqlite else ON_POSTGRESQL))
        lift_guards(session.connection())
        if "added" in statement:
            session.execute(text("CREATE TEMP TABLE added AS SELECT * FROM reading WHERE id = 1"))
            session.execute(text("UPDATE added SET id = 9999, place = 99, client_key = 'x'"))
        session.execute(text(statement))
        found = [
            words
            for words in faults(session, database.is_sqlite, photos)
            if not words.startswith("the guard")
        ]
        raise RolledBack
    return found


@pytest.mark.parametrize("name", ["keep_event_update", "keep_port_pass_update"])
def test_a_guard_that_is_missing_or_does_nothing_is_told(
    name: str, database: Database, tmp_path: Path
) -> None:
    table = name.removeprefix("keep_").removesuffix("_update")
    drop = f'DROP TRIGGER "{name}"' + ("" if database.is_sqlite else f" ON {table}")
    if database.is_sqlite:
        weak = f"CREATE TRIGGER {name} BEFORE UPDATE ON {table} BEGIN SELECT 1; END"
    else:
        weak = (
            f"CREATE TRIGGER {name} BEFORE UPDATE ON {table} FOR EACH ROW "
            "WHEN (OLD.id < 0) EXECUTE FUNCTION seatwright_refuse('other words')"
        )
    with database.write() as session:
        session.execute(text(drop))
    assert guards_told(database, tmp_path) == [f"the guard {name} is missing"]
    with database.write() as session:
        session.execute(text(weak))
    assert guards_told(database, tmp_path) == [
        f"the guard {name} is switched off or does something else"
    ]


def test_a_trigger_of_somebody_else_is_told(sqlite_database: Database, tmp_path: Path) -> None:
    with sqlite_database.write() as session:
        session.execute(text("CREATE TRIGGER sly AFTER INSERT ON reading BEGIN SELECT 1; END"))
    assert guards_told(sqlite_database, tmp_path) == ["the trigger sly is none of this program's"]


def test_a_guard_that_was_switched_off_on_postgresql_is_told(
    postgres: Cluster, tmp_path: Path
) -> None:
    name = postgres.new_database()
    with opened(postgres.url(name)) as database:
        with database.write() as session:
            session.execute(text("ALTER TABLE event DISABLE TRIGGER keep_event_update"))
        assert "keep_event_update is switched off" in guards_told(database, tmp_path)[0]
    postgres.drop(name)


def guards_told(database: Database, tmp_path: Path) -> list[str]:
    [part] = [part for part in check_records(database, tmp_path) if part.name == "Guards"]
    return list(part.faults)


def test_a_picture_that_was_changed_or_lost_is_told(database: Database, photos: Path) -> None:
    files = sorted(photos.rglob("*.jpg"))
    assert len(files) == 2
    files[0].write_bytes(b"another picture")
    files[1].unlink()
    found = [words for part in check_records(database, photos) for words in part.faults]
    assert sorted("is missing" in words for words in found) == [False, True]
    assert all(str(file_of(photos, file.stem)) in " ".join(found) for file in files)


def test_a_page_overwritten_on_disk_is_told(sqlite_database: Database, tmp_path: Path) -> None:
    file = Path(sqlite_database.url.database or "")
    with sqlite_database.read() as session:
        session.execute(text("PRAGMA wal_checkpoint(TRUNCATE)"))
    sqlite_database.close()
    with file.open("r+b") as opened:
        opened.seek(file.stat().st_size - 3 * 4096)
        opened.write(b"\xff" * 4096)
    found = [words for part in check_records(sqlite_database, tmp_path) for words in part.faults]
    assert found


def test_a_backup_over_another_log_is_told(
    floor: Floor, database: Database, tmp_path: Path
) -> None:
    copies = [("seatwright-of-today", "0123456789ab")]
    [part] = [part for part in check_records(database, tmp_path, copies) if part.faults]
    assert "seatwright-of-today was made when the log's head was 0123456789ab" in part.faults[0]


def test_many_faults_of_a_kind_are_counted() -> None:
    faults = Faults()
    for number in range(MOST_TOLD + 3):
        faults.add(f"fault {number}")
    assert [*faults][-1] == "and 3 more of this kind"
    assert len([*faults]) == MOST_TOLD + 1


def test_a_clock_that_was_set_back_changes_neither_order_nor_chain(
    floor: Floor, database: Database, tmp_path: Path
) -> None:
    floor.hands.at -= timedelta(days=400)
    floor.hands.stem_heights(floor.head, {"1E": "1.8620"})
    with database.read() as session:
        newest = load_one(
            session, ReadingKind.STEM_HEIGHTS, Subject("port", floor.ports["1E"].id)
        ).counting[-1]
        first, last = session.exec(select(Event.at).order_by(col(Event.id).desc()).limit(2)).all()
    assert newest.typed == "1.8620"
    assert first < last, "the newest event is the earlier one by the clock"
    in_order(database, tmp_path)
