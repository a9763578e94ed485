"""The same casting seen before: proposed while typing, taken over with one touch."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from app.forms.heads import TakeOverForm, folded_casting
from app.queries.castings import seen_before
from app.services.heads import take_over
from app.services.owned import the_head
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.head_page import edit_page
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter()


@router.post("/heads/{head_id}/take-over", dependencies=[may(Verb.TAKE_IN)])
def take(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    form = TakeOverForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: take_over(tx, head_id, form),
        then=lambda head: f"/heads/{head.id}/positions",
        said="Taken over. Compare it with the head in front of you.",
        show=lambda status: edit_page(request, db, head_id, None, status),
    )


@router.get("/heads/{head_id}/seen", dependencies=[may(Verb.TAKE_IN)])
def show_seen(
    request: Request,
    db: DatabaseDep,
    head_id: RowId,
    casting: Annotated[str, Query(max_length=60)] = "",
) -> Response:
    with db.read() as session:
        _, head = the_head(session, head_id)
        typed = folded_casting("".join(each for each in casting if each.isprintable()))
        seen = seen_before(session, head, typed) if typed else None
    return page(request, "heads/_seen_while_typing.html", seen=seen)
