"""Lists brought in: the lines that were shown and can be kept, as one change."""

from __future__ import annotations

from collections.abc import Collection

from app.forms.lists_in import F, Key, ListForm
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
    rows = []
    for one in lines_to_keep(form, known_customers(tx.session, form.known_newest).keys):
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
    lines = lines_to_keep(form, known_boxes(tx.session, form.known_newest).keys)
    rows = [shelf_rows(tx, one) for one in lines]
    tx.log("put a list of rings on the shelf", rows[-1], ring_sets=[row.id for row in rows])
    return rows[-1]


@use_case
def import_cutters(tx: Write, form: CutterListForm) -> Cutter:
    """Cutters of a list; one whose name is taken stays as it is."""
    rows = []
    for one in lines_to_keep(form, known_cutters(tx.session, form.known_newest).keys):
        assert one.kind is not None
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


def lines_to_keep(form: ListForm[F], since: Collection[Key]) -> list[F]:
    """What each line that can be kept says, unless one of them came in since it was shown."""
    words, field = form.why_not_kept()
    if words:
        raise Refused(words, field)
    found = []
    for line in form.good:
        assert line.form is not None
        if form.key(line.form) in since:
            raise Refused(MEANWHILE, "list")
        found.append(line.form)
    return found
