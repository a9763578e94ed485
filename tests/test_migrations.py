"""Migrations: they end where the models are, guard the record, and leave nothing half done."""

from __future__ import annotations

import importlib.util
import shutil
import subprocess
import sys
import textwrap
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from alembic import command, op
from sqlalchemy.exc import DBAPIError, IntegrityError

from app import migrate
from app.db import Database, metadata
from app.models.job_words import INDEX
from app.paths import folder
from app.triggers import guards, lift_guards, present, set_guards
from tests.old_rows import fill_every_table, rows_of
from tests.postgres import Cluster

VERSIONS = folder("migrations") / "versions"


def described(engine: sa.Engine) -> dict[str, Any]:
    """Everything a database says about its tables, in an order of its own."""
    inspector = sa.inspect(engine)
    tables: dict[str, Any] = {}
    for name in sorted(set(inspector.get_table_names()) - {migrate.VERSION_TABLE}):
        tables[name] = {
            "columns": [
                (c["name"], str(c["type"]), c["nullable"], c["default"])
                for c in inspector.get_columns(name)
            ],
            "primary key": inspector.get_pk_constraint(name),
            "references": sorted(map(repr, inspector.get_foreign_keys(name))),
            "unique": sorted(map(repr, inspector.get_unique_constraints(name))),
            "checks": sorted(map(repr, inspector.get_check_constraints(name))),
            "indexes": sorted(map(_index, inspector.get_indexes(name))),
        }
    return tables


def _index(index: Any) -> str:
    options = {name: str(value) for name, value in index.get("dialect_options", {}).items()}
    return repr({**index, "dialect_options": options})


def test_migrations_end_where_the_models_are(database: Database) -> None:
    assert migrate.differences(database.url.render_as_string(hide_password=False)) == []


def test_a_migrated_sqlite_file_equals_one_made_from_the_models(
    sqlite_database: Database, tmp_path: Path
) -> None:
    with closing(Database(f"sqlite:///{tmp_path / 'models.sqlite3'}")) as made:
        metadata.create_all(made.engine)
        assert described(sqlite_database.engine) == described(made.engine)


def test_a_migrated_postgresql_database_equals_one_made_from_the_models(
    postgres: Cluster,
) -> None:
    migrated, empty = postgres.new_database(), postgres.new_database("template0")
    with (
        closing(Database(postgres.url(migrated))) as one,
        closing(Database(postgres.url(empty))) as other,
    ):
        metadata.create_all(other.engine)
        assert described(one.engine) == described(other.engine)
    postgres.drop(migrated)
    postgres.drop(empty)


def test_sqlite_never_gives_an_id_twice(sqlite_database: Database) -> None:
    with sqlite_database.engine.connect() as connection:
        tables = dict(
            connection.exec_driver_sql(
                "SELECT name, sql FROM sqlite_master WHERE type = 'table' "
                "AND name NOT LIKE 'sqlite_%'"
            ).all()
        )
    del tables[migrate.VERSION_TABLE]
    tables = {name: made for name, made in tables.items() if not name.startswith(INDEX)}
    assert [name for name, made in tables.items() if "AUTOINCREMENT" not in made] == []
    assert set(tables) == set(metadata.tables)


def test_every_guard_is_in_place(database: Database) -> None:
    wanted = [(guard.table, guard.name) for guard in guards(metadata)]
    if not database.is_sqlite:
        wanted += [(table, f"keep_{table}_truncate") for table in metadata.tables]
    with database.engine.connect() as connection:
        assert present(connection) == sorted(wanted)


def test_every_migration_sets_the_guards_anew() -> None:
    found = sorted(VERSIONS.glob("*.py"))
    assert found
    for path in found:
        assert _load(path).upgrade.__dict__.get("is_guarded"), path.name


def _load(path: Path) -> Any:
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def fill(connection: sa.Connection, table: sa.Table) -> None:
    """One row of `table` that satisfies nothing but the columns' types: enough for a guard."""
    row = {
        column.name: column.default.arg if _plain_default(column) else _some(column)
        for column in table.columns
    }
    connection.execute(sa.insert(sa.table(table.name, *map(sa.column, row))), row)


def _plain_default(column: sa.Column[Any]) -> bool:
    return (
        column.default is not None
        and column.default.is_scalar
        and isinstance(column.default.arg, int | str)
    )


def _some(column: sa.Column[Any]) -> Any:
    kind = column.type
    if isinstance(kind, sa.types.TypeDecorator):
        kind = kind.impl_instance
    if isinstance(kind, sa.Boolean):
        return False
    if isinstance(kind, sa.Integer | sa.Float):
        return 1
    if isinstance(kind, sa.DateTime):
        return "2026-01-02 03:04:05"
    if isinstance(kind, sa.Date):
        return "2026-01-02"
    if isinstance(kind, sa.LargeBinary):
        return b"1"
    return "1"


def bare(engine: sa.Engine) -> None:
    """Tables with the guards but without foreign keys and checks, so that any row goes in."""
    plain = sa.MetaData()
    for table in metadata.tables.values():
        sa.Table(
            table.name,
            plain,
            *(sa.Column(c.name, c.type, primary_key=c.primary_key) for c in table.columns),
        )
    with engine.begin() as connection:
        plain.create_all(connection)
        set_guards(connection, metadata)


@pytest.fixture(params=["sqlite", "postgresql"])
def guarded_engine(request: pytest.FixtureRequest, tmp_path: Path) -> Any:
    if request.param == "sqlite":
        engine = sa.create_engine(f"sqlite:///{tmp_path / 'bare.sqlite3'}")
        bare(engine)
        yield engine
        engine.dispose()
        return
    cluster: Cluster = request.getfixturevalue("postgres")
    name = cluster.new_database("template0")
    engine = sa.create_engine(cluster.url(name))
    bare(engine)
    yield engine
    engine.dispose()
    cluster.drop(name)


def test_no_table_lets_a_row_be_deleted(guarded_engine: sa.Engine) -> None:
    for table in metadata.sorted_tables:
        with guarded_engine.begin() as connection:
            fill(connection, table)
        with (
            pytest.raises(IntegrityError, match=f"{table.name}: a row is never deleted"),
            guarded_engine.begin() as connection,
        ):
            connection.exec_driver_sql(f'DELETE FROM "{table.name}"')


def test_no_insert_only_table_lets_a_row_be_changed(guarded_engine: sa.Engine) -> None:
    never = [t for t in metadata.sorted_tables if t.info["kept"] in ("insert_only", "versions")]
    assert len(never) >= 20
    for table in never:
        with guarded_engine.begin() as connection:
            fill(connection, table)
        with (
            pytest.raises(IntegrityError, match=f"{table.name}: a row is never changed"),
            guarded_engine.begin() as connection,
        ):
            connection.exec_driver_sql(f'UPDATE "{table.name}" SET id = id')


def test_a_row_may_be_frozen_once_a_condition_holds(guarded_engine: sa.Engine) -> None:
    tried = sa.MetaData()
    info = {"kept": "mutable", "frozen_when": "OLD.closed_at IS NOT NULL"}
    columns = sa.Column("id", sa.Integer, primary_key=True), sa.Column("closed_at", sa.String(20))
    table = sa.Table("try_out", tried, *columns, info=info)
    with guarded_engine.begin() as connection:
        tried.create_all(connection)
        set_guards(connection, tried)
        connection.execute(sa.insert(table), {"id": 1})
        assert connection.exec_driver_sql("UPDATE try_out SET id = 2").rowcount == 1
        assert connection.exec_driver_sql("UPDATE try_out SET closed_at = 'now'").rowcount == 1
    with (
        pytest.raises(IntegrityError, match="try_out: a closed row is never changed"),
        guarded_engine.begin() as connection,
    ):
        connection.exec_driver_sql("UPDATE try_out SET closed_at = NULL")


def test_a_table_must_say_how_it_is_kept() -> None:
    silent = sa.MetaData()
    sa.Table("silent", silent, sa.Column("id", sa.Integer, primary_key=True))
    with pytest.raises(ValueError, match="silent does not say how it is kept"):
        guards(silent)


def test_a_mutable_row_may_change(guarded_engine: sa.Engine) -> None:
    table = metadata.tables["customer"]
    with guarded_engine.begin() as connection:
        fill(connection, table)
        changed = connection.exec_driver_sql("UPDATE customer SET name = 'Maple Garage'")
        assert changed.rowcount == 1


def test_postgresql_refuses_to_empty_a_table_past_the_row_guards(postgres: Cluster) -> None:
    name = postgres.new_database()
    engine = sa.create_engine(postgres.url(name))
    with (
        pytest.raises(IntegrityError, match="event: a row is never deleted"),
        engine.begin() as connection,
    ):
        connection.exec_driver_sql("TRUNCATE event CASCADE")
    engine.dispose()
    postgres.drop(name)


def test_lifting_the_guards_leaves_none(database: Database) -> None:
    with database.engine.begin() as connection:
        lift_guards(connection)
        assert present(connection) == []


class Interrupted(Exception):
    """The power went."""


def test_an_interrupted_migration_leaves_nothing_half(
    database_kind_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[str] = []
    create_table = op.create_table

    def create_some(name: str, *args: Any, **options: Any) -> Any:
        if len(made) == 5:
            raise Interrupted
        made.append(name)
        return create_table(name, *args, **options)

    monkeypatch.setattr(op, "create_table", create_some)
    with pytest.raises(Interrupted):
        migrate.upgrade(database_kind_url)
    engine = sa.create_engine(database_kind_url)
    left = set(sa.inspect(engine).get_table_names())
    engine.dispose()
    assert len(made) == 5
    assert left <= {migrate.VERSION_TABLE}
    assert migrate.current(database_kind_url) is None

    monkeypatch.undo()
    assert migrate.upgrade(database_kind_url).after == migrate.latest()
    assert migrate.differences(database_kind_url) == []


@pytest.mark.parametrize("released", ["0001", "0003"])
def test_a_database_of_an_earlier_release_keeps_every_row_and_value(
    database_kind_url: str, released: str
) -> None:
    command.upgrade(migrate.config_for(database_kind_url), released)
    engine = sa.create_engine(database_kind_url)
    tables, before = fill_every_table(engine, but=migrate.VERSION_TABLE)
    assert len(before) >= 40
    assert {name for name, rows in before.items() if len(rows) != 1} == set()

    done = migrate.upgrade(database_kind_url)

    assert (done.before, done.after) == (released, migrate.latest())
    assert rows_of(engine, tables) == before
    assert migrate.differences(database_kind_url) == []
    for table in sorted(set(before) & set(metadata.tables)):
        with (
            pytest.raises(IntegrityError, match=f"{table}: a row is never deleted"),
            engine.begin() as connection,
        ):
            connection.exec_driver_sql(f'DELETE FROM "{table}"')
    engine.dispose()


@pytest.fixture(params=["sqlite", "postgresql"])
def database_kind_url(request: pytest.FixtureRequest, tmp_path: Path) -> Any:
    """A database without any table, of each kind."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'new.sqlite3'}"
        return
    cluster: Cluster = request.getfixturevalue("postgres")
    name = cluster.new_database("template0")
    yield cluster.url(name)
    cluster.drop(name)


def test_two_programs_that_start_at_once_migrate_once(postgres: Cluster) -> None:
    name = postgres.new_database("template0")
    program = "import sys; from app import migrate; print(migrate.upgrade(sys.argv[1]).after)"
    both = [
        subprocess.Popen(
            [sys.executable, "-c", program, postgres.url(name)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(2)
    ]
    ended = [(*process.communicate(timeout=60), process.returncode) for process in both]
    assert [code for _, _, code in ended] == [0, 0], ended
    assert migrate.differences(postgres.url(name)) == []
    postgres.drop(name)


def test_a_database_that_is_up_to_date_is_not_copied(sqlite_url: str, tmp_path: Path) -> None:
    done = migrate.upgrade(sqlite_url, tmp_path / "backups")
    assert done == migrate.Migrated(migrate.latest(), migrate.latest(), None)
    assert not (tmp_path / "backups").exists()


@pytest.fixture
def next_migration(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Adds one more migration, whose body is given, to a copy of the program's own."""

    def add(body: str) -> None:
        copied = tmp_path / "migrations"
        shutil.copytree(folder("migrations"), copied)
        newest = migrate.latest()
        (copied / "versions" / "9000_next.py").write_text(
            "import sqlalchemy as sa\nfrom alembic import op\n"
            "from app.migrate import guarded\n"
            f"revision, down_revision = '9000', '{newest}'\n"
            f"@guarded\ndef upgrade():\n{textwrap.indent(textwrap.dedent(body), '    ')}\n"
        )
        monkeypatch.setattr(migrate, "folder", lambda _name: copied)

    return add


def test_an_older_database_is_copied_before_it_changes(
    sqlite_url: str, tmp_path: Path, next_migration: Callable[[str], None]
) -> None:
    _write(sqlite_url, "INSERT INTO number_series (series, year, last) VALUES ('job', 2026, 41)")
    _write(
        sqlite_url,
        "INSERT INTO event (at, verb, subject, body, prev, hash) VALUES "
        "('2026-01-02 03:04:05.000000', 'seen', '', '', '', 'feedfacecafebeef')",
    )
    next_migration("op.execute('UPDATE number_series SET last = 42')")

    done = migrate.upgrade(sqlite_url, tmp_path / "backups")

    assert done.after == "9000"
    assert _read(sqlite_url, "SELECT last FROM number_series") == [(42,)]
    assert done.copy is not None
    assert [path.name for path in (tmp_path / "backups").iterdir()] == [done.copy.name]
    assert done.copy.name.endswith("Z-before-9000-feedfacecafe.sqlite3")
    assert _read(f"sqlite:///{done.copy}", "SELECT last FROM number_series") == [(41,)]


def test_a_copy_that_cannot_be_written_changes_nothing(
    sqlite_url: str, tmp_path: Path, next_migration: Callable[[str], None]
) -> None:
    before = migrate.current(sqlite_url)
    next_migration("op.execute('UPDATE number_series SET last = 42')")
    (tmp_path / "backups").write_text("a file where the folder should be")
    with pytest.raises(migrate.MigrationError, match="nothing was changed"):
        migrate.upgrade(sqlite_url, tmp_path / "backups")
    assert migrate.current(sqlite_url) == before


def test_a_migration_that_fails_half_way_is_undone_and_the_guards_stay(
    database: Database, next_migration: Callable[[str], None]
) -> None:
    url = database.url.render_as_string(hide_password=False)
    next_migration(
        """
        op.create_table("extra", sa.Column("id", sa.Integer, primary_key=True))
        op.execute("INSERT INTO number_series (series, year, last) VALUES ('job', 2026, 1)")
        raise RuntimeError("the power went")
        """
    )
    with pytest.raises(RuntimeError, match="the power went"):
        migrate.upgrade(url)
    assert migrate.current(url) != "9000"
    with database.engine.connect() as connection:
        assert "extra" not in sa.inspect(connection).get_table_names()
        assert connection.exec_driver_sql("SELECT * FROM number_series").all() == []
        assert present(connection)


def test_the_copy_from_before_a_migration_that_failed_is_there_and_whole(
    sqlite_url: str, tmp_path: Path, next_migration: Callable[[str], None]
) -> None:
    _write(sqlite_url, "INSERT INTO number_series (series, year, last) VALUES ('job', 2026, 41)")
    next_migration(
        """
        op.execute("UPDATE number_series SET last = 42")
        raise RuntimeError("the power went")
        """
    )
    with pytest.raises(RuntimeError, match="the power went"):
        migrate.upgrade(sqlite_url, tmp_path / "backups")
    [copy] = (tmp_path / "backups").iterdir()
    for url in (sqlite_url, f"sqlite:///{copy}"):
        assert _read(url, "SELECT last FROM number_series") == [(41,)]
        assert _read(url, "PRAGMA integrity_check") == [("ok",)]


def test_a_rebuilt_table_keeps_its_children_and_its_guards(
    sqlite_url: str, next_migration: Callable[[str], None]
) -> None:
    _write(
        sqlite_url,
        "INSERT INTO person (row_version, name, role, pin_hash) "
        "VALUES (1, 'Nora Field', 'owner', '-')",
    )
    _write(
        sqlite_url,
        "INSERT INTO event (by_id, at, verb, subject, body, prev, hash) "
        "VALUES (1, '2026-01-02 03:04:05.000000', 'seen', '', '', '', 'h')",
    )
    next_migration(
        """
        with op.batch_alter_table("person", recreate="always") as batch:
            batch.add_column(sa.Column("badge", sa.String(8)))
        with op.batch_alter_table("event", recreate="always") as batch:
            batch.add_column(sa.Column("extra", sa.String(8)))
        """
    )
    migrate.upgrade(sqlite_url)
    assert _read(sqlite_url, "SELECT by_id, verb FROM event") == [(1, "seen")]
    engine = sa.create_engine(sqlite_url)
    with engine.connect() as connection:
        wanted = [(guard.table, guard.name) for guard in guards(metadata)]
        assert present(connection) == sorted(wanted)
    engine.dispose()


def test_a_migration_that_breaks_a_reference_is_undone(
    sqlite_url: str, next_migration: Callable[[str], None]
) -> None:
    before = migrate.current(sqlite_url)
    next_migration(
        """
        op.execute(
            "INSERT INTO event (by_id, at, verb, subject, body, prev, hash) "
            "VALUES (77, '2026-01-02 03:04:05.000000', 'seen', '', '', '', 'h')"
        )
        """
    )
    with pytest.raises(migrate.MigrationError, match="event 1 to person"):
        migrate.upgrade(sqlite_url)
    assert migrate.current(sqlite_url) == before
    assert _read(sqlite_url, "SELECT * FROM event") == []


def test_a_database_of_a_newer_program_is_refused(database: Database) -> None:
    with database.engine.begin() as connection:
        connection.exec_driver_sql(f"UPDATE {migrate.VERSION_TABLE} SET version_num = '9999'")
    with pytest.raises(migrate.MigrationError, match="newer Seatwright"):
        migrate.upgrade(database.url.render_as_string(hide_password=False))


def test_a_database_of_another_program_is_refused(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'other.sqlite3'}"
    _write(url, "CREATE TABLE recipe (id INTEGER)")
    with pytest.raises(migrate.MigrationError, match="another program"):
        migrate.upgrade(url)


def _write(url: str, statement: str) -> None:
    engine = sa.create_engine(url)
    with engine.begin() as connection:
        connection.exec_driver_sql(statement)
    engine.dispose()


def _read(url: str, query: str) -> list[Any]:
    engine = sa.create_engine(url)
    with engine.connect() as connection:
        rows = [tuple(row) for row in connection.exec_driver_sql(query)]
    engine.dispose()
    return rows


def test_a_refused_change_reads_the_same_on_both_databases(database: Database) -> None:
    with database.engine.begin() as connection:
        fill(connection, metadata.tables["number_series"])
    with pytest.raises(DBAPIError) as refused, database.engine.begin() as connection:
        connection.exec_driver_sql("DELETE FROM number_series")
    assert isinstance(refused.value, IntegrityError)
    assert "number_series: a row is never deleted" in str(refused.value.orig)
