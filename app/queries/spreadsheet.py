"""Tables as text that a spreadsheet opens: no cell is a formula, lengths in both units."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from io import StringIO

from app.calc.units import Length
from app.queries.figure_views import Cell, Column, Holds, Row

# A text that begins so is taken for a formula, or hides one.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
# Spreadsheets guess the encoding without it.
BYTE_ORDER_MARK = "\ufeff"


@dataclass(frozen=True, slots=True)
class Table:
    """A list to be written out; its rows may be read as they are written."""

    name: str
    columns: tuple[Column, ...]
    rows: Iterable[Row]


def inert(text: str) -> str:
    """A text that no spreadsheet works out: led by an apostrophe where it could be a formula."""
    return f"'{text}" if text.lstrip(" ").startswith(FORMULA_STARTS) else text


def as_csv(columns: tuple[Column, ...], rows: Iterable[Row]) -> str:
    """A heading and the rows; each length stands in inches and in millimetres."""
    return "".join(csv_lines(Table("", columns, rows)))


def csv_lines(table: Table) -> Iterator[str]:
    """The same, line by line: a long list is never whole in memory."""
    out = StringIO()
    write = csv.writer(out, lineterminator="\r\n")

    def line(cells: list[str]) -> str:
        write.writerow(cells)
        text = out.getvalue()
        out.seek(0)
        out.truncate()
        return text

    yield line(_heads(table.columns))
    for row in table.rows:
        pairs = zip(table.columns, row.cells, strict=True)
        yield line([text for column, cell in pairs for text in _cells(column, cell)])


def _heads(columns: tuple[Column, ...]) -> list[str]:
    heads = []
    for column in columns:
        units = ["in", "mm"] if column.holds is Holds.LENGTH else [""]
        heads += [inert(f"{column.name} ({unit})" if unit else column.name) for unit in units]
    return heads


def _cells(column: Column, cell: Cell) -> list[str]:
    if column.holds is Holds.LENGTH:
        if not isinstance(cell, Length):
            return ["", ""]
        inches = cell.inches(column.places)
        # Spreadsheets read 0.0040, not all of them .0040.
        whole = inches.replace(".", "0.", 1) if inches.lstrip("-").startswith(".") else inches
        return [whole, cell.mm(column.places)]
    if cell is None:
        return [""]
    if isinstance(cell, str):
        return [inert(cell)]
    if isinstance(cell, float):
        return [f"{cell:.4f}"]
    return [str(cell)]
