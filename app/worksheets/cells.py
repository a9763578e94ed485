"""Rows of a grid from kept readings."""

from __future__ import annotations

from collections.abc import Mapping

from app.forms.cells import Bound, Cell, Comparator
from app.workflow.grids import Column
from app.workflow.kinds import Quantity, Unit
from app.worksheets.readings import Readings

__all__ = ["Bound", "Cell", "Comparator", "cells_of"]


def cells_of(
    readings: Readings,
    columns: tuple[Column, ...],
    *,
    about: str,
    unit: Unit,
    comparator: Comparator | None = None,
    bounds: Mapping[Quantity, Bound] | None = None,
) -> tuple[Cell, ...]:
    """A row of cells for one subject; `about` names it ("ring 1", "3E")."""
    within = bounds or {}
    return tuple(
        Cell(
            subject=readings.subject,
            kind=readings.kind,
            column=column,
            label=f"{about}, {_told(column)}",
            unit=unit,
            current=readings.at(column.quantity, column.place),
            comparator=comparator,
            bound=within.get(column.quantity),
        )
        for column in columns
    )


def _told(column: Column) -> str:
    heading = column.heading[0].lower() + column.heading[1:]
    if column.place == "1" or column.place in heading:
        return heading
    return (
        f"{heading}, place {column.place}"
        if column.place.isdigit()
        else (f"{heading}, {column.place}")
    )
