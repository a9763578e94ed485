"""Any tool of the crib goes out of use, or comes back."""

from __future__ import annotations

from enum import StrEnum

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.crib import RetireForm
from app.models.crib import Cutter, Fixture, Instrument, Machine, Pilot
from app.services.crib import NOT_THERE, Tool, bring_back_tool, last_of_its_kind, retire_tool
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import Undo, answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.permissions import Verb


class Noun(StrEnum):
    """The tools as their addresses name them."""

    MACHINES = "machines"
    CUTTERS = "cutters"
    PILOTS = "pilots"
    FIXTURES = "fixtures"
    INSTRUMENTS = "instruments"


TABLES: dict[Noun, type[Tool]] = {
    Noun.MACHINES: Machine,
    Noun.CUTTERS: Cutter,
    Noun.PILOTS: Pilot,
    Noun.FIXTURES: Fixture,
    Noun.INSTRUMENTS: Instrument,
}

router = APIRouter(prefix="/crib/{noun}/{tool_id}", dependencies=[may(Verb.EDIT_CRIB)])


@router.get("/retire")
def show(request: Request, db: DatabaseDep, noun: Noun, tool_id: RowId) -> Response:
    return _page(request, db, noun, tool_id, RetireForm.showing())


@router.post("/retire")
def retire(
    request: Request, db: DatabaseDep, noun: Noun, tool_id: RowId, sent: SentDep
) -> Response:
    form = RetireForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: retire_tool(
            tx, TABLES[noun], tool_id, form.because, last_is_known=form.confirmed("last")
        ),
        then=lambda _: "/crib",
        show=lambda status: _page(request, db, noun, tool_id, form, status),
        said=lambda tool: f"{tool.name} is out of use. Records that name it keep it.",
        undo=lambda tool: Undo(f"/crib/{noun}/{tool.id}/bring-back"),
    )


@router.post("/bring-back")
def bring_back(
    request: Request, db: DatabaseDep, noun: Noun, tool_id: RowId, sent: SentDep
) -> Response:
    form = Form(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: bring_back_tool(tx, TABLES[noun], tool_id),
        then=lambda tool: f"/crib/{noun}/{tool.id}",
        show=lambda status: _page(request, db, noun, tool_id, form, status),
        said=lambda tool: f"{tool.name} is in use again.",
    )


def _page(
    request: Request, db: Database, noun: Noun, tool_id: int, form: Form, status: int = 200
) -> Response:
    with db.read() as session:
        tool = session.get(TABLES[noun], tool_id)
        if tool is None:
            raise NotFound(NOT_THERE)
        return page(
            request,
            "crib/retire.html",
            status,
            nav="crib",
            noun=noun.value,
            tool=tool,
            form=form,
            last=last_of_its_kind(session, tool),
        )
