"""Rows as plain values for programs: lengths in nanometres and in both units, times in UTC."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from enum import Enum
from functools import cache
from typing import Any

from sqlalchemy import Select, Table
from sqlalchemy import select as select_columns
from sqlmodel import Session, col, select

from app.calc.units import NM_PER_UNIT, Length, digits_text, nearest_whole, trimmed
from app.db import metadata
from app.models.person import Person

Plain = dict[str, Any]

# What proves a person or a program, and what is of no use outside this database.
KEPT_HERE: Mapping[str, frozenset[str]] = {
    "person": frozenset({"pin_hash", "pin_set_at"}),
    "event": frozenset({"client_key", "request_sha256"}),
    "reading": frozenset({"client_key"}),
    # A sheet's own bytes stand beside the rows, not among them.
    "sheet": frozenset({"html"}),
}
INCH = NM_PER_UNIT["in"]
# Either text gives the nanometres back.
INCH_PLACES, MM_PLACES = 8, 6
IDS_AT_ONCE = 500


def plain(value: Any) -> Any:
    """A stored value as JSON: ``{"nm": 41305480, "in": "1.6262", "mm": "41.30548"}``."""
    if isinstance(value, Length):
        return {
            "nm": value.nm,
            "in": trimmed(
                digits_text(nearest_whole(value.nm * 10**INCH_PLACES, INCH), INCH_PLACES)
            ),
            "mm": trimmed(digits_text(value.nm, MM_PLACES)),
        }
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime | date):
        return value.isoformat()
    return value


@cache
def table_named(name: str) -> Table:
    """A table of the record."""
    return metadata.tables[name]


@cache
def _shape(name: str) -> tuple[tuple[str, str, str], ...]:
    """Each column that leaves: its name, the table that it refers to, and where a person's name
    goes: ``typed_by_id`` is told as ``typed_by`` too."""
    hidden = KEPT_HERE.get(name, frozenset())
    shape = []
    for column in table_named(name).columns:
        if column.name in hidden:
            continue
        target = next((key.column.table.name for key in column.foreign_keys), "")
        named = column.name.removesuffix("_id") if target == "person" else ""
        shape.append((column.name, target, named))
    return tuple(shape)


def rows_of(name: str) -> Select[Any]:
    """All of a table that leaves, the oldest first."""
    table = table_named(name)
    columns = [table.c[column] for column, _, _ in _shape(name)]
    return select_columns(*columns).order_by(table.c.id)


def as_plain(
    name: str, found: Iterable[Sequence[Any]], people: Mapping[int, str]
) -> Iterator[Plain]:
    """Rows of `rows_of` as objects, people with their names."""
    shape = _shape(name)
    for values in found:
        row: Plain = {}
        for (column, _, named), value in zip(shape, values, strict=True):
            row[column] = plain(value)
            if named:
                row[named] = people.get(value)
        yield row


def rows_where(
    session: Session, name: str, column: str, ids: Collection[int], people: Mapping[int, str]
) -> list[Plain]:
    """Rows whose `column` is one of some ids."""
    wanted, found = sorted(ids), []
    for start in range(0, len(wanted), IDS_AT_ONCE):
        some = wanted[start : start + IDS_AT_ONCE]
        query = rows_of(name).where(table_named(name).c[column].in_(some))
        found += list(as_plain(name, session.execute(query), people))
    return found


def refers_to(name: str, target: str) -> tuple[str, ...]:
    """The columns of a table that hold ids of another."""
    return tuple(column for column, found, _ in _shape(name) if found == target)


def names_of_people(session: Session) -> dict[int, str]:
    """Who is who, those who left too."""
    return dict(session.exec(select(Person.id, Person.name).order_by(col(Person.id))).all())
