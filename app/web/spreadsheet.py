"""Tables as files that a spreadsheet opens: plain text in UTF-8, lengths in both units."""

from __future__ import annotations

import csv
from io import StringIO

from starlette.responses import Response

from app.calc.units import Length
from app.queries.figure_views import Cell, Column, Holds, Row

# A text that begins so is taken for a formula, or hides one.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def inert(text: str) -> str:
    """A text that no spreadsheet works out: led by an apostrophe where it could be a formula."""
    return f"'{text}" if text.lstrip(" ").startswith(FORMULA_STARTS) else text


def as_csv(columns: tuple[Column, ...], rows: tuple[Row, ...]) -> str:
    """A heading and the rows; each length stands in inches and in millimetres."""
    out = StringIO()
    write = csv.writer(out, lineterminator="\r\n")
    heads: list[str] = []
    for column in columns:
        units = ["in", "mm"] if column.holds is Holds.LENGTH else [""]
        heads += [inert(f"{column.name} ({unit})" if unit else column.name) for unit in units]
    write.writerow(heads)
    for row in rows:
        cells: list[str] = []
        for column, cell in zip(columns, row.cells, strict=True):
            cells += _cells(column, cell)
        write.writerow(cells)
    return out.getvalue()


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


def csv_answer(name: str, text: str) -> Response:
    """The file, to be kept; marked as UTF-8 for programs that would guess otherwise."""
    return Response(
        ("\ufeff" + text).encode(),
        media_type="text/csv; charset=utf-8",
        headers={
            "Content-Disposition": f'attachment; filename="{name}.csv"',
            "Cache-Control": "no-store",
        },
    )
