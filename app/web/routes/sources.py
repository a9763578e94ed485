"""Where every figure comes from: what the app works by, with value, mark, source and use."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from app.calc.sources import Mark
from app.queries.sources import SourcesView, sources_view
from app.web.access import may
from app.web.deps import DatabaseDep
from app.web.render import page
from app.web.source_links import PAGE
from app.workflow.permissions import Verb

router = APIRouter(prefix=PAGE)
MARKS = {one.value.replace(" ", "-"): one for one in Mark}
# Where the figures of a section are looked at or changed.
PLACES = {
    "interference": ("Interference rules", "/shop-rules#interference"),
    "cutting": ("Cutters and fixtures", "/crib"),
    "materials": ("Materials", "/materials"),
    "heat": ("Heat cases", "/shop-rules/heat-cases"),
    "guides": ("Pilots", "/crib"),
    "verify": ("Instruments", "/crib"),
    "shop-rules": ("Shop rules", "/shop-rules"),
}


@router.get("", dependencies=[may(Verb.READ)])
def list_all(
    request: Request,
    db: DatabaseDep,
    mark: Annotated[str, Query(max_length=40)] = "",
    q: Annotated[str, Query(max_length=100)] = "",
) -> Response:
    chosen = MARKS.get(mark)
    with db.read() as session:
        view = sources_view(session, unit=request.state.shop.unit.value, mark=chosen, wanted=q)
    return page(
        request,
        "sources/list.html",
        view=view,
        q=q,
        mark=mark if chosen else "",
        picks=_picks(view, mark if chosen else "", q),
        places=PLACES,
    )


def _picks(view: SourcesView, chosen: str, q: str) -> list[tuple[str, str, bool]]:
    """The marks as filters, each with how many figures have it."""
    every = sum(view.counts.values())
    picks = [(f"All {every}", _address("", q), not chosen)]
    for key, mark in MARKS.items():
        if view.counts[mark]:
            words = f"{mark.value} {view.counts[mark]}"
            picks.append((words[0].upper() + words[1:], _address(key, q), chosen == key))
    return picks


def _address(mark: str, q: str) -> str:
    asked = urlencode({name: value for name, value in (("mark", mark), ("q", q)) if value})
    return f"{PAGE}?{asked}" if asked else PAGE
