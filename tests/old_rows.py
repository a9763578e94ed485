"""One row in every table of an older revision, made from what its database says of itself.

The models cannot make them: they know the newest tables only.
"""

from __future__ import annotations

import itertools
import re
from datetime import date, datetime, timedelta
from typing import Any

import sqlalchemy as sa

# What a table's own conditions ask for and the types of its columns do not say.
_ORDERED = {"least": 1, "aim": 2, "most": 3, "od_from": 1, "od_below": 2}
_ONE_SUBJECT = {"reading_set": "head_id", "search_key": "head_id"}
_ONE_ROW = {"shop": 1}
# ``unit IN ('in', 'mm')`` as SQLite and as PostgreSQL give it back.
_WORDS = re.compile(r"^\W*(\w+)\W.*?(?:IN|ANY) ?\(.*?'([^']+)'")

Rows = dict[str, list[tuple[Any, ...]]]


def fill_every_table(engine: sa.Engine, but: str) -> tuple[sa.MetaData, Rows]:
    """Put one row into every table except `but`, and answer the tables and what is in them."""
    found = sa.MetaData()
    with engine.begin() as connection:
        found.reflect(connection)
        found.remove(found.tables[but])
        numbers = itertools.count(100)
        ids: dict[str, int] = {}
        for table in found.sorted_tables:
            ids[table.name] = _ONE_ROW.get(table.name, next(numbers))
            row = {c.name: _value(c, ids, numbers) for c in table.columns}
            row |= _first_words(connection, table) | _alone(table)
            connection.execute(sa.insert(table), row)
    return found, rows_of(engine, found)


def rows_of(engine: sa.Engine, tables: sa.MetaData) -> Rows:
    """Every value in the columns of `tables`."""
    with engine.connect() as connection:
        return {
            name: [tuple(row) for row in connection.execute(sa.select(*table.columns))]
            for name, table in sorted(tables.tables.items())
        }


def _value(column: sa.Column[Any], ids: dict[str, int], numbers: itertools.count[int]) -> Any:
    if column.primary_key:
        return ids[column.table.name]
    if column.foreign_keys:
        [reference] = column.foreign_keys
        return ids[reference.column.table.name]
    if column.name in _ORDERED:
        return _ORDERED[column.name]
    number = next(numbers)
    match column.type:
        case sa.Boolean():
            return True
        case sa.DateTime():
            return datetime(2026, 1, 2, 3, 4, 5, 678) + timedelta(minutes=number)
        case sa.Date():
            return date(2026, 1, 2) + timedelta(days=number)
        case sa.Float():
            return number + 0.25
        case sa.Integer():
            return number
        case sa.LargeBinary():
            return b"\0" + str(number).encode()
        case sa.String():
            # The last of the number, which tells rows apart in the shortest of columns.
            return f"ä{number}"[-(column.type.length or 60) :]
    raise AssertionError(f"no value is known for {column.table.name}.{column.name}: {column.type}")


def _first_words(connection: sa.Connection, table: sa.Table) -> dict[str, str]:
    """The first word that each worded column allows."""
    checks = sa.inspect(connection).get_check_constraints(table.name)
    found = (_WORDS.match(check["sqltext"]) for check in checks if "<>" not in check["sqltext"])
    return {words[1]: words[2] for words in found if words}


def _alone(table: sa.Table) -> dict[str, None]:
    """The subjects that a row about one thing only must leave empty."""
    subject = _ONE_SUBJECT.get(table.name)
    if subject is None:
        return {}
    others = (c.name for c in table.columns if c.foreign_keys and c.nullable)
    return {name: None for name in others if name.endswith("_id") and name != subject}
