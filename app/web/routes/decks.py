"""The deck of a head: stock that came off, and the depths that count from it."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.decks import DeckBackForm, DeckCutForm
from app.queries.decks import deck_view
from app.services.decks import record_deck_cut, take_back_deck_cut
from app.services.owned import the_head
from app.web.access import may
from app.web.answers import answer
from app.web.bench_page import strip_words
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.kinds import DeckOrder
from app.workflow.permissions import Verb

router = APIRouter()
METHODS = ("milled", "ground", "lapped by hand")


@router.get("/heads/{head_id}/deck", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return _page(request, db, head_id, None)


@router.post("/heads/{head_id}/deck", dependencies=[may(Verb.CUT)])
def create(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        unit = the_head(session, head_id)[0].unit
    form = DeckCutForm(sent.fields, unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: record_deck_cut(tx, head_id, form),
        then=lambda _cut: f"/heads/{head_id}/deck",
        said="The deck cut is recorded.",
        show=lambda status: _page(request, db, head_id, form, status),
    )


@router.post("/heads/{head_id}/deck/{deck_cut_id}/take-back", dependencies=[may(Verb.CUT)])
def take_back(
    request: Request, db: DatabaseDep, head_id: RowId, deck_cut_id: RowId, sent: SentDep
) -> Response:
    form = DeckBackForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: take_back_deck_cut(tx, head_id, deck_cut_id, form.because),
        then=lambda _cut: f"/heads/{head_id}/deck",
        said="It no longer counts; it stays on record.",
        show=lambda status: _page(request, db, head_id, form, status),
    )


def _page(
    request: Request, db: Database, head_id: int, form: Form | None, status: int = 200
) -> Response:
    with db.read() as session:
        view = deck_view(session, *the_head(session, head_id))
    order = DeckOrder.AFTER if view.seats_begun else DeckOrder.BEFORE
    return page(
        request,
        "decks/show.html",
        status,
        nav="bench",
        view=view,
        job=view.job,
        head=view.head,
        who=strip_words(view.job, view.head, view.customer),
        form=form or DeckCutForm.showing({"order": order}),
        labels=dict(DeckCutForm.names) | {"because": "Why it is taken back"},
        orders=[(each.value, each.screen.capitalize()) for each in DeckOrder],
        methods=METHODS,
        cautions=[view.rules.caution(key) for key in ("lifting", "turning_cutter")],
        is_over=view.job.ended_as is not None or view.job.voided_at is not None,
    )
