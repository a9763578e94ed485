"""The bench: the machinist's home."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.shop_temperature import ShopTemperatureForm
from app.services.shop_temperature import read_temperature
from app.web.access import may
from app.web.answers import answer
from app.web.bench_home import bench_home
from app.web.deps import DatabaseDep, SentDep
from app.workflow.permissions import Verb

router = APIRouter()


@router.get("/bench", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep) -> Response:
    return bench_home(request, db)


@router.post("/bench/temperature", dependencies=[may(Verb.RECORD_READING)])
def create_temperature(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form = ShopTemperatureForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: read_temperature(tx, form),
        then=lambda _: "/bench",
        said=lambda row: f"The shop is at {row.value} °C: what is read from now on is as warm.",
        show=lambda status: bench_home(request, db, form, status),
    )
