"""The beginnings that a customer or a head is found by, kept with every change of either."""

from __future__ import annotations

from sqlmodel import Session, col, select

from app.models.customer import Customer
from app.models.head import Head
from app.models.search_key import SearchKey
from app.workflow.folding import casting_keys, name_keys, phone_keys


def keys_of_customer(customer: Customer) -> set[str]:
    """Each word of the name, and each phone number from any digit on."""
    return name_keys(customer.name) | phone_keys(customer.phone) | phone_keys(customer.second_phone)


def keys_of_head(head: Head) -> set[str]:
    """Casting and serial number, from any of their parts on."""
    return casting_keys(head.casting) | casting_keys(head.serial)


def keep_customer_keys(session: Session, customer: Customer) -> None:
    """Make a customer found by what it is called now."""
    _keep(session, keys_of_customer(customer), customer_id=customer.id)


def keep_head_keys(session: Session, head: Head) -> None:
    """Make a head found by the numbers on it now."""
    _keep(session, keys_of_head(head), head_id=head.id)


def _keep(session: Session, keys: set[str], **subject: int) -> None:
    # Rows are never deleted: a key that no longer fits is emptied, and filled again when needed.
    [(column, found)] = subject.items()
    rows = session.exec(select(SearchKey).where(col(getattr(SearchKey, column)) == found)).all()
    missing = sorted(keys - {row.key for row in rows})
    for row in rows:
        if row.key not in keys:
            row.key = missing.pop() if missing else ""
            session.add(row)
    session.add_all(SearchKey(key=key, **subject) for key in missing)
