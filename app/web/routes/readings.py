"""One kept reading of a head or a ring set: struck, or kept though it is doubtful."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import APIRouter
from sqlmodel import Session
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.readings import KeepForm, StrikeForm
from app.models.base import Row
from app.queries.readings import OneReading, one_reading
from app.services.owned import still_open
from app.services.readings import keep_reading, strike_reading
from app.services.write import NotFound, Write
from app.web.access import local_path, may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, Sent, SentDep
from app.web.render import page
from app.workflow.permissions import Verb

router = APIRouter()
SLIPS = ("mistyped", "read at another position", "the gauge was not zeroed", "dirt under the gauge")


@router.get("/readings/{reading_id}/strike", dependencies=[may(Verb.STRIKE_READING)])
def new_strike(request: Request, db: DatabaseDep, reading_id: RowId) -> Response:
    return _page(request, db, reading_id, StrikeForm.showing(_back_asked(request)))


@router.post("/readings/{reading_id}/strike", dependencies=[may(Verb.STRIKE_READING)])
def strike(request: Request, db: DatabaseDep, reading_id: RowId, sent: SentDep) -> Response:
    form = StrikeForm(sent.fields)
    return _settle(request, db, reading_id, sent, form, strike_reading)


@router.get("/readings/{reading_id}/keep", dependencies=[may(Verb.KEEP_READING)])
def new_keep(request: Request, db: DatabaseDep, reading_id: RowId) -> Response:
    return _page(request, db, reading_id, KeepForm.showing(_back_asked(request)))


@router.post("/readings/{reading_id}/keep", dependencies=[may(Verb.KEEP_READING)])
def keep(request: Request, db: DatabaseDep, reading_id: RowId, sent: SentDep) -> Response:
    form = KeepForm(sent.fields)
    return _settle(request, db, reading_id, sent, form, keep_reading)


def _settle(
    request: Request,
    db: Database,
    reading_id: int,
    sent: Sent,
    form: StrikeForm | KeepForm,
    settle: Callable[[Write, int, str, Row], Row],
) -> Response:
    def change(tx: Write) -> Row:
        mine = _the_reading(tx.session, reading_id)
        if mine.job is not None:
            still_open(mine.job)
        about: Row | None = mine.head or mine.ring_set
        assert about is not None
        return settle(tx, reading_id, form.reason, about)

    return answer(
        request,
        sent,
        form,
        change,
        then=lambda _row: _back(request, db, reading_id, form),
        said=("Struck; it stays on record." if _is_strike(form) else "Kept, with the reason."),
        show=lambda status: _page(request, db, reading_id, form, status),
    )


def _page(
    request: Request,
    db: Database,
    reading_id: int,
    form: StrikeForm | KeepForm,
    status: int = 200,
) -> Response:
    with db.read() as session:
        found = _the_reading(session, reading_id)
    return page(
        request,
        "readings/settle.html",
        status,
        nav="bench",
        found=found,
        form=form,
        back=_back(request, db, reading_id, form),
        is_kept=not _is_strike(form),
        slips=SLIPS,
    )


def _back(request: Request, db: Database, reading_id: int, form: Form) -> str:
    """The page on which it was struck; a head has several."""
    asked = local_path(request, form.raw.get("back", ""))
    if asked:
        return asked
    with db.read() as session:
        return _the_reading(session, reading_id).home


def _back_asked(request: Request) -> dict[str, object]:
    return {"back": request.query_params.get("back", "")[:500]}


def _is_strike(form: Form) -> bool:
    return isinstance(form, StrikeForm)


def _the_reading(session: Session, reading_id: int) -> OneReading:
    found = one_reading(session, reading_id)
    if found is None:
        raise NotFound("There is no such reading here.")
    return found
