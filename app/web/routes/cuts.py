"""Cutting one position: open it, gauge it with the spindle still centred, prove the bore."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.base import Form
from app.forms.cuts import OpenForm
from app.models.head import Port
from app.services.corrections import correct_by_bore
from app.services.cuts import open_cut, refuse_position, say_not_cut
from app.services.owned import open_port
from app.services.write import Refused, Write
from app.web.access import may
from app.web.answers import answer
from app.web.cut_page import asked_setting, cut_address, cut_page
from app.web.deps import DatabaseDep, RowId, SentDep
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/positions/{port_id}/cut", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, port_id: RowId) -> Response:
    return cut_page(request, db, port_id)


@router.post("/positions/{port_id}/cut", dependencies=[may(Verb.CUT)])
def create(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    form = OpenForm(sent.fields)

    def opened(tx: Write) -> Port:
        port = open_port(tx, port_id)
        _refuse_another(tx, port, form)
        open_cut(tx, port, form.setting_id or 0, form.touched_port == port_id)
        return port

    return answer(
        request,
        sent,
        form,
        opened,
        then=lambda _port: cut_address(port_id, form.setting_id),
        show=lambda status: cut_page(
            request, db, port_id, form, status, setting_id=form.setting_id
        ),
    )


@router.post("/positions/{port_id}/cut/not-cut", dependencies=[may(Verb.CUT)])
def not_cut(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    form = Form(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: say_not_cut(tx, open_port(tx, port_id)),
        then=lambda opening: cut_address(port_id, opening.setting_id),
        said="Recorded: it was opened, and no metal came off.",
        show=lambda status: cut_page(request, db, port_id, form, status),
    )


@router.post("/positions/{port_id}/cut/correct", dependencies=[may(Verb.MAKE_SETTING)])
def correct(request: Request, db: DatabaseDep, port_id: RowId, sent: SentDep) -> Response:
    form = Form(sent.fields)
    odd = {"odd_overcut"} if form.confirmed("odd_overcut") else set()
    return answer(
        request,
        sent,
        form,
        lambda tx: correct_by_bore(tx, open_port(tx, port_id), odd),
        then=lambda setting: f"/settings/{setting.id}",
        said="The setting is worked out again: set the cutter and read it back.",
        show=lambda status: cut_page(
            request, db, port_id, form, status, setting_id=asked_setting(request)
        ),
    )


def _refuse_another(tx: Write, port: Port, form: OpenForm) -> None:
    """The map is how the machinist says where the spindle stands: another answer stops here."""
    touched = form.touched_port
    if touched is None or touched == port.id:
        return
    other = tx.session.get(Port, touched)
    if other is None or other.head_id != port.head_id:
        raise Refused("That position is not on this head. Nothing was recorded.")
    if form.setting_id is not None:
        refuse_position(tx, other, form.setting_id)
    raise Refused(
        f"You touched {other.label}, and this page is for {port.label}. Look where the spindle "
        f"stands; for {other.label} go to its own page. Nothing was recorded."
    )
