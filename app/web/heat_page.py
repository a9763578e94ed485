"""Heat and cold of a head: what its rings need, the heat that runs, and the head cold again."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from app.calc.assembly import CHILLS
from app.db import Database
from app.forms.base import Form
from app.forms.heats import ClearanceForm
from app.queries.rings_in import RingsInView, rings_in_view
from app.services.owned import the_head
from app.web.bench_page import bench_map, half_href, strip_words
from app.web.places import places_of
from app.web.render import page
from app.workflow.kinds import FEELS
from app.workflow.words import Chill
from app.worksheets.heats import heats_apart
from app.worksheets.ways_in import RingsWays, ways_in

HEATED_BY = ("oven", "hot water", "hot plate")


def heat_address(head_id: int) -> str:
    """The page of a head's heats."""
    return f"/heads/{head_id}/heat"


def heat_page(
    request: Request, db: Database, head_id: int, form: Form | None = None, status: int = 200
) -> Response:
    """As it stands, or with what was typed and is to be mended."""
    with db.read() as session:
        view = rings_in_view(session, *the_head(session, head_id))
    asked = ClearanceForm(dict(request.query_params), view.job.unit)
    ways = ways_in(view.fits, view.rules, asked.clearance if asked.ok else None)
    state = _state(view)
    now = view.running
    if state == "begin":
        shown = {line.rows.port.id for line in view.ready}
    elif now is not None:
        shown = {rows.port.id for rows in now.named}
    else:
        shown = {line.rows.port.id for line in view.warm}
    drawn = bench_map(request, view.sheet, here=None, turned=view.turned, only=shown or None)
    unit = view.job.unit.value
    clearance = view.rules.length("drop_in_clearance")
    return page(
        request,
        "heats/show.html",
        status,
        nav="bench",
        view=view,
        job=view.job,
        head=view.head,
        who=strip_words(view.job, view.head, view.customer),
        here=heat_address(head_id),
        map=drawn,
        half_href=half_href(request, drawn),
        state=state,
        ways=ways,
        asked=asked,
        clearance=asked.raw.get("clearance") or clearance.shown(unit),
        form=form or Form.showing(_proposed(view, ways)),
        labels=labels_of(view),
        heated_by=HEATED_BY,
        feels=[(each, each.capitalize()) for each in FEELS],
        apart=heats_apart(view.heats),
        chills={chill.value: CHILLS[chill.value].ring_c for chill in Chill},
        not_yet=places_of(
            [point for line in view.lines if line.ring_in is None for point in line.shut],
            view.sheet,
            view.job.number,
        ),
    )


def labels_of(view: RingsInView) -> dict[str, str]:
    """What each field is called where it is told of above the page."""
    found = {
        "port": "Positions",
        "heated_by": "Heated by",
        "wanted_c": "Head",
        "confirm_hot": "Head",
        "confirm_other_heat": "Another heat",
        "left_out": "Left without its ring",
        "minutes": "Minutes it stood",
        "head_c": "Head now",
        "how": "How it cooled",
        "feeler": "Feeler",
        "feeler_why": "Feeler, why",
        "confirm_warm": "Head now",
    }
    for line in view.lines:
        found[f"feel.{line.rows.port.id}"] = f"{line.rows.label}, feeler"
        found |= {cell.name: cell.label for cell in line.heights}
    return found


def _state(view: RingsInView) -> str:
    if view.running is not None:
        return "running"
    if view.warm:
        return "cooling"
    if view.ready:
        return "begin"
    return "over" if all(line.ring_in is not None for line in view.lines) else "not_yet"


def _proposed(view: RingsInView, ways: tuple[RingsWays, ...]) -> dict[str, str]:
    """All that can go in; the head as hot as the hottest of their sets asks for, never hotter."""
    proposed = {f"port.{line.rows.port.id}": "yes" for line in view.ready}
    chosen = [each.of(view.rules.word("chill", Chill)).going for each in ways]
    wanted = [going.head_c_to_follow for going in chosen if going and going.head_c_to_follow]
    if wanted:
        proposed["wanted_c"] = str(max(wanted))
    return proposed | {"how": "in still air"}
