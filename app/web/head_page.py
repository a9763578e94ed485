"""The page that describes a head, for a plain look and for a form to be mended."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from app.forms.heads import FUELS, HeadForm, end_choices
from app.models.head import Head
from app.models.job import Job
from app.queries.castings import seen_before
from app.queries.materials import head_choice, head_choices
from app.services.owned import the_head
from app.web.deps import DatabaseDep
from app.web.render import page
from app.workflow.layout import CommonLayout, LayoutError, common_layouts
from app.workflow.words import HeatHistory


def edit_page(
    request: Request,
    db: DatabaseDep,
    head_id: int,
    form: HeadForm | None = None,
    status: int = 200,
) -> Response:
    """The form as kept, or as it was typed."""
    with db.read() as session:
        job, head = the_head(session, head_id)
        seen = seen_before(session, head)
        materials = head_choices(session, head.alloy)
    shown = form or HeadForm.showing(_as_kept(job, head))
    return page(
        request,
        "heads/edit.html",
        status,
        nav="counter",
        job=job,
        head=head,
        form=shown,
        seen=seen,
        fuels=FUELS,
        materials=materials,
        histories=[(each.value, each.screen) for each in HeatHistory],
        ends=end_choices(head.numbered_from),
        patterns=patterns(shown, head),
    )


def _as_kept(job: Job, head: Head) -> dict[str, object]:
    valves = sum(letter in "EI" for letter in head.layout)
    per_cylinder = head.valves_per_cylinder
    return {
        "name": head.name,
        "casting": head.casting,
        "casting_none_found": "yes" if head.casting_none_found else "",
        "serial": head.serial,
        "engine": head.engine,
        "fuel": head.fuel,
        "material": head_choice(head.material, head.alloy),
        "heat_history": head.heat_history,
        "unit": job.unit,
        "cylinders": head.cylinders,
        "valves": per_cylinder or "",
        "cylinder_count": valves // per_cylinder if per_cylinder else "",
        "pattern": head.layout,
        "numbered_from": head.numbered_from,
    }


def patterns(form: HeadForm, head: Head) -> list[CommonLayout]:
    """What may be touched: the common orders, and the head's own when it is another."""
    count, valves = form.raw.get("cylinder_count", ""), form.raw.get("valves", "")
    found: list[CommonLayout] = []
    if count.isascii() and count.isdigit() and valves.isascii() and valves.isdigit():
        try:
            found = list(common_layouts(int(count[:4]), int(valves[:4])))
        except LayoutError:
            found = []
    same = str(head.valves_per_cylinder or "") == valves
    if head.layout and same and head.layout not in {each.order for each in found}:
        found.insert(0, CommonLayout(head.layout, "as it is now"))
    return found
