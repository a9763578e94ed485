"""Slips for a seller of seat rings: what to order, and how rings measured against their label."""

from __future__ import annotations

from functools import partial
from typing import Any
from zoneinfo import ZoneInfo

from sqlmodel import Session
from starlette.requests import Request
from starlette.responses import Response

from app.calc.units import Length
from app.db import now
from app.models.job import Job
from app.models.ring import RingSet
from app.queries.order_slips import order_lines
from app.queries.shop_rules import current_rules
from app.services.owned import the_shop
from app.web.days import today
from app.web.paper import OTHER, both, dated, print_answer, stamp, style, style_sha256
from app.web.render import render
from app.workflow.kinds import Unit
from app.workflow.words import LabelMeans
from app.worksheets.against_labels import against_label


def order_slip(
    request: Request, session: Session, job: Job | None, *, with_ordered: bool
) -> Response:
    """Rings to order, a sheet for each seller; of one job or of all open ones."""
    suppliers = order_lines(
        session, today(request), job.id if job else None, with_ordered=with_ordered
    )
    return _printed(
        session,
        "sheets/order_slip.html",
        the_shop(session).unit,
        job=job,
        suppliers=suppliers,
        with_ordered=with_ordered,
    )


def as_measured(session: Session, ring_set: RingSet) -> Response:
    """One ring set as measured against its label."""
    job = session.get(Job, ring_set.job_id) if ring_set.job_id else None
    return _printed(
        session,
        "sheets/as_measured.html",
        ring_set.unit,
        view=against_label(session, ring_set, current_rules(session)),
        ring_set=ring_set,
        job=job,
        label_means=""
        if ring_set.label_means is LabelMeans.UNKNOWN
        else ring_set.label_means.screen,
    )


def _printed(session: Session, template: str, unit: Unit, **context: Any) -> Response:
    shop = the_shop(session)
    zone = ZoneInfo(shop.zone)
    html = render(
        template,
        {
            "style": style(),
            "shop": shop,
            "unit": unit.value,
            "other": OTHER[unit].value,
            "both": partial(both, unit=unit),
            "signed": lambda length, places=None: _signed(length, unit, places),
            "stamp": lambda moment: stamp(moment, zone),
            "dated": dated,
            "at": now(),
            **context,
        },
    )
    return print_answer(html, style_sha256())


def _signed(length: Length, unit: Unit, places: int | None = None) -> str:
    """A difference with its sign: ``+.0011``."""
    text = length.shown(unit.value, places or 4, (places or 4) - 1)
    return text if length.nm <= 0 else f"+{text}"
