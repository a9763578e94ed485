"""Customers: added with a job, mended later, emptied on request."""

from __future__ import annotations

from sqlmodel import col, select

from app.forms.customers import CustomerForm, EmptyingForm
from app.forms.jobs import CustomerChoice
from app.models.customer import Customer
from app.models.job import Job
from app.queries.customers import find_customers, open_numbers
from app.services.job_words import keep_words_of_customer
from app.services.owned import open_job
from app.services.search_keys import keep_customer_keys
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.folding import digits, words
from app.workflow.kinds import CustomerKind
from app.workflow.words import listed


@use_case
def new_customer(tx: Write, name: str, phone: str) -> Customer:
    """Add a customer by name and phone."""
    customer = tx.add(Customer(name=name, phone=phone, phone_digits=digits(phone)))
    keep_customer_keys(tx.session, customer)
    tx.log("added a customer", customer)
    return customer


@use_case
def update_customer(tx: Write, customer_id: int, form: CustomerForm) -> Customer:
    """Change what is known of a customer."""
    customer = the_customer(tx, customer_id)
    customer.name = form.name
    customer.phone, customer.second_phone = form.phone, form.second_phone
    customer.phone_digits = " ".join(filter(None, (digits(form.phone), digits(form.second_phone))))
    customer.email, customer.note = form.email, form.note
    customer.is_trade, customer.standing_limit = form.is_trade, form.standing_limit
    tx.session.add(customer)
    tx.session.flush()
    keep_customer_keys(tx.session, customer)
    keep_words_of_customer(tx.session, customer.id)
    tx.log("changed a customer", customer, trade=customer.is_trade, limit=customer.standing_limit)
    return customer


@use_case
def empty_customer(tx: Write, customer_id: int, form: EmptyingForm) -> Customer:
    """Forget who a customer is; their jobs stay, and so does every figure in them."""
    customer = the_customer(tx, customer_id)
    if numbers := open_numbers(tx.session, customer_id):
        raise Refused(
            f"{listed(numbers)} {'is' if len(numbers) == 1 else 'are'} still open, and nobody "
            "could be told about it any more: hand over or end that first. Nothing was emptied."
        )
    if words(form.typed) != words(customer.name):
        raise Refused("is not the name of this customer; nothing was emptied", "typed")
    collected = [
        job
        for job in tx.session.exec(
            select(Job).where(Job.customer_id == customer_id, col(Job.collected_by) != "")
        )
        if words(job.collected_by) == words(customer.name)
    ]
    for job in collected:
        job.collected_by = ""
        tx.session.add(job)
    told = [
        job
        for job in tx.session.exec(
            select(Job).where(Job.customer_id == customer_id, col(Job.comeback_told).is_not(None))
        )
        if words(job.comeback_told or "") == words(customer.name)
    ]
    for job in told:
        job.comeback_told = "the customer"
        tx.session.add(job)
    customer.name = customer.phone = customer.second_phone = customer.phone_digits = ""
    customer.email = customer.note = ""
    customer.is_trade, customer.standing_limit = False, None
    customer.emptied_at = tx.at
    tx.session.add(customer)
    keep_customer_keys(tx.session, customer)
    tx.session.flush()
    keep_words_of_customer(tx.session, customer.id, is_emptied=True)
    tx.log("emptied a customer", customer, collected_by_of=[job.id for job in collected])
    return customer


@use_case
def set_customer(tx: Write, number: str, form: CustomerChoice) -> Job:
    """Say whom a job is for, once the owner of heads left on the step is known, or otherwise."""
    job = open_job(tx, number)
    customer = choose_customer(tx, form)
    job.customer_kind = form.kind
    job.customer_id = customer.id if customer else None
    tx.session.add(job)
    tx.log("said whom it is for", job, job=job, kind=form.kind, customer=job.customer_id)
    return job


def choose_customer(tx: Write, form: CustomerChoice) -> Customer | None:
    """The customer that a form names: known by id, new, or none for stock and unknown owners.

    A name that could be someone known is asked about once, so that nobody is kept twice.
    """
    if form.kind is not CustomerKind.NAMED:
        return None
    if form.customer_id is not None:
        return the_customer(tx, form.customer_id)
    if not form.is_somebody_new and (found := find_customers(tx.session, form.customer)):
        raise Refused(
            f"{_counted(len(found))} of that name or number is known: choose below, "
            "or say that this is somebody new",
            "customer",
        )
    return new_customer(tx, form.customer, form.phone)


def the_customer(tx: Write, customer_id: int) -> Customer:
    """A customer who was not emptied."""
    customer = tx.session.get(Customer, customer_id)
    if customer is None or customer.emptied_at is not None:
        raise NotFound("There is no such customer.")
    return customer


def _counted(count: int) -> str:
    return "One customer" if count == 1 else "More than one customer"
