"""Interference windows: one band of ring sizes at a time."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.shop_rules import InterferenceForm, WithdrawForm
from app.models.shop import InterferenceRule
from app.queries.interference_rules import band_history
from app.services.interference_rules import retire_interference_rule, set_interference_rule
from app.services.write import Write
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.permissions import Verb
from app.workflow.words import Material

router = APIRouter(prefix="/interference-rules", dependencies=[may(Verb.EDIT_RULES)])
ASKED_FOR = ("material", "od_from", "od_below", "least", "aim", "most")
KEPT = "Kept. Bores that are cut keep the window they were cut by."


@router.get("/new")
def new(request: Request, db: DatabaseDep) -> Response:
    known = {name: request.query_params.get(name, "")[:40] for name in ASKED_FOR}
    return _page(request, db, InterferenceForm.showing(known))


@router.post("")
def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form = InterferenceForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: _set(tx, form),
        then=lambda _: "/shop-rules#interference",
        show=lambda status: _page(request, db, form, status=status),
        said=KEPT,
    )


@router.post("/{rule_id}/retire")
def retire(request: Request, db: DatabaseDep, rule_id: RowId, sent: SentDep) -> Response:
    form = WithdrawForm(sent.fields)
    band = InterferenceForm.showing({name: sent.fields.get(name, "") for name in ASKED_FOR})
    return answer(
        request,
        sent,
        form,
        lambda tx: retire_interference_rule(tx, rule_id, form.source),
        then=lambda _: "/shop-rules#interference",
        show=lambda status: _page(request, db, band, form, status),
        said=KEPT,
    )


def _set(tx: Write, form: InterferenceForm) -> InterferenceRule:
    assert form.material is not None
    assert form.od_from is not None
    assert form.least is not None
    assert form.aim is not None
    assert form.most is not None
    return set_interference_rule(
        tx,
        material=form.material,
        od_from=form.od_from,
        od_below=form.od_below,
        least=form.least,
        aim=form.aim,
        most=form.most,
        source=form.source,
    )


def _page(
    request: Request,
    db: Database,
    form: Form,
    withdraw: Form | None = None,
    status: int = 200,
) -> Response:
    # The same reading as when it is sent: a band that cannot be read has no history.
    band = InterferenceForm(form.raw, unit=request.state.shop.unit)
    with db.read() as session:
        history = (
            band_history(session, band.material, band.od_from, band.od_below)
            if band.material and band.od_from is not None
            else []
        )
        return page(
            request,
            "shop_rules/band.html",
            status,
            nav="office",
            form=form,
            withdraw=withdraw or Form.showing(),
            history=history,
            materials=[(word.value, word.screen) for word in Material],
            unit=request.state.shop.unit.value,
        )
