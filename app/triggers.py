"""The guards that keep the record: rows that never change and rows that never go.

Which guards a table gets follows from `table.info["kept"]`; a closed row of a table with
`table.info["frozen_when"]` (a condition on OLD) is never changed either. Rebuilding a table in
a SQLite batch drops its triggers silently, so every migration lifts and sets them all anew.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import Connection, MetaData, Table, inspect, text

NEVER_UPDATED = ("insert_only", "versions")
KINDS = (*NEVER_UPDATED, "mutable")
PREFIX = "keep_"
_FUNCTION = "seatwright_refuse"
_REFUSES = (
    " BEGIN RAISE EXCEPTION USING MESSAGE = TG_ARGV[0], "
    "ERRCODE = 'integrity_constraint_violation'; END "
)


@dataclass(frozen=True, order=True)
class Guard:
    """One trigger: on `table`, before `change`, where `when` holds, with the words it says."""

    table: str
    change: str  # UPDATE, DELETE or TRUNCATE
    when: str = ""

    @property
    def name(self) -> str:
        return f"{PREFIX}{self.table}_{self.change.lower()}"

    @property
    def words(self) -> str:
        if self.change != "UPDATE":
            return f"{self.table}: a row is never deleted"
        return f"{self.table}: a {'closed ' if self.when else ''}row is never changed"


def guards(metadata: MetaData) -> list[Guard]:
    """Every guard that the tables of `metadata` ask for, on both databases."""
    return sorted(guard for table in metadata.tables.values() for guard in _of(table))


def _of(table: Table) -> Iterator[Guard]:
    kept = table.info.get("kept")
    if kept not in KINDS:
        raise ValueError(f"table {table.name} does not say how it is kept: one of {KINDS}")
    yield Guard(table.name, "DELETE")
    if kept in NEVER_UPDATED:
        yield Guard(table.name, "UPDATE")
    elif frozen := table.info.get("frozen_when"):
        yield Guard(table.name, "UPDATE", frozen)


def lift_guards(connection: Connection) -> None:
    """Drop every guard, so that a migration may rewrite rows and rebuild tables."""
    for table, name in present(connection):
        if connection.dialect.name == "sqlite":
            connection.execute(text(f'DROP TRIGGER "{name}"'))
        else:
            connection.execute(text(f'DROP TRIGGER "{name}" ON "{table}"'))


def set_guards(connection: Connection, metadata: MetaData) -> None:
    """Create the guards of every table that exists now; an old migration knows fewer tables."""
    lift_guards(connection)
    tables = set(inspect(connection).get_table_names())
    wanted = [guard for guard in guards(metadata) if guard.table in tables]
    if connection.dialect.name == "sqlite":
        for guard in wanted:
            connection.exec_driver_sql(_for_sqlite(guard))
        return
    connection.exec_driver_sql(
        f"CREATE OR REPLACE FUNCTION {_FUNCTION}() RETURNS trigger LANGUAGE plpgsql AS "
        f"$${_REFUSES}$$"
    )
    for guard in wanted:
        when = f"WHEN ({guard.when}) " if guard.when else ""
        connection.exec_driver_sql(
            f'CREATE TRIGGER "{guard.name}" BEFORE {guard.change} ON "{guard.table}" '
            f"FOR EACH ROW {when}EXECUTE FUNCTION {_FUNCTION}('{guard.words}')"
        )
    for table in sorted({guard.table for guard in wanted}):
        # Row triggers do not see TRUNCATE, which would empty a table past them.
        guard = Guard(table, "TRUNCATE")
        connection.exec_driver_sql(
            f'CREATE TRIGGER "{guard.name}" BEFORE TRUNCATE ON "{table}" '
            f"FOR EACH STATEMENT EXECUTE FUNCTION {_FUNCTION}('{guard.words}')"
        )


def guard_faults(connection: Connection, metadata: MetaData) -> list[str]:
    """Guards that are missing, switched off, or do something else than they should."""
    if connection.dialect.name == "sqlite":
        wanted = {guard.name: _for_sqlite(guard) for guard in guards(metadata)}
        query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
    else:
        wanted = {guard.name: _as_postgresql_tells(guard) for guard in guards(metadata)}
        wanted |= {
            guard.name: _as_postgresql_tells(guard)
            for guard in (Guard(table, "TRUNCATE") for table in metadata.tables)
        }
        query = (
            "SELECT t.tgname, t.tgenabled::text || p.proname || p.prosrc || "
            "encode(t.tgargs, 'escape') || (t.tgqual IS NOT NULL)::text "
            "FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
            "JOIN pg_proc p ON p.oid = t.tgfoid JOIN pg_namespace n ON n.oid = c.relnamespace "
            "WHERE NOT t.tgisinternal AND n.nspname = current_schema()"
        )
    found = {str(name): str(made) for name, made in connection.execute(text(query))}
    missing = [f"the guard {name} is missing" for name in wanted if name not in found]
    other = [
        f"the guard {name} is switched off or does something else"
        for name, made in wanted.items()
        if found.get(name, made) != made
    ]
    foreign = [
        f"the trigger {name} is none of this program's" for name in found if name not in wanted
    ]
    return sorted(missing) + sorted(other) + sorted(foreign)


def _for_sqlite(guard: Guard) -> str:
    when = f"WHEN {guard.when} " if guard.when else ""
    return (
        f'CREATE TRIGGER "{guard.name}" BEFORE {guard.change} ON "{guard.table}" '
        f"{when}BEGIN SELECT RAISE(ABORT, '{guard.words}'); END"
    )


def _as_postgresql_tells(guard: Guard) -> str:
    """Switched on, which function with which text, its argument, and whether it is conditional."""
    return f"O{_FUNCTION}{_REFUSES}{guard.words}\\000{'true' if guard.when else 'false'}"


def present(connection: Connection) -> list[tuple[str, str]]:
    """The guards that exist in the database, as (table, trigger name)."""
    if connection.dialect.name == "sqlite":
        query = "SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger'"
    else:
        query = (
            "SELECT c.relname, t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
            "JOIN pg_namespace n ON n.oid = c.relnamespace "
            "WHERE NOT t.tgisinternal AND n.nspname = current_schema()"
        )
    found = ((str(table), str(name)) for table, name in connection.execute(text(query)))
    return sorted(row for row in found if row[1].startswith(PREFIX))
