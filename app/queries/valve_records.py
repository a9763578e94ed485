"""Valves, springs, vacuum tests and chamber volumes as a head record prints them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from sqlmodel import Session

from app.calc.units import Length
from app.models.inspection import Inspection
from app.queries.figured_inspections import Figured, newest_figured
from app.workflow.grids import VALVE_CONTACT, VALVES
from app.workflow.kinds import Quantity, ReadingKind
from app.workflow.shop_rules import ShopRules
from app.workflow.words import InspectionKind, Outcome, listed
from app.worksheets.contacts import wanted_contact
from app.worksheets.facts import HeadSheet
from app.worksheets.readings import Subject, load_one
from app.worksheets.seat_plans import newest_plans
from app.worksheets.valves import is_missing, of_the_book, valve_row

COLUMNS = (*VALVES, *VALVE_CONTACT)


@dataclass(frozen=True, slots=True)
class ValveLine:
    """One valve with its spring."""

    label: str
    state: str
    is_missing: bool
    figures: Mapping[Quantity, Length | None]
    book: Length | None
    contact: tuple[str, ...]
    follows: tuple[str, ...]
    asks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TriedLine:
    """One vacuum test, or the chamber volumes: how it came out, and its figures as typed."""

    label: str
    outcome: Outcome
    found: str
    because: str
    method: str
    figures: tuple[tuple[str, str], ...]
    at: datetime
    by: str
    typed_by: str
    typed_at: datetime


def valve_lines(session: Session, sheet: HeadSheet, rules: ShopRules) -> tuple[ValveLine, ...]:
    """Positions whose valve was spoken of or measured."""
    found = [
        rows
        for rows in sheet.rows.ports
        if rows.valve_fate is not None or (rows.valves is not None and rows.valves.counting)
    ]
    if not found:
        return ()
    books = load_one(session, ReadingKind.VALVES, Subject("head", sheet.head.id))
    unit = sheet.rows.job.job.unit.value
    plans = newest_plans(session, [sheet.head.id])[sheet.head.id]
    lines = []
    for rows in found:
        wanted = wanted_contact(plans.get(rows.port.kind), unit)
        row = valve_row(rows, books, wanted, rules, unit)
        lines.append(
            ValveLine(
                label=rows.label,
                state=row.state.screen if row.state else "",
                is_missing=is_missing(rows),
                figures={
                    column.quantity: rows.valves.one(column.quantity) if rows.valves else None
                    for column in COLUMNS
                },
                book=of_the_book(books, Quantity.SPRING_HEIGHT, rows.port.kind),
                contact=row.contact,
                follows=row.follows,
                asks=row.asks,
            )
        )
    return tuple(lines)


def vacuum_lines(session: Session, sheet: HeadSheet) -> tuple[TriedLine, ...]:
    """The newest test of each position, as they lie; those that were told alike share a line."""
    tests = newest_figured(session, sheet.head.id, InspectionKind.VACUUM, of_positions=True)
    labels: dict[TriedLine, list[str]] = defaultdict(list)
    for rows in sheet.rows.ports:
        if rows.port.id in tests:
            labels[_line(tests[rows.port.id], "")].append(rows.label)
    return tuple(replace(line, label=listed(mine)) for line, mine in labels.items())


def chamber_line(session: Session, sheet: HeadSheet) -> TriedLine | None:
    """The newest volumes of the head."""
    kind = InspectionKind.CHAMBER_VOLUMES
    found = newest_figured(session, sheet.head.id, kind, of_positions=False).get(None)
    return None if found is None else _line(found, "")


def stands_apart(row: Inspection) -> bool:
    """Printed in a section of its own, not among the inspections."""
    return row.kind is InspectionKind.CHAMBER_VOLUMES or (
        row.kind is InspectionKind.VACUUM and row.port_id is not None
    )


def missing_valves(sheet: HeadSheet) -> list[str]:
    """Positions whose valve is missing: said before hand-over, never asked."""
    return [rows.label for rows in sheet.rows.ports if is_missing(rows)]


def _line(test: Figured, label: str) -> TriedLine:
    row, looked = test.row, test.looked
    return TriedLine(
        label=label,
        outcome=row.outcome,
        found=row.found,
        because=row.because,
        method=row.method,
        figures=tuple(test.typed.items()),
        at=row.taken_at,
        by=looked.typed_by,
        typed_by=looked.sent_by if looked.is_entered_later else "",
        typed_at=row.at,
    )
