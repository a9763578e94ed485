"""Papers of a job: what can be printed, what was issued, and the issued bytes themselves."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from fastapi import APIRouter
from sqlmodel import Session
from starlette.requests import Request
from starlette.responses import Response

from app.calc.trace import sha256
from app.db import Database
from app.forms.sheets import IssueForm
from app.models.head import Head
from app.models.job import Job
from app.models.sheet import Sheet
from app.queries.head_records import unsigned
from app.queries.papers import Issued, issued, papers_of
from app.queries.sheets import heads_of
from app.services.owned import the_job
from app.services.sheets import issue_sheet
from app.services.write import NotFound, Write
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, JobNumber, RowId, SentDep, SettingsDep
from app.web.paper import print_answer, style_sha256
from app.web.render import page
from app.web.sheet_page import base_of, covering_page, drawer
from app.workflow.kinds import SheetKind
from app.workflow.permissions import Verb
from app.worksheets.facts import load_sheet

router = APIRouter()


@router.get("/jobs/{number}/sheets", dependencies=[may(Verb.READ)])
def list_papers(request: Request, db: DatabaseDep, number: JobNumber) -> Response:
    return _page(request, db, number, IssueForm.showing())


@router.post("/jobs/{number}/sheets", dependencies=[may(Verb.ISSUE_SHEET)])
def create(
    request: Request, db: DatabaseDep, settings: SettingsDep, number: JobNumber, sent: SentDep
) -> Response:
    form = IssueForm(sent.fields)

    def issue(tx: Write) -> Sheet:
        job = the_job(tx.session, number)
        head = tx.session.get(Head, form.head_id) if form.head_id else None
        if form.kind is None or (form.head_id and head is None):
            raise NotFound("There is no such head in this job.")
        draw = drawer(base_of(request), settings.photos)
        return issue_sheet(tx, form.kind, job, head, draw, form.because)

    return answer(
        request,
        sent,
        form,
        issue,
        then=lambda sheet: f"/sheets/{sheet.id}/about",
        show=lambda status: _page(request, db, number, form, status),
    )


@router.get("/sheets/{sheet_id}", dependencies=[may(Verb.PRINT_SHEET)])
def show(request: Request, db: DatabaseDep, sheet_id: RowId) -> Response:
    sheet = _as_issued(db, sheet_id)
    if not sheet.later:
        return _answer(request, sheet.sha256, sheet.html, sheet.style_sha256)
    mark = f"{sheet.sha256}-{sheet.later[-1].sha256}"
    zone = ZoneInfo(request.state.shop.zone)
    cover = covering_page(sheet, zone)
    return _answer(request, mark, cover + sheet.html, style_sha256("cover"), sheet.style_sha256)


@router.get("/sheets/{sheet_id}/as-issued", dependencies=[may(Verb.PRINT_SHEET)])
def show_as_issued(request: Request, db: DatabaseDep, sheet_id: RowId) -> Response:
    sheet = _as_issued(db, sheet_id)
    return _answer(request, sheet.sha256, sheet.html, sheet.style_sha256)


def _as_issued(db: Database, sheet_id: int) -> Issued:
    with db.read() as session:
        sheet = issued(session, sheet_id)
    if sheet is None:
        raise NotFound("There is no such sheet.")
    return sheet


def _answer(request: Request, of: str, html: str, *styles: str) -> Response:
    mark = f'"{of}"'
    if mark in request.headers.get("If-None-Match", ""):
        return Response(status_code=304, headers={"ETag": mark})
    response = print_answer(html, *styles)
    response.headers["ETag"] = mark
    return response


@router.get("/sheets/{sheet_id}/about", dependencies=[may(Verb.PRINT_SHEET)])
def about(request: Request, db: DatabaseDep, sheet_id: RowId) -> Response:
    with db.read() as session:
        sheet, job = _issued(session, sheet_id)
        papers = papers_of(session, job)
    own = next(paper for paper in papers if paper.id == sheet.id)
    return page(
        request,
        "sheets/about.html",
        nav="counter",
        job=job,
        paper=own,
        revisions=[each for each in papers if (each.kind, each.head_id) == (own.kind, own.head_id)],
        is_whole=sha256(sheet.html) == sheet.sha256,
    )


def _issued(session: Session, sheet_id: int) -> tuple[Sheet, Job]:
    sheet = session.get(Sheet, sheet_id)
    if sheet is None:
        raise NotFound("There is no such sheet.")
    return sheet, session.get_one(Job, sheet.job_id)


def _page(
    request: Request, db: Database, number: str, form: IssueForm, status: int = 200
) -> Response:
    with db.read() as session:
        job = the_job(session, number)
        heads = heads_of(session, job)
        left = {
            head.id: unsigned(load_sheet(session, session.get_one(Head, head.id))) for head in heads
        }
        papers = papers_of(session, job)
    return page(
        request,
        "sheets/list.html",
        status,
        nav="counter",
        job=job,
        heads=heads,
        left=left,
        papers=papers,
        form=form,
        kinds=SheetKind,
    )
