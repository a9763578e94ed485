"""The app, wired: routes, middleware, error pages. Nothing is decided here."""

from __future__ import annotations

from fastapi import APIRouter, FastAPI
from starlette.staticfiles import StaticFiles

from app import models  # noqa: F401  (the metadata must be whole before the first query)
from app.api.calc.router import router as calc_api
from app.api.records.access import WrongKeys
from app.api.records.router import router as records_api
from app.config import Settings
from app.db import Database
from app.paths import folder
from app.queries.finished_months import FinishedMonths
from app.web import errors, routes, security

# Wired once for all apps of a process: FastAPI works out every route of a router again each time
# that it is included, a tenth of a second in all, and the first page of every app waits for it.
_ROUTES = APIRouter()
_ROUTES.include_router(calc_api)
_ROUTES.include_router(records_api)
for _router in routes.ROUTERS:
    _ROUTES.include_router(_router, include_in_schema=False)


def create_app(settings: Settings, database: Database | None = None) -> FastAPI:
    """The web app over one database."""
    app = FastAPI(
        title="Seatwright",
        description="Calculations for valve-seat rings and counterbores, and the shop's records.",
        version="1",
        docs_url=None,
        redoc_url=None,
        telemetry={"auto_configure": False},
    )
    app.state.settings = settings
    app.state.database = database or Database(settings.url)
    app.state.finished_months = FinishedMonths()
    app.state.wrong_keys = WrongKeys()
    app.mount("/static", StaticFiles(directory=folder("static")), name="static")
    app.router.routes.extend(_ROUTES.routes)
    errors.install(app)
    security.install(app, settings)
    return app
