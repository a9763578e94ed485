"""The page that works a seat out: what was typed, what follows, and the section drawn to scale."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from app.calc.errors import CalculationError
from app.calc.units import trimmed
from app.forms.field_text import field_text
from app.forms.seats import SeatForm
from app.models.head import Port
from app.queries.seats import SeatView, seat_view
from app.services.owned import the_port
from app.services.seat_plans import version_of
from app.web.bench_page import position_words, strip_words
from app.web.deps import DatabaseDep
from app.web.drawing.seat import Angles, Face, Land, SeatDrawing, seat_drawing
from app.web.render import is_partial, page
from app.workflow.kinds import Quantity
from app.workflow.seats import size_words
from app.worksheets.seats import SeatWork, same_as_plan, work_seat

_WRONG = {
    "top_angle_deg": "top_angle",
    "throat_angle_deg": "throat_angle",
    "seat_angle_deg": "seat_angle",
    "face_angle_deg": "valve_angle",
    "face_outer": "valve_head",
    "face_inner": "face_width",
}


def seat_page(request: Request, db: DatabaseDep, port_id: int) -> Response:
    """The whole page, or for the form's own asking only what is worked from it."""
    with db.read() as session:
        job, head, port = the_port(session, port_id)
        view = seat_view(session, job, head, port)
    asked = any(name in request.query_params for name in SeatForm.names)
    raw = dict(request.query_params) if asked else _prefilled(view)
    form = SeatForm({name: text[:200] for name, text in raw.items()}, unit=job.unit, ring=view.ring)
    work = _worked(form, view)
    answer = page(
        request,
        "seats/_worked.html" if is_partial(request) else "seats/show.html",
        nav="bench",
        view=view,
        here=f"/positions/{port.id}/seat",
        back=_address(request),
        title=_title(view, port),
        who=strip_words(view.job, view.head, view.customer),
        form=form,
        work=work,
        drawn=_drawn(form, view, work) if work else None,
        ring_words=_ring_words(view),
        known=_known(view, form),
        angles_source="as planned" if view.plan else f"the shop's, {view.angles.seat_source}",
        is_kept=same_as_plan(form, view.plan),
        seen=version_of(view.plan),
        kept_source=form.source or f"worked out at {port.label}",
    )
    if is_partial(request):
        # The address always holds what stands in the fields, so that it can be sent to someone.
        answer.headers["HX-Replace-Url"] = _address(request)
    return answer


def _address(request: Request) -> str:
    """This page with what is typed in it."""
    return f"{request.url.path}?{request.url.query}" if request.url.query else request.url.path


def _worked(form: SeatForm, view: SeatView) -> SeatWork | None:
    if form.missing or not form.ok:
        return None
    try:
        return work_seat(form, view.kind, view.rules)
    except CalculationError as no:
        form.wrong(_WRONG.get(no.field, no.field), no.message)
        return None


def _prefilled(view: SeatView) -> dict[str, str]:
    """What the record knows, in the fields where a person would type it."""
    unit, plan, angles = view.job.unit, view.plan, view.angles
    degrees = {
        "seat_angle": angles.seat,
        "top_angle": angles.top,
        "throat_angle": angles.throat,
        "valve_angle": plan.valve_angle_deg if plan else None,
    }
    return {
        **{name: "" if value is None else trimmed(f"{value}") for name, value in degrees.items()},
        **{name: field_text(length, unit) for name, length in view.record.items()},
    }


def _drawn(form: SeatForm, view: SeatView, work: SeatWork) -> SeatDrawing:
    assert form.outer is not None
    assert form.inner is not None
    assert form.seat_angle is not None
    assert form.top_angle is not None
    assert form.throat_angle is not None
    face = None
    if form.valve_head is not None and form.valve_angle is not None:
        face = Face(form.valve_head, form.valve_angle, form.face_inner, form.margin)
    sink, cuts = work.sink_by_face, work.cuts
    return seat_drawing(
        now=Land(
            title="As it is",
            outer=form.outer,
            inner=form.inner,
            width=work.now.width,
            projected=work.now.width_projected,
            rests_on=sink.rests_on if sink else None,
            clear_outside=work.contact_now.clear_outside if work.contact_now else None,
        ),
        wanted=Land(
            title="As wanted",
            outer=cuts.outer_wanted,
            inner=cuts.inner_wanted,
            width=work.wanted.width,
            projected=work.wanted.width_projected,
            drop=cuts.seat_sink,
            rests_on=sink.rests_on_after if sink else None,
            clear_outside=work.contact_wanted.clear_outside if work.contact_wanted else None,
        ),
        angles=Angles(form.top_angle, form.seat_angle, form.throat_angle),
        unit=form.unit.value,
        ring_outside=view.ring.outside,
        ring_inside=view.ring.inside,
        face=face,
    )


def _title(view: SeatView, port: Port) -> str:
    name = view.head.name if view.head.name else ""
    return position_words(port, f"{name} {port.label}".strip())


def _ring_words(view: SeatView) -> str:
    """``The seat ring reads 1.250 inside and 1.6262 outside.``"""
    ring, unit = view.ring, view.job.unit
    sizes = [
        f"{size_words(length, unit)} {side}"
        for length, side in ((ring.inside, "inside"), (ring.outside, "outside"))
        if length is not None
    ]
    return f"The seat ring reads {' and '.join(sizes)}." if sizes else ""


def _known(view: SeatView, form: SeatForm) -> dict[str, str]:
    """Where a figure came from, beside the fields that still show what the record has."""
    record, unit = view.record, view.job.unit
    after = view.rows.finish.one(Quantity.STEM_AFTER) if view.rows.finish else None
    told = {
        "width": "read at finish",
        "stem": "as it came in" if after is None else "read at finish",
        "stem_wanted": "as it came in",
    }
    shown = {name for name in told if form.raw.get(name) == field_text(record[name], unit) != ""}
    return {name: words if name in shown else "" for name, words in told.items()}
