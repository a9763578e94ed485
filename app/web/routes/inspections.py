"""Inspections of a head: several outcomes in one form, each done or "not done, because …"."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from app.forms.base import Form
from app.forms.inspections import InspectionsForm
from app.models.customer import Customer
from app.queries.head_decisions import Decision
from app.queries.inspected import found_on
from app.queries.inspections import KINDS, InspectionLine, inspection_lines
from app.queries.people import readers
from app.queries.photos import inspected_in
from app.queries.shop_rules import current_rules
from app.services.inspections import record_inspections
from app.services.owned import the_head
from app.web import addresses
from app.web.access import may
from app.web.answers import answer
from app.web.bench_page import strip_words
from app.web.deps import DatabaseDep, RowId, SentDep
from app.web.reasons import open_words
from app.web.render import page
from app.workflow.cautions import INSPECTING
from app.workflow.inspected import SPOTS
from app.workflow.kept import Subject
from app.workflow.kinds import PhotoOf, Quantity, ReadingKind
from app.workflow.permissions import Verb
from app.workflow.words import InspectionKind, InspectionWay, Outcome, Page
from app.worksheets.facts import HeadSheet, load_sheet
from app.worksheets.inspection_points import InspectionPoint, inspection_run
from app.worksheets.readings import load_one

router = APIRouter()

# Offered while typing; anything else can be written.
METHODS = {
    InspectionKind.CRACK: (
        "dry magnetic particle",
        "wet magnetic particle",
        "dye penetrant",
        "by eye, cleaned",
    ),
    InspectionKind.PRESSURE_BEFORE: ("air under warm water", "air and soap solution", "vacuum"),
    InspectionKind.PRESSURE_AFTER: ("air under warm water", "air and soap solution", "vacuum"),
    InspectionKind.FLATNESS: ("straight edge and feelers", "dial gauge on a surface plate"),
    InspectionKind.HARDNESS: ("Brinell, three spots", "rebound tester, three spots"),
    InspectionKind.CAM_LINE: ("straight bar", "cam turned by hand"),
    InspectionKind.VACUUM: ("port by port",),
}
# Points with a page of their own: the words of the way there, and what is to be known before.
WAYS_TO = {
    "received": "Count the parts in",
    "stem_heights": "Read the stem heights",
    "guides": "Measure the guides",
    "recession": "Read how deep they lie",
}
NOTES = {
    "guides": "Bore less stem, or rocking the valve: each has limits of its own, and neither is "
    "held against the other's.",
}
REASONS = ("no tester here", "the customer declined", "done elsewhere", "head goes back unrepaired")


@router.get("/heads/{head_id}/inspections", dependencies=[may(Verb.READ)])
def edit(request: Request, db: DatabaseDep, head_id: RowId) -> Response:
    return _page(request, db, head_id, None)


@router.post("/heads/{head_id}/inspections", dependencies=[may(Verb.INSPECT)])
def update(request: Request, db: DatabaseDep, head_id: RowId, sent: SentDep) -> Response:
    with db.read() as session:
        gaps = load_one(session, ReadingKind.FLATNESS, Subject("head", head_id))
    measured = [InspectionKind.FLATNESS] if gaps.of(Quantity.FLATNESS) else []
    form = InspectionsForm(sent.fields, KINDS, measured)
    is_next = sent.fields.get("then") == "next"
    return answer(
        request,
        sent,
        form,
        lambda tx: record_inspections(tx, head_id, form),
        then=lambda head: _after(db, head.id) if is_next else f"/heads/{head.id}/inspections",
        said="Recorded.",
        show=lambda status: _page(request, db, head_id, form, status),
    )


def _after(db: DatabaseDep, head_id: int) -> str:
    with db.read() as session:
        job, head = the_head(session, head_id)
        return _onward(load_sheet(session, head), job.number)[1]


def _onward(sheet: HeadSheet, number: str) -> tuple[str, str]:
    """On to measuring; a head that is measured, or is not worked on now, goes back to its job."""
    if sheet.facts.way in (None, InspectionWay.GO_ON):
        if (
            open_words(sheet, ("stem_before",))
            or inspection_run(sheet, 0).at("stem_heights").is_open
        ):
            return "Next: stem heights", f"/heads/{sheet.head.id}/stem-heights"
        if inspection_run(sheet, 0).at("guides").is_open:
            return "Next: guides", f"/heads/{sheet.head.id}/guides"
    return "Next: the job", addresses.job(number)


def _page(
    request: Request,
    db: DatabaseDep,
    head_id: int,
    form: InspectionsForm | None,
    status: int = 200,
) -> Response:
    with db.read() as session:
        job, head = the_head(session, head_id)
        sheet = load_sheet(session, head)
        lines = inspection_lines(session, sheet)
        customer = session.get(Customer, job.customer_id) if job.customer_id else None
        people = readers(session)
        found = found_on(session, head, current_rules(session), job.unit)
        pictures = inspected_in(session, head)
        rules = current_rules(session)
    run = inspection_run(sheet, pictures)
    in_order = {point.key for point in run.points}
    is_over = job.ended_as is not None or job.voided_at is not None
    return page(
        request,
        "inspections/edit.html",
        status,
        nav="bench",
        job=job,
        head=head,
        who=strip_words(job, head, customer),
        run=run,
        lines={line.kind.value: line for line in lines if line.kind in in_order},
        later_lines=[line for line in lines if line.kind not in in_order and line.is_shown],
        seldom_lines=[line for line in lines if line.kind not in in_order and not line.is_shown],
        hrefs={point.key: _href(point, job.number, head.id) for point in run.points},
        ways_to=WAYS_TO,
        notes=NOTES,
        pictures=pictures,
        found=found,
        cautions=[rules.caution(key) for key in INSPECTING],
        spots=SPOTS,
        ways=list(InspectionWay),
        photos=addresses.photos(job.number, PhotoOf.INSPECTION.value, f"head-{head.id}"),
        form=form or Form.showing(_as_kept(lines, found.decision)),
        is_odd=form is not None and form.is_odd,
        names=InspectionsForm.names_of(KINDS),
        outcomes=list(Outcome),
        readers=people,
        methods=METHODS,
        reasons=REASONS,
        next_words=_onward(sheet, job.number)[0],
        may_inspect=request.state.may(Verb.INSPECT) and not is_over,
    )


def _href(point: InspectionPoint, number: str, head_id: int) -> str:
    address = addresses.of_page(point.page, number, head_id)
    is_depth = point.key == "recession" and point.page is Page.STEM_HEIGHTS
    return f"{address}?below=deck" if is_depth else address


def _as_kept(lines: Sequence[InspectionLine], decision: Decision | None) -> dict[str, object]:
    found: dict[str, object] = {}
    if decision is not None:
        found |= {"way": decision.way, "way_because": decision.because}
    for line in lines:
        row = line.shown
        if row is not None:
            found[f"outcome_{line.kind}"] = row.outcome
            found[f"method_{line.kind}"] = row.method
            found[f"found_{line.kind}"] = row.found
            found[f"because_{line.kind}"] = row.because
            if line.looked is not None:
                found |= {f"{line.kind}_{spot}": typed for spot, typed in line.looked.spots}
    return found
