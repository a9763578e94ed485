"""Machines of the crib, one page each."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.crib import MachineForm
from app.forms.field_text import field_text
from app.models.crib import Machine
from app.queries.tools import find_tool, tool_history
from app.services.crib import NOT_THERE
from app.services.machines import create_machine, update_machine
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.kinds import Unit
from app.workflow.permissions import Verb

router = APIRouter(prefix="/crib/machines")
SEE, EDIT = may(Verb.READ), may(Verb.EDIT_CRIB)


@router.get("/new", dependencies=[EDIT])
def new(request: Request, db: DatabaseDep) -> Response:
    form = MachineForm.showing({"unit": request.state.shop.unit.value})
    return _page(request, db, None, form=form)


@router.post("", dependencies=[EDIT])
def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form = MachineForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: create_machine(tx, form),
        then=lambda _: "/crib",
        show=lambda status: _page(request, db, None, status, form=form),
        said=lambda machine: f"{machine.name} is in the crib.",
    )


@router.get("/{machine_id}", dependencies=[SEE])
def show(request: Request, db: DatabaseDep, machine_id: RowId) -> Response:
    return _page(request, db, machine_id)


@router.post("/{machine_id}", dependencies=[EDIT])
def update(request: Request, db: DatabaseDep, machine_id: RowId, sent: SentDep) -> Response:
    form = MachineForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: update_machine(tx, machine_id, form),
        then=lambda machine: f"/crib/machines/{machine.id}",
        show=lambda status: _page(request, db, machine_id, status, form=form),
        said="Changed.",
    )


def _page(
    request: Request,
    db: Database,
    machine_id: int | None,
    status: int = 200,
    *,
    form: MachineForm | None = None,
) -> Response:
    with db.read() as session:
        machine = None if machine_id is None else find_tool(session, Machine, machine_id)
        if machine is None and machine_id is not None:
            raise NotFound(NOT_THERE)
        return page(
            request,
            "crib/machine.html",
            status,
            nav="crib",
            tool=machine,
            form=form or MachineForm.showing(_known(machine, request.state.shop.unit)),
            done=tool_history(session, machine) if machine else [],
        )


def _known(machine: Machine | None, unit: Unit) -> dict[str, str]:
    if machine is None:
        return {}
    return {
        "name": machine.name,
        "travel": field_text(machine.travel, unit),
        "note": machine.note,
        "row_version": str(machine.row_version),
    }
