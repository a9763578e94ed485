"""Instruments of the crib, one page each."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from fastapi import APIRouter
from sqlmodel import Session
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.crib import CheckForm, InstrumentForm
from app.forms.field_text import field_text
from app.models.crib import Instrument
from app.queries.instruments import RestedOnIt, read_since_it_held, rested_on
from app.queries.shop_rules import current_rules
from app.queries.tools import InstrumentView, find_tool, show_instrument
from app.services.crib import NOT_THERE
from app.services.instruments import (
    check_instrument,
    create_instrument,
    update_instrument,
)
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.kinds import Unit
from app.workflow.permissions import Verb

router = APIRouter(prefix="/crib/instruments")
CHECK_FAILED = (
    "The check failed: what was accepted on its readings since the last check that held no longer "
    "stands."
)
SEE, EDIT = may(Verb.READ), may(Verb.EDIT_CRIB)


@router.get("/new", dependencies=[EDIT])
def new(request: Request, db: DatabaseDep) -> Response:
    form = InstrumentForm.showing({"unit": request.state.shop.unit.value})
    return _page(request, db, None, form=form)


@router.post("", dependencies=[EDIT])
def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form = InstrumentForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: create_instrument(tx, form),
        then=lambda _: "/crib",
        show=lambda status: _page(request, db, None, status, form=form),
        said=lambda instrument: f"{instrument.name} is in the crib.",
    )


@router.get("/{instrument_id}", dependencies=[SEE])
def show(request: Request, db: DatabaseDep, instrument_id: RowId) -> Response:
    return _page(request, db, instrument_id)


@router.post("/{instrument_id}", dependencies=[EDIT])
def update(request: Request, db: DatabaseDep, instrument_id: RowId, sent: SentDep) -> Response:
    form = InstrumentForm(sent.fields, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: update_instrument(tx, instrument_id, form),
        then=lambda instrument: f"/crib/instruments/{instrument.id}",
        show=lambda status: _page(request, db, instrument_id, status, form=form),
        said="Changed.",
    )


@router.post("/{instrument_id}/checks", dependencies=[EDIT])
def create_check(
    request: Request, db: DatabaseDep, instrument_id: RowId, sent: SentDep
) -> Response:
    with db.read() as session:
        instrument = _found(session, instrument_id)
        form = CheckForm(sent.fields, instrument=instrument)
    return answer(
        request,
        sent,
        form,
        lambda tx: check_instrument(tx, instrument_id, form),
        then=lambda check: f"/crib/instruments/{check.instrument_id}",
        show=lambda status: _page(request, db, instrument_id, status, check_form=form),
        said=lambda check: "The check held." if check.is_within else CHECK_FAILED,
    )


def _page(
    request: Request,
    db: Database,
    instrument_id: int | None,
    status: int = 200,
    *,
    form: InstrumentForm | None = None,
    check_form: CheckForm | None = None,
) -> Response:
    zone = ZoneInfo(request.state.shop.zone)
    with db.read() as session:
        instrument = None if instrument_id is None else _found(session, instrument_id)
        view = (
            show_instrument(session, instrument, zone, datetime.now(zone).date())
            if instrument
            else None
        )
        return page(
            request,
            "crib/instrument.html",
            status,
            nav="crib",
            tool=instrument,
            form=form or InstrumentForm.showing(_known(instrument, request.state.shop.unit)),
            check_form=check_form or CheckForm.showing(_last_master(view)),
            view=view,
            rested=_rested(session, view),
            rules=current_rules(session),
        )


def _rested(session: Session, view: InstrumentView | None) -> list[RestedOnIt]:
    """What no longer stands since its last check failed."""
    if view is None or view.line.check is None or view.line.check.is_within:
        return []
    return rested_on(session, read_since_it_held(session, view.line.instrument.id))


def _last_master(view: InstrumentView | None) -> dict[str, str]:
    """An instrument is mostly checked on the master of last time."""
    if view is None or view.line.check is None:
        return {}
    check = view.line.check
    return {
        "master": field_text(check.master, view.line.instrument.unit),
        "master_name": check.master_name,
        "master_uncertainty": field_text(check.master_uncertainty, view.line.instrument.unit),
    }


def _found(session: Session, instrument_id: int) -> Instrument:
    instrument = find_tool(session, Instrument, instrument_id)
    if instrument is None:
        raise NotFound(NOT_THERE)
    return instrument


def _known(instrument: Instrument | None, unit: Unit) -> dict[str, str]:
    if instrument is None:
        return {}
    return {
        "name": instrument.name,
        "unit": instrument.unit.value,
        "kind": instrument.kind.value,
        "division": field_text(instrument.division, instrument.unit),
        "greatest_error": field_text(instrument.greatest_error, instrument.unit),
        "is_comparator": "yes" if instrument.is_comparator else "",
        "check_every_days": str(instrument.check_every_days or ""),
        "repeatability": field_text(instrument.repeatability, instrument.unit),
        "row_version": str(instrument.row_version),
    }
