"""Not done, because …: one small page for every open point that a reason may close."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.base import Form, row_ids
from app.forms.not_done import NotDoneForm
from app.services.not_done import say_not_done, withdraw_not_done
from app.services.owned import the_head
from app.web import addresses
from app.web.access import local_path, may
from app.web.answers import Undo, answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.reasons import open_keys
from app.web.render import page
from app.workflow.gates import GATES
from app.workflow.permissions import Verb
from app.worksheets.facts import load_sheet

router = APIRouter()

# Which role may say it goes by the point: the service asks. Parts are counted at the counter.
ANYONE = may(Verb.RECORD_RECEIVED)
OFTEN = ("no tester here", "the customer declined", "no gauge for it here", "not known")


@router.get("/heads/{head_id}/not-done", dependencies=[ANYONE])
def new(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    asked = request.query_params
    form = NotDoneForm.showing({"back": asked.get("back", "")[:200]})
    form.keys = asked.getlist("key")
    form.port_ids = row_ids(asked.getlist("port"))
    return _page(request, db, head_id, form)


@router.post("/heads/{head_id}/not-done", dependencies=[ANYONE])
def create(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    form = NotDoneForm(sent.fields, sent.lists.get("key", []), sent.lists.get("port", []))
    return answer(
        request,
        sent,
        form,
        lambda tx: say_not_done(tx, head_id, form),
        then=lambda _head: _back(request, db, head_id, form),
        said="Recorded. It stands on the sheet as large as a result.",
        undo=lambda head: _taken_back(head.id, form),
        show=lambda status: _page(request, db, head_id, form, status),
    )


@router.post("/heads/{head_id}/not-done/withdraw", dependencies=[ANYONE])
def withdraw(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    form = NotDoneForm({**sent.fields, "because": "taken back"}, sent.lists.get("key", []))
    ports = row_ids(sent.lists.get("port", []))
    return answer(
        request,
        sent,
        form,
        lambda tx: withdraw_not_done(tx, head_id, form.keys[0], ports),
        then=lambda _head: _back(request, db, head_id, form),
        said="Taken back: it is open again.",
        show=lambda status: _page(request, db, head_id, form, status),
    )


def _taken_back(head_id: int, form: NotDoneForm) -> Undo | None:
    """One point is open again; several are taken back each by itself."""
    if len(form.keys) != 1:
        return None
    ports = [("port", str(port_id)) for port_id in form.port_ids]
    where = ("back", form.raw.get("back", ""))
    return Undo(f"/heads/{head_id}/not-done/withdraw", [("key", form.keys[0]), *ports, where])


def _back(request: Request, db: DatabaseDep, head_id: int, form: Form) -> str:
    with db.read() as session:
        job, _ = the_head(session, head_id)
    return local_path(request, form.raw.get("back", "")) or addresses.job(job.number)


def _page(
    request: Request, db: DatabaseDep, head_id: int, form: NotDoneForm, status: int = 200
) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        sheet = load_sheet(session, head)
    lines = {line.key: line.screen for line in GATES[head.gate_version] if line.may_be_not_done}
    of_ports = {each.key for each in open_keys(sheet, list(lines))}
    return page(
        request,
        "not_done/new.html",
        status,
        nav="bench",
        job=job,
        head=head,
        form=form,
        lines=lines,
        asks_ports=not form.keys or any(key in of_ports for key in form.keys) or form.port_ids,
        ports=[(rows.port.id, rows.label) for rows in sheet.rows.ports],
        often=OFTEN,
        back=_back(request, db, head_id, form),
    )
