"""Deck flatness: gaps along, across and over the diagonals, against this head's limits."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.field_text import field_text
from app.forms.flatness import FlatnessForm, gap_cell, gap_columns, gap_places
from app.models.customer import Customer
from app.models.head import Head
from app.queries.people import readers
from app.queries.shop_rules import current_rules
from app.services.flatness import limits_seen, record_flatness
from app.services.owned import the_head
from app.web.access import may
from app.web.answers import answer
from app.web.bench_page import strip_words
from app.web.days import today
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.kept import Subject
from app.workflow.kinds import Quantity, ReadingKind, Unit
from app.workflow.permissions import Verb
from app.worksheets.cells import Cell
from app.worksheets.inspected import deck_of, flat_limits, part_words
from app.worksheets.readings import Readings, load_one

router = APIRouter()


@router.get("/heads/{head_id}/flatness", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return _page(request, db, head_id, None)


@router.post("/heads/{head_id}/flatness", dependencies=[may(Verb.RECORD_READING)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        readings = load_one(session, ReadingKind.FLATNESS, Subject("head", head_id))
    cells = [cell for row in _rows(head, readings, job.unit) for cell in row]
    form = FlatnessForm(sent.fields, cells, head_id=head_id, unit=job.unit)
    seen = sent.fields.get("seen", "")
    onward = "inspections#name-flatness" if sent.fields.get("then") == "next" else "flatness"
    return answer(
        request,
        sent,
        form,
        lambda tx: record_flatness(tx, head_id, form, seen),
        then=lambda _row: f"/heads/{head_id}/{onward}",
        show=lambda status: _page(request, db, head_id, form, status),
        said="Kept.",
    )


def _rows(head: Head, readings: Readings, unit: Unit) -> list[tuple[Cell, ...]]:
    """Line after line, each read over its whole length and within a part."""
    return [
        tuple(
            gap_cell(head.id, each, unit, readings.at(Quantity.FLATNESS, each))
            for each in gap_columns(place)
        )
        for place in gap_places([kept.place for kept in readings.of(Quantity.FLATNESS)])
    ]


def _page(
    request: Request, db: Database, head_id: int, form: FlatnessForm | None, status: int = 200
) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        readings = load_one(session, ReadingKind.FLATNESS, Subject("head", head_id))
        rules = current_rules(session)
        customer = session.get(Customer, job.customer_id) if job.customer_id else None
        people = readers(session)
    rows = _rows(head, readings, job.unit)
    limits = flat_limits(head, rules)
    return page(
        request,
        "flatness/edit.html",
        status,
        nav="bench",
        job=job,
        head=head,
        who=strip_words(job, head, customer),
        rows=rows,
        limits=limits,
        over=part_words(limits, job.unit),
        deck=deck_of(readings, limits, job.unit),
        form=form or Form.showing(_as_kept(head, rows, job.unit)),
        is_odd=form is not None and form.is_odd,
        names=FlatnessForm.NAMES
        | FlatnessForm.EARLIER
        | {cell.name: cell.label for row in rows for cell in row},
        seen=limits_seen(head),
        readers=people,
        today=today(request),
        may_read=request.state.may(Verb.RECORD_READING)
        and job.ended_as is None
        and job.voided_at is None,
    )


def _as_kept(head: Head, rows: list[tuple[Cell, ...]], unit: Unit) -> dict[str, object]:
    found: dict[str, object] = {cell.name: cell.shown for row in rows for cell in row}
    return found | {
        "limit_whole": field_text(head.flat_whole, unit),
        "limit_part": field_text(head.flat_part, unit),
        "limit_over": field_text(head.flat_part_over, unit),
        "limit_source": head.flat_source or "",
    }
