"""Customers, rings and cutters from a list: shown line by line before any of it is kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from fastapi import APIRouter
from sqlmodel import Session
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.lists_in import ListForm
from app.forms.shop_lists import CustomerListForm, CutterListForm, ShelfListForm
from app.queries.lists_in import Known, known_boxes, known_customers, known_cutters
from app.queries.materials import ring_choices
from app.services.lists_in import import_boxes, import_customers, import_cutters
from app.services.write import Write
from app.threads import slow_work
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, SentWithAListDep, SentWithFiles
from app.web.list_files import with_file
from app.web.render import page
from app.web.shelf_page import own_ring_keys
from app.workflow.permissions import Verb
from app.workflow.words import counted

router = APIRouter(prefix="/lists")
Noun = Literal["customers", "rings", "cutters"]


@dataclass(frozen=True, slots=True)
class ListIn:
    """What is brought in: its form, what is known already, who keeps it, and its words."""

    form: type[ListForm[Any]]
    known: Callable[[Session], Known]
    keep: Callable[[Write, Any], Any]
    one: str
    many: str
    back: str
    hint: str


LISTS: Mapping[Noun, ListIn] = {
    "customers": ListIn(
        CustomerListForm,
        known_customers,
        import_customers,
        "customer",
        "customers",
        "/counter",
        "is_trade is yes or no; standing_limit is for trade customers.",
    ),
    "rings": ListIn(
        ShelfListForm,
        known_boxes,
        import_boxes,
        "box",
        "boxes",
        "/shelf",
        "od, height and inside are what the box says; only what is measured counts. Where material "
        "is not known, leave it empty. owner is ours unless it says customer.",
    ),
    "cutters": ListIn(
        CutterListForm,
        known_cutters,
        import_cutters,
        "cutter",
        "cutters",
        "/crib",
        "kind is adjustable or fixed; a fixed one needs fixed_size.",
    ),
}


@router.get("/customers/import", dependencies=[may(Verb.EDIT_CUSTOMER)])
def new_customers(request: Request) -> Response:
    return _new(request, "customers")


@router.post("/customers/import", dependencies=[may(Verb.EDIT_CUSTOMER)])
async def create_customers(request: Request, db: DatabaseDep, sent: SentWithAListDep) -> Response:
    return await _create(request, db, sent, "customers")


@router.get("/rings/import", dependencies=[may(Verb.EDIT_SHELF)])
def new_rings(request: Request) -> Response:
    return _new(request, "rings")


@router.post("/rings/import", dependencies=[may(Verb.EDIT_SHELF)])
async def create_rings(request: Request, db: DatabaseDep, sent: SentWithAListDep) -> Response:
    return await _create(request, db, sent, "rings")


@router.get("/cutters/import", dependencies=[may(Verb.EDIT_CRIB)])
def new_cutters(request: Request) -> Response:
    return _new(request, "cutters")


@router.post("/cutters/import", dependencies=[may(Verb.EDIT_CRIB)])
async def create_cutters(request: Request, db: DatabaseDep, sent: SentWithAListDep) -> Response:
    return await _create(request, db, sent, "cutters")


def _new(request: Request, noun: Noun) -> Response:
    form = LISTS[noun].form.showing({"unit": request.state.shop.unit.value})
    return _page(request, noun, form)


async def _create(request: Request, db: Database, sent: SentWithFiles, noun: Noun) -> Response:
    form = await slow_work(_looked_at, request, db, sent, noun)
    if not form.is_to_keep or not form.ok:
        # Looking changes nothing: a list without a fault is shown, and that is the answer.
        return await run_in_threadpool(_page, request, noun, form, 200 if form.ok else 422)
    of = LISTS[noun]
    told = counted(len(form.good), of.one, of.many)
    return await run_in_threadpool(
        answer,
        request,
        sent,
        form,
        lambda tx: of.keep(tx, form),
        then=lambda _: of.back,
        show=lambda status: _page(request, noun, form, status),
        said=f"{told} from the list {'is' if len(form.good) == 1 else 'are'} here now.",
    )


def _looked_at(request: Request, db: Database, sent: SentWithFiles, noun: Noun) -> ListForm[Any]:
    fields, fault = with_file(sent)
    of = LISTS[noun]
    materials: dict[str, str] = {}
    with db.read() as session:
        known = of.known(session)
        if noun == "rings":
            materials = {words.casefold(): key for key, words in ring_choices(session)}
    form = of.form(
        fields,
        unit=request.state.shop.unit,
        known=known.keys,
        known_newest=known.newest,
        materials=materials,
        own_materials=own_ring_keys(db) if noun == "rings" else (),
    )
    if fault:
        form.errors.pop("list", None)
        form.wrong("list", fault)
    return form


def _page(request: Request, noun: Noun, form: ListForm[Any], status: int = 200) -> Response:
    return page(
        request,
        "lists_in/new.html",
        status,
        nav={"customers": "counter", "rings": "shelf", "cutters": "crib"}[noun],
        noun=noun,
        of=LISTS[noun],
        form=form,
    )
