"""Customers: found by what is typed, kept once, mended, emptied."""

from __future__ import annotations

import pytest
from sqlalchemy import text
from sqlmodel import col, select

from app.db import Database
from app.forms.customers import CustomerForm, EmptyingForm
from app.forms.jobs import CustomerChoice
from app.models.customer import Customer
from app.models.event import Event
from app.models.job import Job
from app.models.search_key import SearchKey
from app.queries.counter import find_jobs
from app.queries.customers import find_customers
from app.queries.jobs import who_of
from app.services.customers import empty_customer, new_customer, set_customer, update_customer
from app.services.jobs import take_in_job
from app.services.write import NotFound, Refused, Write
from tests.services.conftest import Writing
from tests.services.counter import TODAY, add_shop, described, job_form, new_job


@pytest.fixture(autouse=True)
def shop(database: Database) -> None:
    with database.write() as session:
        add_shop(session)


def found(tx: object, typed: str) -> list[str]:
    return [each.name for each in find_customers(tx.session, typed)]  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    "typed", ["harrow", "HARROW LA", "farms", "lane har", "Härrow", "0134", "555-0134", "5550134"]
)
def test_a_customer_is_found_by_any_word_or_digits(writing: Writing, typed: str) -> None:
    with writing() as tx:
        new_customer(tx, "Harrow Lane Farms", "555-0134")
        new_customer(tx, "Dana Field", "555-0177")
        assert found(tx, typed) == ["Harrow Lane Farms"]


@pytest.mark.parametrize("typed", ["", "h", "arrow", "harrow field", "9999", "%", "_", "'"])
def test_what_does_not_fit_finds_nobody(writing: Writing, typed: str) -> None:
    with writing() as tx:
        new_customer(tx, "Harrow Lane Farms", "555-0134")
        assert found(tx, typed) == []


@pytest.mark.parametrize(
    "typed",
    ["555-0134", "+49 (0)555 0134", "(555) 0134", "0555/0134", "555.0134 ext. 12", "0134 x5"],
)
def test_phones_are_kept_as_they_are_dialled(typed: str) -> None:
    form = CustomerForm({"name": "Lane", "phone": typed, "second_phone": typed})
    assert form.ok
    assert form.phone == form.second_phone == typed


def test_a_renamed_customer_is_found_by_the_new_name_only(writing: Writing) -> None:
    with writing() as tx:
        customer = new_customer(tx, "Harrow Lane Farms", "555-0134")
        form = CustomerForm({"name": "Upper Lane Farms", "phone": "555-0200"})
        update_customer(tx, customer.id, form)
        assert found(tx, "harrow") == []
        assert found(tx, "0134") == []
        assert found(tx, "upper") == found(tx, "0200") == ["Upper Lane Farms"]


def test_a_name_that_is_known_is_asked_about_once(writing: Writing) -> None:
    with writing() as tx:
        first = new_job(tx)
    with pytest.raises(Refused) as refused, writing() as tx:
        take_in_job(tx, job_form())
    assert refused.value.field == "customer"
    with writing() as tx:
        again = take_in_job(tx, job_form(customer_id=str(first.customer_id)))
        assert again.customer_id == first.customer_id
        other = take_in_job(tx, job_form(customer_id="new"))
        assert other.customer_id != first.customer_id


def test_a_customer_who_is_not_there_cannot_be_chosen(writing: Writing) -> None:
    with pytest.raises(NotFound), writing() as tx:
        take_in_job(tx, job_form(customer_id="4711"))


def test_an_owner_who_turns_up_gets_the_job(writing: Writing) -> None:
    with writing() as tx:
        job = take_in_job(tx, job_form(kind="unknown", customer=""))
        set_customer(tx, job.number, CustomerChoice({"customer": "Dana Field", "phone": "0177"}))
        customer = tx.session.exec(select(Customer)).one()
        assert job.customer_id == customer.id


def test_a_job_is_found_by_number_customer_phone_and_casting(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        described(tx, job, casting="HL-4410-B")
        new_job(tx, customer="Dana Field", phone="555-0177")
        for typed in (job.number, str(job.seq), "lane", "0134", "hl-4410", "4410b"):
            lines = find_jobs(tx.session, typed, TODAY).lines
            assert [line.job.number for line in lines] == [job.number], typed
        assert find_jobs(tx.session, "nothing like it", TODAY).lines == ()


def handed_over(tx: Write) -> Job:
    """A job of Harrow Lane Farms that is over; they came for it themselves."""
    job = new_job(tx)
    job.ended_at, job.collected_by = tx.at, "harrow lane farms"
    customer = tx.session.get_one(Customer, job.customer_id)
    mended = {"name": customer.name, "phone": customer.phone, "second_phone": "555-0199"}
    more = {"email": "lane@example.org", "is_trade": "yes", "note": "Ask for Mrs Lane"}
    update_customer(tx, customer.id, CustomerForm(mended | more))
    return job


def test_an_emptied_customer_leaves_the_job_and_nothing_of_themselves(writing: Writing) -> None:
    with writing() as tx:
        job = handed_over(tx)
        wanted, number = job.wanted, job.number
        job.comeback_told = "harrow lane farms"
        emptied = empty_customer(tx, job.customer_id, EmptyingForm({"typed": "Harrow lane FARMS"}))
        assert job.comeback_told == "the customer"
        assert emptied.emptied_at == tx.at
        assert (emptied.name, emptied.phone, emptied.second_phone, emptied.email) == ("",) * 4
        assert (emptied.note, emptied.phone_digits, emptied.is_trade) == ("", "", False)
        assert (job.wanted, job.number, job.collected_by) == (wanted, number, "")
        assert who_of(job, emptied) == "a customer whose name was emptied"


def test_an_emptied_customer_is_found_no_more_and_not_named_in_the_log(writing: Writing) -> None:
    with writing() as tx:
        job = handed_over(tx)
        empty_customer(tx, job.customer_id, EmptyingForm({"typed": "Harrow Lane Farms"}))
    with writing() as tx:
        for typed in ("harrow", "0134", "0199"):
            assert found(tx, typed) == []
            assert find_jobs(tx.session, typed, TODAY).lines == ()
        kept = select(SearchKey.key).where(col(SearchKey.customer_id) == job.customer_id)
        assert set(tx.session.exec(kept)) == {""}
        logged = tx.session.exec(select(Event).order_by(col(Event.id).desc())).first()
        assert logged is not None
        assert logged.verb == "emptied a customer"
        assert "arrow" not in logged.body


def test_emptying_asks_for_the_name(writing: Writing) -> None:
    with writing() as tx:
        job = handed_over(tx)
    with pytest.raises(Refused, match="nothing was emptied") as refused, writing() as tx:
        empty_customer(tx, job.customer_id, EmptyingForm({"typed": "Harrow Lane"}))
    assert refused.value.field == "typed"
    with writing() as tx:
        assert found(tx, "harrow") == ["Harrow Lane Farms"]
    assert EmptyingForm({"typed": " "}).errors == {"typed": "Type the customer's name to empty it"}


def test_a_customer_with_an_open_job_is_not_emptied(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
    with pytest.raises(Refused, match=f"{job.number} is still open"), writing() as tx:
        empty_customer(tx, job.customer_id, EmptyingForm({"typed": "Harrow Lane Farms"}))


def test_an_emptied_customer_is_not_emptied_chosen_or_mended_again(writing: Writing) -> None:
    with writing() as tx:
        job = handed_over(tx)
        empty_customer(tx, job.customer_id, EmptyingForm({"typed": "Harrow Lane Farms"}))
        with pytest.raises(NotFound):
            empty_customer(tx, job.customer_id, EmptyingForm({"typed": "x"}))
        with pytest.raises(NotFound):
            update_customer(tx, job.customer_id, CustomerForm({"name": "Lane"}))
        with pytest.raises(NotFound):
            take_in_job(tx, job_form(customer_id=str(job.customer_id)))


def test_finding_reads_an_index_not_every_key(database: Database) -> None:
    asked = (
        "SELECT customer_id FROM search_key "
        "WHERE key >= 'har' AND key < 'has' AND customer_id IS NOT NULL LIMIT 400"
    )
    with database.read() as session:
        if not database.is_sqlite:
            # An empty table is read whole whatever its indexes; the question is which one fits.
            session.execute(text("SET enable_seqscan = off"))
        explain = "EXPLAIN QUERY PLAN " if database.is_sqlite else "EXPLAIN "
        plan = " ".join(str(row) for row in session.execute(text(explain + asked)))
    assert "ix_search_key_beginning" in plan
