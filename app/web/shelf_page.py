"""The page of one box on the shelf, shown by several routes with the form at fault."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from app.calc.materials import RING_MATERIALS
from app.calc.units import trimmed
from app.db import Database
from app.forms.base import Form
from app.forms.field_text import field_text
from app.models.ring import RingSet
from app.queries.materials import ring_choices
from app.queries.shelf import shelf_box
from app.services.write import NotFound
from app.web.render import page
from app.workflow.kinds import MaterialOf, RingOwner
from app.worksheets.materials import every_material

OWNERS = [(word.value, word.screen) for word in RingOwner]


def box_page(
    request: Request,
    db: Database,
    box_id: int,
    status: int = 200,
    *,
    form: Form | None = None,
    take: Form | None = None,
    more: Form | None = None,
    gone: Form | None = None,
) -> Response:
    """What the box says, its rings, and the ways on from here."""
    with db.read() as session:
        found = shelf_box(session, box_id)
        if found is None:
            raise NotFound("There is no such box on the shelf; its rings may be at a job.")
        line, worked = found
        return page(
            request,
            "shelf/show.html",
            status,
            nav="shelf",
            line=line,
            worked=worked,
            form=form or Form.showing(_known(line.ring_set)),
            take=take or Form.showing(),
            more=more or Form.showing(),
            gone=gone or Form.showing(),
            materials=ring_choices(session, line.ring_set.material),
            owners=OWNERS,
        )


def own_ring_keys(db: Database) -> frozenset[str]:
    """Keys of the shop's own ring materials, for a form to know them."""
    with db.read() as session:
        return frozenset(row.key for row in every_material(session, MaterialOf.RING))


def _known(box: RingSet) -> dict[str, str]:
    sizes = ("label_od", "label_height", "label_inside", "lead_chamfer")
    own = RING_MATERIALS[box.material].expansion if box.material in RING_MATERIALS else None
    alpha = box.alpha_per_k
    is_own = alpha is None or (own is not None and float(own.alpha_per_k) == alpha)
    return {
        "unit": box.unit.value,
        "owner": box.owner.value,
        **{name: getattr(box, name) for name in ("name", "part", "supplier", "lot", "place")},
        "material": box.material,
        "alpha_ppm": "" if is_own or alpha is None else trimmed(f"{alpha * 1e6:.4f}"),
        **{name: field_text(getattr(box, name), box.unit) for name in sizes},
        "row_version": str(box.row_version),
    }
