"""The shop itself."""

from __future__ import annotations

from app.models.person import Person
from app.models.shop import Shop
from app.queries.people import has_owner
from app.services.people import add_person
from app.services.write import Refused, Write, use_case
from app.workflow.kinds import Unit
from app.workflow.words import Role

ALREADY_OPEN = "This shop has an owner already. Sign in; the owner adds everyone else."


@use_case
def open_shop(
    tx: Write,
    *,
    name: str,
    owner: str,
    pin_hash: str,
    zone: str,
    currency: str,
    unit: Unit,
    base_address: str = "",
    is_demo: bool = False,
) -> Person:
    """Open the shop with its first owner, who is also the author of what else is done in `tx`."""
    if tx.session.get(Shop, 1) is not None or has_owner(tx.session):
        raise Refused(ALREADY_OPEN)
    shop = tx.add(
        Shop(
            id=1,
            name=name,
            zone=zone,
            currency=currency,
            unit=unit,
            base_address=base_address,
            is_demo=is_demo,
        )
    )
    tx.log("opened the shop", shop, zone=zone, currency=currency, unit=unit.value)
    person = add_person(tx, owner, Role.OWNER, pin_hash)
    tx.by = person
    return person
