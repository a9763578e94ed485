"""Guides of a head: decided and measured, replaced after measuring, tried with a pilot."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.guides import GuidesForm, PilotFitForm, ReplacedForm
from app.forms.readings import Entry, GridForm
from app.models.base import Row
from app.models.crib import Pilot
from app.queries.crib import in_use
from app.services.guides import measure_guides, replace_guides, say_pilot_fits
from app.services.owned import open_head, the_head
from app.services.readings import ReadWith, record_readings
from app.services.write import Write
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.grids import Keeping, keep
from app.web.guides_grid import Guides
from app.web.head_grids import answer_grid, sent_grid, show_grid
from app.workflow.kinds import ReadingKind
from app.workflow.permissions import Verb
from app.workflow.stale import Change, Phase, what_no_longer_stands
from app.workflow.words import Work
from app.worksheets.facts import load_sheet
from app.worksheets.guides import outcome

router = APIRouter()


@router.get("/heads/{head_id}/guides", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return show_grid(request, db, head_id, _grid(db, request.query_params))


@router.post("/heads/{head_id}/guides", dependencies=[may(Verb.RECORD_READING)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    kept = _kept(db, head_id)
    decided = GuidesForm(sent.fields, list(kept))
    grid = _grid(db, sent.fields, decided)
    form, read_with = sent_grid(db, head_id, sent, grid)
    form.errors |= decided.errors
    is_new = any(kept[port_id] != said for port_id, said in decided.decisions.items())

    def change(tx: Write, entries: list[Entry], with_what: ReadWith) -> Row:
        stems = any(entry.cell.kind is not ReadingKind.GUIDES for entry in entries)
        if is_new or stems:
            return measure_guides(tx, head_id, decided, entries, with_what)
        return record_readings(tx, open_head(tx, head_id)[1], entries, with_what)

    done = keep(request, sent, form, read_with, change, method=grid.method(), also=is_new)
    return answer_grid(request, db, head_id, sent, grid, done, grid.here(head_id))


@router.post("/heads/{head_id}/guides/replaced", dependencies=[may(Verb.RECORD_READING)])
def replace(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    form = ReplacedForm(sent.fields, sent.lists.get("port", []))
    again = what_no_longer_stands(Change.GUIDE_REPLACED, Phase.BEFORE_CUT).redo
    return answer(
        request,
        sent,
        form,
        lambda tx: replace_guides(tx, head_id, form),
        then=lambda head: f"/heads/{head.id}/guides",
        said=f"Recorded. {again}",
        show=lambda status: _mend(request, db, head_id, status, replaced=form),
    )


@router.post("/heads/{head_id}/guides/pilot", dependencies=[may(Verb.RECORD_READING)])
def fit(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    form = PilotFitForm(sent.fields, sent.lists.get("port", []))
    return answer(
        request,
        sent,
        form,
        lambda tx: say_pilot_fits(tx, head_id, form),
        then=lambda head: f"/heads/{head.id}/guides?pilot={form.pilot_id}",
        said="Recorded: the pilot fits there.",
        show=lambda status: _mend(request, db, head_id, status, tried=form),
    )


def _grid(db: Database, asked: Mapping[str, str], decided: GuidesForm | None = None) -> Guides:
    grid = Guides(asked, decided)
    with db.read() as session:
        grid.pilots = in_use(session, Pilot)
    return grid


def _kept(db: Database, head_id: int) -> dict[int, str]:
    """The decision that stands for each position that the page asks; "" for none."""
    with db.read() as session:
        _, head = the_head(session, head_id)
        return {
            rows.port.id: outcome(rows) or ""
            for rows in load_sheet(session, head).rows.ports
            if rows.port.work is not Work.LEAVE
        }


def _mend(
    request: Request,
    db: Database,
    head_id: int,
    status: int,
    replaced: ReplacedForm | None = None,
    tried: PilotFitForm | None = None,
) -> Response:
    """The page with one of its smaller forms to be mended."""
    form = replaced or tried
    asked = {"pilot": tried.raw.get("pilot", "")} if tried else {}
    nothing = GridForm({}, [])
    nothing.errors = dict(form.errors) if form else {}
    return show_grid(
        request,
        db,
        head_id,
        _grid(db, asked),
        Keeping(nothing, None, status),
        replaced=replaced,
        tried=tried,
    )
