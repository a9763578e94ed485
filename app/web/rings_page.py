"""The page of rings to press, gathered for its template: one position, or all of one heat."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.queries.people import readers
from app.queries.rings_in import RingsInView, rings_in_view
from app.queries.sheets import names_of_people
from app.services.owned import the_head
from app.web.bench_page import bench_map, half_href, strip_words
from app.web.days import today
from app.web.places import places_of
from app.web.render import page
from app.workflow.kinds import FEELS, PressWay
from app.workflow.words import Chill, listed
from app.worksheets.fits import Fit
from app.worksheets.verifications import proved_sum

_MEANS = {
    PressWay.PRESS: "at the shop's temperature",
    PressWay.CHILLED: "freezer, dry ice, liquid nitrogen",
    PressWay.HEATED: "oven, soaked through",
    PressWay.BOTH: "the two together",
}


def rings_address(head_id: int) -> str:
    """The page of all rings of a head."""
    return f"/heads/{head_id}/rings-in"


def rings_page(
    request: Request,
    db: Database,
    head_id: int,
    port_id: int | None,
    form: Form | None,
    status: int = 200,
) -> Response:
    """As it stands, or with what was typed and is to be mended."""
    with db.read() as session:
        view = rings_in_view(session, *the_head(session, head_id), port_id)
        people = readers(session)
        names = names_of_people(session)
    drawn = bench_map(request, view.sheet, here=port_id, turned=view.turned)
    number = view.job.number
    return page(
        request,
        "rings_in/show.html",
        status,
        nav="bench",
        view=view,
        going_in=_going_in(view),
        readers=people,
        names=names,
        today=today(request),
        job=view.job,
        who=strip_words(view.job, view.head, view.customer),
        here=rings_address(head_id) if port_id is None else f"/positions/{port_id}/ring-in",
        one=view.lines[0] if port_id is not None and view.lines else None,
        is_batch=port_id is None,
        map=drawn,
        half_href=half_href(request, drawn),
        form=form or Form.showing(_proposed(view, port_id)),
        shut={line.rows.port.id: places_of(line.shut, view.sheet, number) for line in view.lines},
        ways=[(way.value, way.screen.capitalize(), _MEANS[way]) for way in PressWay],
        chills=[(each.value, each.screen) for each in Chill if each is not Chill.NONE],
        feels=[(each, each.capitalize()) for each in FEELS],
        labels=_labels(view),
        feeler=_feeler(view),
        fits={line.rows.port.id: proved_sum(line.rows, view.job.unit) for line in view.lines},
    )


def _feeler(view: RingsInView) -> str:
    unit = view.job.unit
    return f"{view.rules.length('ring_feeler').shown(unit.value)} {unit.screen}"


def _going_in(view: RingsInView) -> list[tuple[str, tuple[str, ...]]]:
    """How the rings would go in, in words: the tightest of each set stands for the others."""
    by_set: dict[int, list[Fit]] = {}
    for fit in view.fits:
        by_set.setdefault(fit.grip.ring_set_id, []).append(fit)
    found = []
    for fits in by_set.values():
        tightest = max(fits, key=lambda fit: fit.grip.interference)
        name = listed(tightest.names)
        whose = f"{name}, the tightest" if len(fits) > 1 else name
        if tightest.going_in:
            found.append((whose, tightest.going_in))
    return found


def _proposed(view: RingsInView, port_id: int | None) -> dict[str, str]:
    """The only ring that can go in is chosen; one page for one position presses that one."""
    proposed = {}
    if view.running is not None:
        proposed["heated_by"] = view.running.heat.heated_by
    for line in view.ready:
        key = line.rows.port.id
        if len(line.rings) == 1 and (port_id is not None or len(view.ready) == 1):
            proposed[f"ring.{key}"] = str(line.rings[0].ring.id)
    return proposed


def _labels(view: RingsInView) -> dict[str, str]:
    found = {"way": "How it went in", "head_c": "Head", "ring_c": "Ring", "because": "Why"}
    found |= {"feeler": "Feeler", "feeler_why": "Feeler, why", "confirm_other_heat": "Another heat"}
    found |= {"earlier_on": "Went in on", "earlier_at": "At", "earlier_by": "By"}
    found |= {"confirm_hot": "Head", "confirm_cold": "Ring", "chill": "Chilled"}
    for line in view.lines:
        key, label = line.rows.port.id, line.rows.label
        found |= {
            f"ring.{key}": f"{label}, ring",
            f"od_check.{key}": f"{label}, outside read again",
        } | {cell.name: cell.label for cell in line.heights}
    return found
