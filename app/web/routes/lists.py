"""Any list as a file for a spreadsheet, with the filters of its page."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database, now
from app.forms.find import FindForm
from app.queries.bench import bench
from app.queries.counter import CounterLine, Show, ended_jobs, find_jobs, open_jobs
from app.queries.crib import crib
from app.queries.find import find
from app.queries.lists import (
    AT_ONCE,
    OnlyHolds,
    bench_table,
    customers_table,
    holds_table,
    jobs_table,
    prices_table,
)
from app.queries.shelf import shelf_lines, wanted_lines
from app.queries.spreadsheet import Table
from app.queries.tool_lists import crib_tables, shelf_table, sizes_table, wanted_table
from app.threads import slow_work
from app.web.access import may
from app.web.days import today
from app.web.deps import DatabaseDep
from app.web.errors import say
from app.web.spreadsheet import csv_answer
from app.workflow.permissions import Verb

router = APIRouter(prefix="/lists")
Key = Literal[
    "counter",
    "shelf",
    "wanted",
    "sizes",
    "holds",
    "price-list",
    "bench",
    "cutters",
    "instruments",
    "pilots",
    "fixtures",
    "machines",
]
Typed = Annotated[str, Query(max_length=100)]


# Names and numbers of every customer at once are more than any page shows.
@router.get("/customers/csv", dependencies=[may(Verb.EXPORT)])
def customers(db: DatabaseDep) -> Response:
    return csv_answer(customers_table(db))


@router.get("/find/csv", dependencies=[may(Verb.READ)])
def found(request: Request, db: DatabaseDep) -> Response:
    form = FindForm(dict(request.query_params))
    if not form.ok:
        words = "; ".join(
            f"{form.names.get(name, name)} {why}" for name, why in form.errors.items()
        )
        return say(request, 422, "Not looked for", f"{words}.")
    form.after = None
    return csv_answer(jobs_table("jobs-found", _found(request, db, form), _zone(request)))


@router.get("/{key}/csv", dependencies=[may(Verb.READ)])
async def download(
    request: Request,
    db: DatabaseDep,
    key: Key,
    q: Typed = "",
    show: Show = Show.OPEN,
    only: OnlyHolds = OnlyHolds.ALL,
) -> Response:
    return csv_answer(await slow_work(_table, request, db, key, q.strip(), show, only))


def _table(request: Request, db: Database, key: Key, q: str, show: Show, only: OnlyHolds) -> Table:
    zone, day = _zone(request), today(request)
    if key == "holds":
        return holds_table(db, zone, only)
    if key == "sizes":
        return sizes_table(db)
    if key == "counter":
        return jobs_table("jobs", _counter(request, db, q, show), zone)
    with db.read() as session:
        if key == "shelf":
            return shelf_table(shelf_lines(session, q))
        if key == "wanted":
            return wanted_table(wanted_lines(session, day))
        if key == "price-list":
            return prices_table(session, zone)
        if key == "bench":
            return bench_table(
                bench(session, person_id=request.state.person.id, at=now(), today=day)
            )
        return crib_tables(crib(session, zone, day))[key]


def _counter(request: Request, db: Database, q: str, show: Show) -> Iterator[CounterLine]:
    day, before = today(request), None
    typed = "".join(letter for letter in q if letter.isprintable())
    while True:
        with db.read() as session:
            if typed:
                part = find_jobs(session, typed, day)
            elif show is Show.ENDED:
                part = ended_jobs(session, day, before, AT_ONCE)
            else:
                part = open_jobs(session, day, show)
        yield from part.lines
        before = part.next_before
        if before is None:
            return


def _found(request: Request, db: Database, form: FindForm) -> Iterator[CounterLine]:
    while True:
        with db.read() as session:
            part = find(session, form, today(request), AT_ONCE)
        yield from part.lines
        form.after = part.next_after
        if form.after is None:
            return


def _zone(request: Request) -> ZoneInfo:
    return ZoneInfo(request.state.shop.zone)
