"""The beginnings that a customer is found by, kept with every change."""

from __future__ import annotations

from sqlmodel import Session, select

from app.models.customer import Customer
from app.models.search_key import SearchKey
from app.workflow.folding import name_keys, phone_keys


def keys_of_customer(customer: Customer) -> set[str]:
    """Each word of the name, and each phone number from any digit on."""
    return name_keys(customer.name) | phone_keys(customer.phone) | phone_keys(customer.second_phone)


def keep_customer_keys(session: Session, customer: Customer) -> None:
    """Make a customer found by what it is called now."""
    keys = keys_of_customer(customer)
    # Rows are never deleted: a key that no longer fits is emptied, and filled again when needed.
    rows = session.exec(select(SearchKey).where(SearchKey.customer_id == customer.id)).all()
    missing = sorted(keys - {row.key for row in rows})
    for row in rows:
        if row.key not in keys:
            row.key = missing.pop() if missing else ""
            session.add(row)
    session.add_all(SearchKey(key=key, customer_id=customer.id) for key in missing)
