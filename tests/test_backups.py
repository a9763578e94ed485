"""Backups: whole, over the log their name tells, kept by day, week and month, and brought back."""

from __future__ import annotations

import dataclasses
import json
import os
import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import text

from app import migrate
from app.config import Settings
from app.db import Database, now
from app.keeping import postgres_tools
from app.keeping.backups import (
    BackupFault,
    copy_pictures,
    damage,
    is_due,
    kept,
    make_backup,
    shop_mark,
)
from app.keeping.copies import Copy, copies_in
from app.keeping.folder import (
    MARK,
    FolderFault,
    choose_folder,
    look_at_folder,
    prepare_backup_folder,
    read_state,
)
from app.keeping.keeper import ONE_KEEPER, Keeper
from app.pictures import file_of, keep_picture
from app.queries.sign_in import signed_in
from app.server import only_server
from app.services.people import add_person
from app.services.shop import open_shop
from app.services.sign_in import sign_in, token_hash
from app.services.write import Write, log_head
from app.workflow.kinds import Unit
from app.workflow.words import Role
from tests.databases import opened
from tests.postgres import Cluster
from tests.test_pictures import encoded
from tests.typed import Run

START = datetime(2026, 11, 25, 16, 0, tzinfo=UTC)


def open_a_shop(database: Database, name: str = "Hollow Hill Heads") -> None:
    with database.write() as session:
        open_shop(
            Write(session, by=None),
            name=name,
            owner="Olive",
            pin_hash="-",
            zone="UTC",
            currency="EUR",
            unit=Unit.INCH,
        )


def work(database: Database, name: str) -> str:
    """Something is done; the log's head after it."""
    with database.write() as session:
        add_person(Write(session, by=None), name, Role.MACHINIST, "-")
    with database.read() as session:
        return log_head(session)


def names(database: Database) -> list[str]:
    with database.read() as session:
        return list(session.scalars(text("SELECT name FROM person ORDER BY id")))


@pytest.fixture
def shop(sqlite_database: Database) -> Database:
    """A shop with its owner on SQLite, in the data folder of `settings`."""
    open_a_shop(sqlite_database)
    return sqlite_database


@pytest.fixture
def stick(tmp_path: Path, settings: Settings, shop: Database) -> Path:
    """A folder outside the data folder that the owner chose."""
    settings.data.mkdir(exist_ok=True)
    folder = tmp_path.parent / f"{tmp_path.name}-stick"
    with shop.read() as session:
        prepare_backup_folder(folder, shop_mark(session), settings)
    choose_folder(settings, str(folder))
    return folder


def test_a_backup_is_whole_and_its_name_tells_the_logs_head(
    shop: Database, settings: Settings
) -> None:
    head = work(shop, "Max")
    made = make_backup(shop, settings, "by-hand")
    assert made.copy.path.parent == settings.backups
    assert made.copy.path.name.endswith(f"-by-hand-{head[:12]}.sqlite3")
    work(shop, "Mia")
    with opened(f"sqlite:///{made.copy.path}") as copied:
        assert names(copied) == ["Olive", "Max"]
    state = read_state(settings)
    assert (state.name, state.head, state.fault) == (made.copy.path.name, head[:12], "")


def test_pictures_go_along_and_only_once(shop: Database, settings: Settings, stick: Path) -> None:
    picture = keep_picture(encoded((600, 300)), settings.photos)
    assert make_backup(shop, settings, "day").pictures == 2
    assert file_of(stick / "photos", picture.sha256).read_bytes()
    assert make_backup(shop, settings, "day").pictures == 0


def test_a_chosen_folder_that_is_away_is_told_and_the_copy_stays_here(
    shop: Database, settings: Settings, stick: Path
) -> None:
    assert make_backup(shop, settings, "day").copy.path.parent == stick
    shutil.rmtree(stick)
    made = make_backup(shop, settings, "day")
    assert made.copy.path.parent == settings.backups
    assert f"The folder {stick} is not there: plug its disk in" in made.fault
    assert read_state(settings).fault == made.fault
    # The empty place where a disk is put in is not the disk.
    stick.mkdir()
    assert "another disk may be plugged in" in make_backup(shop, settings, "day").fault
    assert copies_in(stick) == []


def test_a_backup_that_failed_everywhere_is_told(
    shop: Database, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.backups.write_text("a file where the folder should be")
    with pytest.raises(BackupFault):
        make_backup(shop, settings, "day")
    state = read_state(settings)
    assert state.fault
    assert state.failed_at is not None
    assert state.at == ""


def test_a_full_disk_leaves_no_part_of_a_copy(
    shop: Database, settings: Settings, stick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(part: Path) -> None:
        part.with_name(f"{part.name}-journal").touch()
        raise OSError(28, "No space left on device", str(stick))

    monkeypatch.setattr("app.migrate._to_disk", full)
    with pytest.raises(BackupFault, match="No space left on device"):
        make_backup(shop, settings, "day")
    assert [path.name for path in stick.iterdir()] == [MARK]
    assert list(settings.backups.iterdir()) == []


def copy(at: datetime, why: str = "day", head: str = "0" * 12) -> Copy:
    return Copy(Path(f"{at:%Y%m%dT%H%M%S}-{why}"), at, why, head)


def test_seven_days_five_weeks_and_twelve_months_stay() -> None:
    every_six_hours = [copy(START - timedelta(hours=6 * n)) for n in range(4 * 500)]
    stay = sorted((each.at for each in kept(every_six_hours, START, UTC)), reverse=True)
    assert stay[:7] == [START, *(START.replace(hour=22) - timedelta(days=n) for n in range(1, 7))]
    # Wednesday's week and last week's end are among the days; three Sundays more, ten months more.
    assert stay[7:10] == [datetime(2026, 11, day, 22, tzinfo=UTC) for day in (15, 8, 1)]
    assert [(at.year, at.month) for at in stay[10:]] == [
        *((2026, month) for month in range(10, 0, -1)),
        (2025, 12),
    ]


def test_copies_before_the_last_upgrades_stay_and_those_of_a_clock_ahead() -> None:
    upgrades = [copy(START - timedelta(days=900 + n), "before-0002") for n in range(7)]
    ahead = [copy(START + timedelta(days=400, hours=n)) for n in range(9)]
    stay = kept([*upgrades, *ahead, copy(START)], START, UTC)
    assert stay == {*upgrades[:5], *ahead, copy(START)}


def test_old_copies_are_cleared_and_the_new_one_never(shop: Database, settings: Settings) -> None:
    settings.backups.mkdir(parents=True)
    for hours in range(0, 24 * 60, 12):
        at = now() - timedelta(hours=hours)
        (settings.backups / f"seatwright-{at:%Y%m%dT%H%M%S%f}Z-day-{'a' * 12}.sqlite3").touch()
    note = settings.backups / "a letter of the owner's.txt"
    note.touch()
    made = make_backup(shop, settings, "day")
    left = copies_in(settings.backups)
    assert made.copy in left
    assert 12 <= len(left) <= 7 + 5 + 12
    assert note.exists()


def due(database: Database, settings: Settings, at: datetime) -> bool:
    with database.read() as session:
        return is_due(settings, log_head(session), shop_mark(session), at)


def test_a_backup_is_due_when_something_was_done_and_the_newest_is_hours_old(
    shop: Database, settings: Settings
) -> None:
    assert not is_due(settings, "0" * 64, "", START)
    migrate.copy_sqlite(settings.database_file or Path(), settings.backups, "before-0002")
    assert due(shop, settings, now()), "a copy before an upgrade is of the database alone"
    at = make_backup(shop, settings, "day").copy.at
    assert not due(shop, settings, at + timedelta(days=90)), "nothing was done since"
    work(shop, "Mia")
    assert not due(shop, settings, at + timedelta(seconds=1))
    assert due(shop, settings, at + timedelta(hours=3))
    assert due(shop, settings, at - timedelta(days=400)), "the clock was set back"


def test_a_disk_that_is_plugged_in_again_gets_its_copy(
    shop: Database, settings: Settings, stick: Path
) -> None:
    away = stick.with_name("pulled-out")
    stick.rename(away)
    failed_at = make_backup(shop, settings, "day").copy.at
    assert not due(shop, settings, failed_at + timedelta(minutes=20)), "tried just now"
    assert not due(shop, settings, failed_at + timedelta(minutes=40)), "this PC has it"
    away.rename(stick)
    assert due(shop, settings, failed_at + timedelta(minutes=40))


def test_the_keeper_makes_one_by_itself_and_none_for_the_demo(
    shop: Database, settings: Settings
) -> None:
    with Keeper(shop, dataclasses.replace(settings, demo=True)):
        pass
    assert copies_in(settings.backups) == []
    keeper = Keeper(shop, settings)
    keeper.look()
    keeper.look()
    assert [each.why for each in copies_in(settings.backups)] == ["day"]


@pytest.mark.parametrize(
    ("folder", "words"),
    [
        ("backups", "must be written whole"),
        ("{data}/photos", "inside the data folder"),
        ("{data}", "inside the data folder"),
        ("{data}-none/there", "cannot be made"),
    ],
)
def test_a_folder_that_cannot_be_used_is_refused(
    folder: str, words: str, settings: Settings
) -> None:
    with pytest.raises(FolderFault, match=words):
        prepare_backup_folder(Path(folder.format(data=settings.data)), "mark", settings)


def test_another_shops_folder_is_refused(settings: Settings, stick: Path) -> None:
    with pytest.raises(FolderFault, match="another shop's backups"):
        prepare_backup_folder(stick, "of-another-shop", settings)
    with pytest.raises(FolderFault, match="another disk"):
        look_at_folder(stick, "of-another-shop")


def test_what_a_copy_that_was_cut_off_left_behind_is_cleared(
    shop: Database, settings: Settings
) -> None:
    settings.backups.mkdir()
    old = settings.backups / "seatwright-20260101T000000000000Z-day.part-journal"
    fresh = settings.backups / "seatwright-20261125T000000000000Z-day.part"
    for part in (old, fresh):
        part.write_bytes(b"half")
    long_ago = (now() - timedelta(days=2)).timestamp()
    os.utime(old, (long_ago, long_ago))
    make_backup(shop, settings, "day")
    assert not old.exists()
    assert fresh.exists(), "another server may be making it"


def test_a_picture_that_was_copied_half_is_copied_again(tmp_path: Path) -> None:
    picture = keep_picture(encoded(), tmp_path / "one")
    copy_pictures(tmp_path / "one", tmp_path / "other")
    file = file_of(tmp_path / "other", picture.sha256)
    file.write_bytes(file.read_bytes()[:10])
    assert copy_pictures(tmp_path / "one", tmp_path / "other") == 1
    assert file.read_bytes() == file_of(tmp_path / "one", picture.sha256).read_bytes()


def test_a_backup_is_brought_back_and_what_it_replaced_is_kept(
    shop: Database,
    settings: Settings,
    run: Run,
) -> None:
    with shop.write() as session:
        sign_in(Write(session, by=None), 1, "-", token="a tablet", address="10.0.0.7")
    head = work(shop, "Max")
    code, said = run("backup", "--data", settings.data)
    assert (code, said.startswith("Copied to  ")) == (0, True)
    backup = copies_in(settings.backups)[-1].path
    work(shop, "Mistake")
    shop.close()
    code, said = run("restore", backup, "--data", settings.data)
    assert code == 0, said
    assert "NOT IN ORDER" not in said
    assert names(shop) == ["Olive", "Max"]
    with shop.read() as session:
        verb, body = session.execute(
            text("SELECT verb, body FROM event ORDER BY id DESC LIMIT 1")
        ).one()
    assert verb == "brought back a backup"
    # Whoever was retired or lost a tablet since then would be in again.
    assert json.loads(body) == {"from_head": head, "sign_ins_ended": 1}
    with shop.read() as session:
        assert signed_in(session, token_hash("a tablet"), now()) is None
    [replaced] = settings.data.glob("replaced-*")
    with opened(f"sqlite:///{replaced / 'seatwright.sqlite3'}") as old:
        assert names(old) == ["Olive", "Max", "Mistake"]
    assert run("check", "--data", settings.data)[0] == 0


def test_another_machine_needs_the_stick_alone(
    shop: Database,
    settings: Settings,
    stick: Path,
    run: Run,
    tmp_path: Path,
) -> None:
    picture = keep_picture(encoded(), settings.photos)
    assert run("backup", "--data", settings.data)[0] == 0
    new_machine = tmp_path / "new"
    code, said = run("restore", copies_in(stick)[-1].path, "--data", new_machine)
    assert code == 0, said
    assert "what was there before" not in said
    with opened(f"sqlite:///{new_machine / 'seatwright.sqlite3'}") as database:
        assert names(database) == ["Olive"]
    assert file_of(new_machine / "photos", picture.sha256).exists()
    assert sorted(path.name for path in new_machine.iterdir()) == [
        *("photos", "seatwright.lock", "seatwright.sqlite3"),
    ]


def test_a_restore_is_refused_while_a_server_runs(
    shop: Database,
    settings: Settings,
    run: Run,
) -> None:
    backup = make_backup(shop, settings, "day").copy.path
    with only_server(settings.database_file):
        code, said = run("restore", backup, "--data", settings.data)
    assert code == 1
    assert "Another Seatwright already serves" in said


def spoil_log(file: Path) -> None:
    with opened(f"sqlite:///{file}") as database, database.write() as session:
        session.execute(text("DROP TRIGGER keep_event_update"))
        session.execute(text("UPDATE event SET verb = 'opened nothing' WHERE id = 1"))


def spoil_file(file: Path) -> None:
    file.write_bytes(b"\xff" * 3000 + file.read_bytes()[3000:])


def spoil_name(file: Path) -> None:
    with opened(f"sqlite:///{file}") as database:
        work(database, "Sly")


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (spoil_log, "event 1 (“opened nothing”"),
        (spoil_file, "cannot be used"),
        (spoil_name, "it was changed since"),
        (Path.unlink, "is not there"),
        (lambda file: file.write_bytes(b""), "it holds no records"),
    ],
)
def test_a_backup_that_is_not_in_order_replaces_nothing(
    spoil: Callable[[Path], None],
    words: str,
    shop: Database,
    settings: Settings,
    run: Run,
) -> None:
    backup = make_backup(shop, settings, "day").copy.path
    work(shop, "Max")
    shop.close()
    before = (settings.data / "seatwright.sqlite3").read_bytes()
    spoil(backup)
    code, said = run("restore", backup, "--data", settings.data)
    assert code == 1
    assert words in said
    assert "nothing was changed" in said
    assert (settings.data / "seatwright.sqlite3").read_bytes() == before
    assert not list(settings.data.glob("restoring*"))


def test_a_backup_with_faults_is_brought_back_when_that_is_wanted(
    shop: Database,
    settings: Settings,
    run: Run,
) -> None:
    backup = make_backup(shop, settings, "day").copy.path
    shop.close()
    spoil_log(backup)
    code, said = run("restore", backup, "--data", settings.data, "--despite-faults")
    assert code == 0
    assert "NOT IN ORDER" in said


def test_check_looks_at_a_backup_and_leaves_it_as_it_is(
    shop: Database,
    settings: Settings,
    run: Run,
) -> None:
    backup = make_backup(shop, settings, "day").copy.path
    before = backup.read_bytes()
    code, said = run("check", backup)
    assert (code, "Nothing is wrong." in said) == (0, True)
    assert backup.read_bytes() == before
    assert [path.name for path in settings.backups.iterdir()] == [backup.name]


def test_a_bounded_look_ends_in_time_and_is_no_verdict(
    shop: Database, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop.close()
    file = settings.data / "seatwright.sqlite3"
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) // 2] + bytes(len(whole) - len(whole) // 2))
    assert damage(file)
    assert damage(file, 60)
    monkeypatch.setattr("app.keeping.backups.STEPS_BETWEEN_LOOKS", 1)
    assert damage(file, 0) == ""


def test_a_damaged_database_is_not_served_and_the_last_good_backup_is_named(
    shop: Database,
    settings: Settings,
    run: Run,
) -> None:
    good = make_backup(shop, settings, "day").copy.path
    newer = good.with_name(good.name.replace("seatwright-2", "seatwright-3"))
    shutil.copyfile(good, newer)
    spoil_file(newer)
    shop.close()
    spoil_file(settings.data / "seatwright.sqlite3")
    code, said = run("serve", "--data", settings.data, "--port", "0")
    assert code == 1
    assert "seatwright.sqlite3 is damaged (" in said
    assert f"`seatwright restore {good}` brings it back" in said
    code, said = run("restore", good, "--data", settings.data)
    assert code == 0, said
    assert names(shop) == ["Olive"]


@pytest.fixture
def on_postgresql(
    postgres: Cluster, run: Run, monkeypatch: pytest.MonkeyPatch
) -> Iterator[tuple[Database, str]]:
    """A shop on PostgreSQL, which the command line finds by its variable."""
    name = postgres.new_database()
    monkeypatch.setenv("SEATWRIGHT_DATABASE_URL", postgres.url(name))
    with opened(postgres.url(name)) as database:
        open_a_shop(database)
        yield database, name
    postgres.drop(name)


def test_on_postgresql_its_own_programs_copy_and_bring_back(
    on_postgresql: tuple[Database, str],
    postgres: Cluster,
    run: Run,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    database, _ = on_postgresql
    head = work(database, "Max")
    assert run("backup", "--data", tmp_path)[0] == 0
    [backup] = copies_in(tmp_path / "backups")
    assert backup.path.name.endswith(f"-{head[:12]}.pgdump")
    code, said = run("check", backup.path)
    assert code == 1
    assert "looks it through as it brings it into a new, empty one" in said
    code, said = run("restore", backup.path, "--data", tmp_path)
    assert code == 1
    assert "make a new, empty database" in said
    empty = postgres.new_database("template0")
    monkeypatch.setenv("SEATWRIGHT_DATABASE_URL", postgres.url(empty))
    code, said = run("restore", backup.path, "--data", tmp_path)
    assert code == 0, said
    with opened(postgres.url(empty)) as restored:
        assert names(restored) == ["Olive", "Max"]
    postgres.drop(empty)


def test_of_several_servers_one_at_a_time_looks_after_backups(
    on_postgresql: tuple[Database, str], make_settings: Callable[..., Settings]
) -> None:
    database, _ = on_postgresql
    settings = make_settings(database_url=database.url.render_as_string(hide_password=False))
    keeper = Keeper(database, settings)
    with database.read() as elsewhere:
        elsewhere.execute(text(f"SELECT pg_advisory_xact_lock({ONE_KEEPER})"))
        keeper.look()
    assert copies_in(settings.backups) == []
    keeper.look()
    keeper.look()
    assert [copy.why for copy in copies_in(settings.backups)] == ["day"]


def test_without_postgresqls_programs_that_is_said(
    on_postgresql: tuple[Database, str],
    run: Run,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(postgres_tools, "_program", lambda _name: None)
    code, said = run("backup", "--data", tmp_path)
    assert code == 1
    assert "pg_dump is not on this PC, so Seatwright makes no backups" in said
    assert list((tmp_path / "backups").iterdir()) == []
