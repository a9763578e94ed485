"""Finding customers while a name or a number is typed, and what of theirs is open."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import func
from sqlmodel import Session, col, select

from app.models.customer import Customer
from app.models.job import Job
from app.queries.search import customers_found
from app.workflow.folding import digits, words

MOST_FOUND = 8
FEWEST_LETTERS = 2


@dataclass(frozen=True, slots=True)
class CustomerFound:
    """One customer as offered at the counter."""

    id: int
    name: str
    phone: str
    is_trade: bool
    jobs: int
    last_number: str


def find_customers(session: Session, typed: str, most: int = MOST_FOUND) -> list[CustomerFound]:
    """Customers by the beginnings of their names' words, or by digits of a phone number."""
    number = digits(typed)
    is_number = len(number) >= 4 and not any(letter.isalpha() for letter in typed)
    beginnings = [number] if is_number else words(typed)
    if sum(map(len, beginnings)) < FEWEST_LETTERS:
        return []
    return customers_by_id(session, customers_found(session, beginnings, most))


def customers_by_id(session: Session, ids: list[int]) -> list[CustomerFound]:
    """These customers with how often they came; emptied ones are left out."""
    if not ids:
        return []
    counts = {
        customer_id: (jobs, last)
        for customer_id, jobs, last in session.exec(
            select(Job.customer_id, func.count(col(Job.id)), func.max(col(Job.number)))
            .where(col(Job.customer_id).in_(ids))
            .group_by(col(Job.customer_id))
        )
    }
    return [
        CustomerFound(
            id=customer.id,
            name=customer.name,
            phone=customer.phone,
            is_trade=customer.is_trade,
            jobs=counts.get(customer.id, (0, ""))[0],
            last_number=counts.get(customer.id, (0, ""))[1],
        )
        for customer in session.exec(
            select(Customer)
            .where(col(Customer.id).in_(ids), col(Customer.emptied_at).is_(None))
            .order_by(col(Customer.name), col(Customer.id))
        )
    ]


def open_numbers(session: Session, customer_id: int) -> list[str]:
    """The numbers of a customer's jobs that are not over."""
    rows = session.exec(
        select(Job.number)
        .where(
            Job.customer_id == customer_id,
            col(Job.ended_at).is_(None),
            col(Job.voided_at).is_(None),
        )
        .order_by(col(Job.id))
    )
    return list(rows)
