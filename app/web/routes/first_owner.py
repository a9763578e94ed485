"""The first owner, let in by the code on the console; closed for good once there is one."""

from __future__ import annotations

from pathlib import Path
from zoneinfo import available_timezones

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from app.db import Database
from app.forms.shop import FirstOwnerForm
from app.queries.people import has_owner
from app.services.shop import open_shop
from app.web.answers import answer
from app.web.deps import DatabaseDep, Sent, SentDep, SettingsDep
from app.web.pins import hashed, without_mark
from app.web.render import page
from app.workflow.kinds import Unit

router = APIRouter()


@router.get("/first-owner")
def new(request: Request, db: DatabaseDep) -> Response:
    known = {
        "zone": _zone_of_this_pc(),
        "unit": Unit.INCH.value,
        "currency": "USD",
        "base_address": str(request.base_url).rstrip("/"),
    }
    return _page(request, db, FirstOwnerForm.showing(known))


@router.post("/first-owner")
async def create(
    request: Request, db: DatabaseDep, settings: SettingsDep, sent: SentDep
) -> Response:
    form = FirstOwnerForm(sent.fields, owner_code=settings.owner_code)
    # Hashing is dear: only for whoever knows the code.
    pin_hash = await hashed(request, form.pin) if form.ok else ""
    return await run_in_threadpool(_open, request, db, sent, form, pin_hash)


def _open(
    request: Request, db: Database, sent: Sent, form: FirstOwnerForm, pin_hash: str
) -> Response:
    return answer(
        request,
        without_mark(sent),
        form,
        lambda tx: open_shop(
            tx,
            name=form.shop_name,
            owner=form.name,
            pin_hash=pin_hash,
            zone=form.zone,
            currency=form.currency,
            unit=form.unit or Unit.INCH,
            base_address=form.base_address,
        ),
        then=lambda owner: f"/sign-in/{owner.id}",
        show=lambda status: _page(request, db, form, status),
        said="The shop is open. Sign in with the PIN you chose.",
    )


def _page(request: Request, db: Database, form: FirstOwnerForm, status: int = 200) -> Response:
    with db.read() as session:
        if has_owner(session):
            return RedirectResponse("/sign-in", status_code=303)
    zones = sorted(zone for zone in available_timezones() if "/" in zone or zone == "UTC")
    return page(
        request, "first_owner/new.html", status, form=form, zones=[(zone, zone) for zone in zones]
    )


def _zone_of_this_pc() -> str:
    """A guess to start from; Windows names its zones in its own way, so there it is UTC."""
    _, found, name = str(Path("/etc/localtime").resolve()).partition("/zoneinfo/")
    return name if found and name in available_timezones() else "UTC"
