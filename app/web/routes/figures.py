"""The office's figures: each over a period that stands in the address, as a page and as a file."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Literal
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Query
from sqlmodel import Session
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database, now
from app.queries.figure_views import Cell, Column, Figure, Histogram, Holds
from app.queries.finished_months import FinishedMonths
from app.queries.job_figures import came_back, days_taken, hold_causes
from app.queries.signed_figures import first_time, interference_achieved, rings_and_labels
from app.queries.spreadsheet import Table
from app.queries.tip_figures import overcut_of_tips
from app.threads import slow_work
from app.web.access import may
from app.web.deps import DatabaseDep
from app.web.drawing.figure_pictures import histogram_picture, span_picture
from app.web.render import page, show_length
from app.web.spreadsheet import csv_answer
from app.workflow.periods import FEWEST_CASES, Period
from app.workflow.permissions import Verb

router = APIRouter(prefix="/figures", dependencies=[may(Verb.SEE_FIGURES)])

Count = Callable[..., Figure]
Key = Literal["first-time", "interference", "overcut", "labels", "days", "holds", "comebacks"]
FIGURES: dict[Key, tuple[str, str, Count]] = {
    "first-time": ("Right the first time", "How often does the first bore stand?", first_time),
    "interference": (
        "Interference against aim",
        "Do the fits lie where they were aimed, with room to the limits?",
        interference_achieved,
    ),
    "overcut": ("Overcut of each tip", "Which cutter drifts?", overcut_of_tips),
    "labels": ("Rings against labels", "Whose rings differ from their box?", rings_and_labels),
    "days": ("Days and promises", "Where do heads stand, and is the day kept?", days_taken),
    "holds": ("Holds and deviations", "What stops positions, and how is it left?", hold_causes),
    "comebacks": ("Comebacks", "What came back, and why?", came_back),
}


@router.get("")
def list_figures(request: Request) -> Response:
    period = _period(request, "", "")
    return page(request, "figures/list.html", nav="office", figures=FIGURES, period=period)


@router.get("/{key}")
async def show(
    request: Request,
    db: DatabaseDep,
    key: Key,
    first: Annotated[str, Query(alias="from", max_length=7)] = "",
    last: Annotated[str, Query(alias="to", max_length=7)] = "",
) -> Response:
    period = _period(request, first, last)
    figure = await slow_work(counted_for, request, db, key, period)
    return await slow_work(_page, request, key, figure, period)


@router.get("/{key}/csv")
async def download(
    request: Request,
    db: DatabaseDep,
    key: Key,
    first: Annotated[str, Query(alias="from", max_length=7)] = "",
    last: Annotated[str, Query(alias="to", max_length=7)] = "",
) -> Response:
    period = _period(request, first, last)
    figure = await slow_work(counted_for, request, db, key, period)
    name = f"{key}-{period.first.key}-to-{period.last.key}"
    return csv_answer(Table(name, figure.columns, figure.rows))


def _zone(request: Request) -> ZoneInfo:
    return ZoneInfo(request.state.shop.zone)


def _period(request: Request, first: str, last: str) -> Period:
    return Period.parse(first, last, now().astimezone(_zone(request)).date())


def counted_for(request: Request, db: Database, key: Key, period: Period) -> Figure:
    kept: FinishedMonths = request.app.state.finished_months
    with db.read() as session:
        return _figure(session, key, period, _zone(request), kept)


def _figure(
    session: Session, key: Key, period: Period, zone: ZoneInfo, kept: FinishedMonths
) -> Figure:
    return FIGURES[key][2](session, period, zone, now(), kept)


def _page(request: Request, key: Key, figure: Figure, period: Period) -> Response:
    unit = request.state.shop.unit.value
    today = now().astimezone(_zone(request)).date()
    quick = [
        ("this month", Period.lately(today, 1)),
        ("3 months", Period.lately(today, 3)),
        ("12 months", Period.lately(today, 12)),
        ("3 years", Period.lately(today, 36)),
    ]
    return page(
        request,
        "figures/show.html",
        nav="office",
        figure=figure,
        figures=FIGURES,
        key=key,
        period=period,
        quick=quick,
        fewest=FEWEST_CASES,
        pictures=[
            histogram_picture(each, unit)
            if isinstance(each, Histogram)
            else span_picture(each, unit)
            for each in figure.pictures
        ],
        shown=lambda column, cell: _shown(column, cell, unit),
        is_number=lambda column: column.holds is not Holds.TEXT,
        unit=unit,
    )


def _shown(column: Column, cell: Cell, unit: str) -> str:
    if cell is None:
        return "–"
    if column.holds is Holds.LENGTH:
        places = column.places if unit == "in" else column.places - 1
        return show_length(cell, unit, places)  # type: ignore[arg-type]
    if column.holds is Holds.SHARE:
        return f"{float(cell) * 100:.1f} %"  # type: ignore[arg-type]
    if column.holds is Holds.NUMBER:
        return f"{float(cell):.{column.places}f}"  # type: ignore[arg-type]
    return str(cell)
