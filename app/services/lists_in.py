"""Lists brought in: the lines that were shown and can be kept, as one change."""

from __future__ import annotations

from typing import Any

from app.forms.lists_in import ListForm
from app.forms.shop_lists import CustomerListForm, CutterListForm, ShelfListForm
from app.models.crib import Cutter
from app.models.customer import Customer
from app.models.ring import RingSet
from app.models.search_key import SearchKey
from app.queries.lists_in import known_boxes, known_customers, known_cutters
from app.services.search_keys import keys_of_customer
from app.services.shelf import shelf_rows
from app.services.write import Refused, Write, use_case
from app.workflow.folding import digits

MEANWHILE = "Someone added some of these meanwhile: look at it once more."


@use_case
def import_customers(tx: Write, form: CustomerListForm) -> Customer:
    """Customers of a list; those known by name and number stay as they are."""
    _refuse(form)
    since = known_customers(tx.session, form.known_newest).keys
    rows = []
    for line in form.good:
        one = line.form
        assert one is not None
        if form.key(one) in since:
            raise Refused(MEANWHILE, "list")
        phones = filter(None, (digits(one.phone), digits(one.second_phone)))
        rows.append(
            Customer(
                name=one.name,
                phone=one.phone,
                second_phone=one.second_phone,
                phone_digits=" ".join(phones),
                email=one.email,
                is_trade=one.is_trade,
                standing_limit=one.standing_limit,
                note=one.note,
            )
        )
    tx.session.add_all(rows)
    tx.session.flush()
    tx.session.add_all(
        SearchKey(key=key, customer_id=row.id)
        for row in rows
        for key in sorted(keys_of_customer(row))
    )
    tx.log("added a list of customers", rows[-1], customers=[row.id for row in rows])
    return rows[-1]


@use_case
def import_boxes(tx: Write, form: ShelfListForm) -> RingSet:
    """Boxes of rings of a list; those the shop has or had stay as they are."""
    _refuse(form)
    since = known_boxes(tx.session, form.known_newest).keys
    rows = []
    for line in form.good:
        one = line.form
        assert one is not None
        if form.key(one) in since:
            raise Refused(MEANWHILE, "list")
        rows.append(shelf_rows(tx, one))
    tx.log("put a list of rings on the shelf", rows[-1], ring_sets=[row.id for row in rows])
    return rows[-1]


@use_case
def import_cutters(tx: Write, form: CutterListForm) -> Cutter:
    """Cutters of a list; one whose name is taken stays as it is."""
    _refuse(form)
    since = known_cutters(tx.session, form.known_newest).keys
    rows = []
    for line in form.good:
        one = line.form
        assert one is not None
        assert one.kind is not None
        if form.key(one) in since:
            raise Refused(MEANWHILE, "list")
        rows.append(
            Cutter(
                name=one.name,
                kind=one.kind,
                fixed_size=one.fixed_size,
                corner_radius=one.corner_radius,
                note=one.note,
            )
        )
    tx.session.add_all(rows)
    tx.session.flush()
    tx.log("added a list of cutters", rows[-1], cutters=[row.id for row in rows])
    return rows[-1]


def _refuse(form: ListForm[Any]) -> None:
    words, field = form.why_not_kept()
    if words:
        raise Refused(words, field)
