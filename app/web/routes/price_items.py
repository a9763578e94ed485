"""The shop's price list."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.base import Form
from app.forms.price_items import PriceItemForm
from app.models.price_item import PriceItem
from app.queries.price_items import newest_items, price_history
from app.services.price_items import add_price_item, retire_price_item, set_price_item
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, Sent, SentDep
from app.web.render import page
from app.workflow.kinds import PricedBy
from app.workflow.permissions import Verb
from app.workflow.pricing import Finding
from app.workflow.words import money

BASE = "/price-list"
router = APIRouter(prefix=BASE)
PriceKey = Annotated[str, Path(pattern=r"^p[0-9]{1,9}$")]
PRICED_BY = [(each.value, each.screen) for each in PricedBy]
PROPOSED_BY = [("", "nothing; it is added by hand"), *((one.value, one.screen) for one in Finding)]


@router.get("", dependencies=[may(Verb.READ)])
def list_all(request: Request, db: DatabaseDep) -> Response:
    return _list_page(request, db, PriceItemForm.showing())


@router.post("", dependencies=[may(Verb.EDIT_RULES)])
def create(request: Request, db: DatabaseDep, sent: SentDep) -> Response:
    form = PriceItemForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: add_price_item(tx, form),
        then=lambda _row: BASE,
        show=lambda status: _list_page(request, db, form, status),
        said=lambda row: f"{row.text} is on the list.",
    )


@router.get("/{key}", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, key: PriceKey) -> Response:
    return _page(request, db, key)


@router.post("/{key}", dependencies=[may(Verb.EDIT_RULES)])
def update(request: Request, db: DatabaseDep, key: PriceKey, sent: SentDep) -> Response:
    form = PriceItemForm(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: set_price_item(tx, key, _seen(sent), form),
        then=lambda _row: BASE,
        show=lambda status: _page(request, db, key, form, status),
        said="Changed. Lines that stand on estimates keep their amounts.",
    )


@router.post("/{key}/retire", dependencies=[may(Verb.EDIT_RULES)])
def retire(request: Request, db: DatabaseDep, key: PriceKey, sent: SentDep) -> Response:
    form = Form(sent.fields)
    return answer(
        request,
        sent,
        form,
        lambda tx: retire_price_item(tx, key, _seen(sent)),
        then=lambda _row: BASE,
        show=lambda status: _page(request, db, key, form, status),
        said="Off the list. Estimates keep it.",
    )


def _seen(sent: Sent) -> int:
    seen = sent.fields.get("seen", "")
    return int(seen) if seen.isascii() and seen.isdigit() and len(seen) <= 9 else 0


def _list_page(request: Request, db: Database, form: Form, status: int = 200) -> Response:
    with db.read() as session:
        items = newest_items(session)
    return page(
        request,
        "price_items/list.html",
        status,
        nav="office",
        items=[item for item in items if not item.is_retired],
        off=[item for item in items if item.is_retired],
        form=form,
        proposed_words={each.value: each.screen for each in Finding},
        priced_by=PRICED_BY,
        proposed_by=PROPOSED_BY,
    )


def _page(
    request: Request, db: Database, key: str, form: Form | None = None, status: int = 200
) -> Response:
    with db.read() as session:
        versions = price_history(session, key)
    if not versions:
        raise NotFound("There is no such price on the list.")
    held = versions[0].row
    return page(
        request,
        "price_items/show.html",
        status,
        nav="office",
        item=held,
        versions=versions,
        form=form if form is not None and "amount" in form.raw else _known(held, form),
        priced_by=PRICED_BY,
        proposed_by=PROPOSED_BY,
        proposed_words={each.value: each.screen for each in Finding},
    )


def _known(held: PriceItem, refused: Form | None) -> Form:
    form = PriceItemForm.showing(
        {
            "text": held.text,
            "amount": money(held.amount),
            "priced_by": held.priced_by.value,
            "proposed_by": held.proposed_by,
        }
    )
    if refused is not None:
        form.errors = dict(refused.errors)
    return form
