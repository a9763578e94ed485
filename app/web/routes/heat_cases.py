"""Heat cases: the temperatures that fits are looked at in, and what they were."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.heat_cases import HeatCaseForm, WithdrawCaseForm
from app.models.heat_case import HeatCase
from app.queries.heat_cases import CaseView, case_groups, case_view
from app.services.heat_cases import (
    add_heat_case,
    restore_heat_case,
    retire_heat_case,
    set_heat_case,
    version_of,
)
from app.services.write import NotFound, Write
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, SentDep
from app.web.render import page
from app.workflow.heat_cases import Metal
from app.workflow.permissions import Verb
from app.workflow.words import Kind

BASE = "/shop-rules/heat-cases"
ONE = "/{metal}/{kind}/{key}"
router = APIRouter(prefix=BASE)
CaseKey = Annotated[str, Path(pattern=r"^[a-z_0-9]{1,40}$")]
SAID = "Kept. What fits do in heat is told by it from now on; nothing that was worked changes."


@router.get("", dependencies=[may(Verb.READ)])
def list_all(request: Request, db: DatabaseDep) -> Response:
    with db.read() as session:
        groups = case_groups(session)
    return page(request, "heat_cases/list.html", nav="office", groups=groups, base=BASE)


@router.get("/new", dependencies=[may(Verb.EDIT_RULES)])
def new(request: Request) -> Response:
    known = {name: request.query_params.get(name, "")[:20] for name in ("metal", "kind")}
    return _new_page(request, HeatCaseForm.showing(known))


@router.post("", dependencies=[may(Verb.EDIT_RULES)])
def create(request: Request, sent: SentDep) -> Response:
    form = HeatCaseForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: _add(tx, form),
        then=lambda _row: BASE,
        show=lambda status: _new_page(request, form, status),
        said=SAID,
    )


@router.get(ONE, dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, metal: Metal, kind: Kind, key: CaseKey) -> Response:
    return _page(request, db, metal, kind, key)


@router.post(ONE, dependencies=[may(Verb.EDIT_RULES)])
def update(
    request: Request, db: DatabaseDep, metal: Metal, kind: Kind, key: CaseKey, sent: SentDep
) -> Response:
    form = HeatCaseForm(sent.fields, where=(metal, kind))
    return answer(
        request,
        sent,
        form,
        lambda tx: _set(tx, form, metal, kind, key),
        then=lambda _row: BASE,
        show=lambda status: _page(request, db, metal, kind, key, form=form, status=status),
        said=SAID,
    )


@router.post(ONE + "/retire", dependencies=[may(Verb.EDIT_RULES)])
def retire(
    request: Request, db: DatabaseDep, metal: Metal, kind: Kind, key: CaseKey, sent: SentDep
) -> Response:
    form = WithdrawCaseForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: retire_heat_case(tx, metal, kind, key, form.source),
        then=lambda _row: BASE,
        show=lambda status: _page(request, db, metal, kind, key, retire=form, status=status),
        said=SAID,
    )


@router.post(ONE + "/default", dependencies=[may(Verb.EDIT_RULES)])
def restore(
    request: Request, db: DatabaseDep, metal: Metal, kind: Kind, key: CaseKey, sent: SentDep
) -> Response:
    form = WithdrawCaseForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: restore_heat_case(tx, metal, kind, key, form.source),
        then=lambda _row: BASE,
        show=lambda status: _page(request, db, metal, kind, key, restore=form, status=status),
        said=SAID,
    )


def _add(tx: Write, form: HeatCaseForm) -> HeatCase:
    assert form.metal is not None
    assert form.kind is not None
    assert form.ring_c is not None
    assert form.head_c is not None
    return add_heat_case(
        tx, form.metal, form.kind, form.name, form.ring_c, form.head_c, form.source
    )


def _set(tx: Write, form: HeatCaseForm, metal: Metal, kind: Kind, key: str) -> HeatCase:
    assert form.ring_c is not None
    assert form.head_c is not None
    return set_heat_case(
        tx,
        metal,
        kind,
        key,
        form.name,
        form.ring_c,
        form.head_c,
        form.source,
        seen=form.seen or None,
    )


def _new_page(request: Request, form: Form, status: int = 200) -> Response:
    return page(
        request,
        "heat_cases/new.html",
        status,
        nav="office",
        form=form,
        base=BASE,
        metals=[(word.value, word.screen) for word in Metal],
        kinds=[(word.value, word.screen) for word in Kind],
    )


def _page(
    request: Request,
    db: Database,
    metal: Metal,
    kind: Kind,
    key: str,
    *,
    form: Form | None = None,
    retire: Form | None = None,
    restore: Form | None = None,
    status: int = 200,
) -> Response:
    with db.read() as session:
        view = case_view(session, metal, kind, key)
    if view is None:
        raise NotFound("There is no such heat case.")
    return page(
        request,
        "heat_cases/show.html",
        status,
        nav="office",
        view=view,
        base=BASE,
        here=f"{BASE}/{metal.value}/{kind.value}/{key}",
        seen=version_of(view.held),
        form=form or HeatCaseForm.showing(_as_typed(view)),
        retire=retire or Form.showing(),
        restore=restore or Form.showing(),
    )


def _as_typed(view: CaseView) -> dict[str, object]:
    known = view.held or view.assumed or view.history[0].row
    return {"name": known.name, "ring_c": known.ring_c, "head_c": known.head_c}
