"""Lists and figures as files to keep: written as they are read, on the thread of slow work."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterator
from itertools import islice

from starlette.responses import Response, StreamingResponse

from app.queries.spreadsheet import BYTE_ORDER_MARK, Table, csv_lines
from app.threads import slow_work

LINES_AT_ONCE = 500


def csv_answer(table: Table) -> Response:
    """The file, to be kept; marked as UTF-8 for programs that would guess otherwise."""
    return StreamingResponse(
        _pieces(csv_lines(table)),
        media_type="text/csv; charset=utf-8",
        headers={
            "Content-Disposition": f'attachment; filename="{table.name}.csv"',
            "Cache-Control": "no-store",
        },
    )


async def _pieces(lines: Iterator[str]) -> AsyncIterator[bytes]:
    yield BYTE_ORDER_MARK.encode()
    while piece := await slow_work(_next, lines):
        yield piece


def _next(lines: Iterator[str]) -> bytes:
    return "".join(islice(lines, LINES_AT_ONCE)).encode()
