"""Materials of heads and seat rings: what the tables say, and what the shop adds."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path
from starlette.requests import Request
from starlette.responses import Response

from app.calc.materials import RING_MATERIALS
from app.db import Database
from app.forms.materials import PLACES, KeptVersionForm, MaterialForm
from app.models.material import ShopMaterial
from app.queries.materials import MaterialView, material_tables, material_view, points_of
from app.services.materials import (
    add_material,
    bring_back_material,
    change_material,
    retire_material,
)
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, SentDep
from app.web.render import page
from app.workflow.kinds import MaterialOf
from app.workflow.permissions import Verb
from app.workflow.words import Material
from app.worksheets.materials import NOT_KNOWN

router = APIRouter(prefix="/materials")
SEE, EDIT = may(Verb.READ), may(Verb.EDIT_RULES)
Key = Annotated[str, Path(pattern=r"^[a-z0-9-]{1,40}$")]
HEADS = [(word.value, word.screen) for word in Material]
RINGS = [(key, one.words) for key, one in RING_MATERIALS.items() if key != NOT_KNOWN]


@router.get("", dependencies=[SEE])
def list_all(request: Request, db: DatabaseDep) -> Response:
    with db.read() as session:
        tables = material_tables(session)
    return page(request, "materials/list.html", nav="office", tables=tables)


@router.get("/new", dependencies=[EDIT])
def new(request: Request) -> Response:
    return _new_page(request, MaterialForm.showing(), _of(request.query_params.get("of", "")))


@router.post("", dependencies=[EDIT])
def create(request: Request, sent: SentDep) -> Response:
    of = _of(sent.fields.get("material_of", ""))
    form = MaterialForm(sent.fields, material_of=of)
    return answer(
        request,
        sent,
        form,
        lambda tx: add_material(tx, form),
        then=lambda row: f"/materials#{row.key}",
        show=lambda status: _new_page(request, form, of, status),
        said=lambda row: f"{row.name} is offered for {of.screen} from now on.",
    )


@router.get("/{key}", dependencies=[SEE])
def show(request: Request, db: DatabaseDep, key: Key) -> Response:
    return _page(request, db, key)


@router.post("/{key}", dependencies=[EDIT])
def update(request: Request, db: DatabaseDep, key: Key, sent: SentDep) -> Response:
    form = MaterialForm(sent.fields, material_of=_view(db, key).row.material_of)
    return answer(
        request,
        sent,
        form,
        lambda tx: change_material(tx, key, form),
        then=lambda _: f"/materials/{key}",
        show=lambda status: _page(request, db, key, form, status),
        said="Kept. What rested on another expansion no longer stands, where it is not signed.",
    )


@router.post("/{key}/retire", dependencies=[EDIT])
def retire(request: Request, db: DatabaseDep, key: Key, sent: SentDep) -> Response:
    form = KeptVersionForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: retire_material(tx, key, form.seen),
        then=lambda _: f"/materials/{key}",
        show=lambda status: _page(request, db, key, status=status, errors=form.errors),
        said="Out of use. Where it was chosen it stays, with its figures.",
    )


@router.post("/{key}/bring-back", dependencies=[EDIT])
def bring_back(request: Request, db: DatabaseDep, key: Key, sent: SentDep) -> Response:
    form = KeptVersionForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: bring_back_material(tx, key, form.seen),
        then=lambda _: f"/materials/{key}",
        show=lambda status: _page(request, db, key, status=status, errors=form.errors),
        said="Offered again.",
    )


def _of(text: str) -> MaterialOf:
    return MaterialOf.HEAD if text == MaterialOf.HEAD else MaterialOf.RING


def _view(db: Database, key: str) -> MaterialView:
    with db.read() as session:
        view = material_view(session, key)
    if view is None:
        raise NotFound("There is no such material of the shop's own.")
    return view


def _new_page(request: Request, form: MaterialForm, of: MaterialOf, status: int = 200) -> Response:
    return page(request, "materials/new.html", status, nav="office", form=form, **_of_form(of))


def _page(
    request: Request,
    db: Database,
    key: str,
    form: MaterialForm | None = None,
    status: int = 200,
    errors: dict[str, str] | None = None,
) -> Response:
    view = _view(db, key)
    shown = form or MaterialForm.showing(_as_kept(view.row))
    return page(
        request,
        "materials/show.html",
        status,
        nav="office",
        view=view,
        form=shown,
        errors=errors or {},
        **_of_form(view.row.material_of),
    )


def _of_form(of: MaterialOf) -> dict[str, object]:
    families = HEADS if of is MaterialOf.HEAD else RINGS
    return {"of": of, "families": families, "places": list(PLACES)}


def _as_kept(row: ShopMaterial) -> dict[str, object]:
    raw: dict[str, object] = {"name": row.name, "family": row.family, "source": row.source}
    for n, (to_c, alpha) in enumerate(points_of(row), start=1):
        raw |= {f"to_{n}": to_c, f"alpha_{n}": _number(alpha)}
    raw |= {
        "within": _number(row.expansion_within),
        "modulus": _number(row.modulus_gpa),
        "poisson": _number(row.poisson),
        "yield": _number(row.yield_mpa),
        "seen": row.id,
    }
    return raw


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:g}"
