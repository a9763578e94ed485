"""Clamping a head up, and turning its map as it lies."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.base import Form, is_row_id
from app.forms.cuts import TURNS, ClampUpForm, TurnForm
from app.queries.clamp_ups import ClampUpView, clamp_up_view, next_to_cut
from app.queries.shop_rules import current_rules
from app.services.clamp_ups import clamp_up, turn_map
from app.services.owned import open_head, the_head
from app.web.access import local_path, may
from app.web.answers import answer
from app.web.bench_page import bench_map, half_href, strip_words
from app.web.cut_page import cut_address
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.render import page
from app.workflow.permissions import Verb
from app.workflow.words import Datum

router = APIRouter()

_SAID = {
    Datum.DECK: "stock still to come off is added",
    Datum.CHAMBER_ROOF: "not touched by facing the deck",
    Datum.OLD_LIP: "gone once the bore is cut: touch off first",
    Datum.OLD_FLOOR: "travel is what is cut below it",
}


@router.get("/heads/{head_id}/clamp-ups/new", dependencies=[may(Verb.CLAMP_UP)])
def new(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return _page(request, db, head_id, None)


@router.post("/heads/{head_id}/clamp-ups", dependencies=[may(Verb.CLAMP_UP)])
def create(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        unit = the_head(session, head_id)[0].unit
    form = ClampUpForm(sent.fields, unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: clamp_up(tx, open_head(tx, head_id)[1], form),
        then=lambda _made: local_path(request, sent.fields.get("back", "")) or _onward(db, head_id),
        said="The head is clamped up. Depth stops start from here.",
        show=lambda status: _page(request, db, head_id, form, status),
    )


@router.post("/heads/{head_id}/turn", dependencies=[may(Verb.CLAMP_UP)])
def turn(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    form = TurnForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: turn_map(tx, open_head(tx, head_id)[1], form.turned),
        then=lambda _row: local_path(request, sent.fields.get("back", "")) or "/bench",
        show=lambda status: _page(request, db, head_id, Form.showing(sent.fields), status),
    )


def _onward(db: DatabaseDep, head_id: int) -> str:
    """To the first position that a set cutter waits for; without one, to the bench."""
    with db.read() as session:
        following = next_to_cut(session, the_head(session, head_id)[1])
    return cut_address(*following) if following else "/bench"


def _page(
    request: Request, db: DatabaseDep, head_id: int, form: Form | None, status: int = 200
) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        view = clamp_up_view(session, job, head, request.state.person.id)
        caution = current_rules(session).caution("lifting")
    shown = form or ClampUpForm.showing(_as_last(view))
    turned = int(shown.raw["turned"]) if is_row_id(shown.raw.get("turned", "")) else 0
    drawn = bench_map(request, view.sheet, here=None, turned=turned if turned in TURNS else 0)
    return page(
        request,
        "clamp_ups/new.html",
        status,
        nav="bench",
        view=view,
        job=job,
        head=head,
        who=strip_words(job, head, view.customer),
        form=shown,
        map=drawn,
        half_href=half_href(request, drawn),
        back=shown.raw.get("back") or request.query_params.get("back", ""),
        datums=[(datum.value, datum.screen.capitalize(), _SAID[datum]) for datum in Datum],
        machines=[(each.id, each.name) for each in view.machines],
        caution=caution,
    )


def _as_last(view: ClampUpView) -> dict[str, object]:
    """What is mostly alike; level, datum, touch-off and travel are found anew each time."""
    only = view.machines[0].id if len(view.machines) == 1 else None
    last, now = view.last, view.now
    return {
        "machine": last.machine_id if last else only,
        "scale_falls": "yes" if last and not last.scale_rises else "",
        "turned": now.turned if now else 0,
        "row": now.clamp_up.row if now else "",
    }
