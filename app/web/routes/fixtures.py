"""Fixtures of the crib, one page each."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.crib import FixtureForm
from app.forms.field_text import field_text
from app.models.crib import Fixture
from app.queries.tools import find_tool, tool_history
from app.services.crib import NOT_THERE
from app.services.fixtures import create_fixture, update_fixture
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.kinds import Unit
from app.workflow.permissions import Verb

router = APIRouter(prefix="/crib/fixtures")
SEE, EDIT = may(Verb.READ), may(Verb.EDIT_CRIB)


@router.get("/new", dependencies=[EDIT])
def new(request: Request, db: DatabaseDep) -> Response:
    form = FixtureForm.showing({"unit": request.state.shop.unit.value})
    return _page(request, db, None, form=form)


@router.post("", dependencies=[EDIT])
def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form = FixtureForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: create_fixture(tx, form),
        then=lambda _: "/crib",
        show=lambda status: _page(request, db, None, status, form=form),
        said=lambda fixture: f"{fixture.name} is in the crib.",
    )


@router.get("/{fixture_id}", dependencies=[SEE])
def show(request: Request, db: DatabaseDep, fixture_id: RowId) -> Response:
    return _page(request, db, fixture_id)


@router.post("/{fixture_id}", dependencies=[EDIT])
def update(request: Request, db: DatabaseDep, fixture_id: RowId, sent: SentDep) -> Response:
    form = FixtureForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: update_fixture(tx, fixture_id, form),
        then=lambda fixture: f"/crib/fixtures/{fixture.id}",
        show=lambda status: _page(request, db, fixture_id, status, form=form),
        said="Changed.",
    )


def _page(
    request: Request,
    db: Database,
    fixture_id: int | None,
    status: int = 200,
    *,
    form: FixtureForm | None = None,
) -> Response:
    with db.read() as session:
        fixture = None if fixture_id is None else find_tool(session, Fixture, fixture_id)
        if fixture is None and fixture_id is not None:
            raise NotFound(NOT_THERE)
        return page(
            request,
            "crib/fixture.html",
            status,
            nav="crib",
            tool=fixture,
            form=form or FixtureForm.showing(_known(fixture, request.state.shop.unit)),
            done=tool_history(session, fixture) if fixture else [],
        )


def _known(fixture: Fixture | None, unit: Unit) -> dict[str, str]:
    if fixture is None:
        return {}
    return {
        "name": fixture.name,
        "unit": fixture.unit.value,
        "mode": fixture.mode.value,
        "division": field_text(fixture.division, fixture.unit),
        "repeatability": field_text(fixture.repeatability, fixture.unit),
        "row_version": str(fixture.row_version),
    }
