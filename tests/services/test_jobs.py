"""Jobs: numbers of the shop's year, for whom, with which heads."""

from __future__ import annotations

import threading
from datetime import UTC, datetime

import pytest
from sqlmodel import col, select

from app.db import Database
from app.forms.jobs import PlaceForm, PromiseForm
from app.models.customer import Customer
from app.models.event import Event
from app.models.head import Head
from app.models.job import Job
from app.services.jobs import set_place, set_promise, take_in_job
from app.services.write import NotFound, Refused, SentBefore, Write
from app.workflow.kinds import CustomerKind
from app.workflow.words import Stage
from tests.services.conftest import Cast, Writing
from tests.services.counter import TODAY, add_shop, described, job_form, new_job, ports_of


@pytest.fixture(autouse=True)
def shop(database: Database) -> None:
    with database.write() as session:
        add_shop(session)


def test_jobs_are_numbered_by_year(writing: Writing) -> None:
    with writing() as tx:
        tx.at = datetime(2026, 11, 25, 9, tzinfo=UTC)
        assert [new_job(tx).number, new_job(tx).number] == ["26-0001", "26-0002"]


def test_the_year_is_the_shops_not_the_worlds(writing: Writing) -> None:
    with writing() as tx:
        tx.at = datetime(2026, 12, 31, 23, 30, tzinfo=UTC)  # half past midnight in Vienna
        job = new_job(tx)
        assert (job.number, job.year, job.seq) == ("27-0001", 2027, 1)
        tx.at = datetime(2026, 12, 31, 22, 30, tzinfo=UTC)
        assert new_job(tx).number == "26-0001"


def test_a_refused_job_leaves_no_gap(writing: Writing) -> None:
    with writing() as tx:
        first = new_job(tx).seq
    with pytest.raises(Refused), writing() as tx:
        _take_in_and_fail(tx)
    with writing() as tx:
        assert new_job(tx).seq == first + 1


def test_counters_working_at_once_get_every_number_once(database: Database, cast: Cast) -> None:
    faults: list[BaseException] = []

    def counter() -> None:
        try:
            for _ in range(6):
                with database.write() as session:
                    new_job(Write(session, by=cast.service_writer))
        except BaseException as fault:
            faults.append(fault)

    counters = [threading.Thread(target=counter) for _ in range(5)]
    for each in counters:
        each.start()
    for each in counters:
        each.join()
    assert not faults
    with database.read() as session:
        seqs = list(session.exec(select(Job.seq).order_by(col(Job.seq))))
    assert seqs == list(range(1, 31))


def test_a_form_sent_twice_opens_one_job(database: Database, writing: Writing) -> None:
    numbers = []
    for _ in range(2):
        with writing(client_key="k1", request_sha256="same") as tx:
            numbers.append(take_in_job(tx, job_form(customer_id="new")).number)
    assert numbers[0] == numbers[1]
    with database.read() as session:
        assert len(session.exec(select(Job)).all()) == 1
        assert len(session.exec(select(Customer)).all()) == 1


def test_the_same_key_with_another_form_is_refused(writing: Writing) -> None:
    with writing(client_key="k1", request_sha256="one") as tx:
        new_job(tx)
    with pytest.raises(SentBefore), writing(client_key="k1", request_sha256="two") as tx:
        new_job(tx, wanted="something else")


def test_a_job_begins_with_its_heads(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx, heads="both")
        names = tx.session.exec(
            select(Head.name).where(Head.job_id == job.id).order_by(col(Head.nth))
        ).all()
        assert names == ["left", "right"]


@pytest.mark.parametrize("kind", ["shop_stock", "unknown"])
def test_a_job_may_have_no_customer(writing: Writing, kind: str) -> None:
    with writing() as tx:
        job = take_in_job(tx, job_form(kind=kind, customer="", phone=""))
        assert job.customer_kind is CustomerKind(kind)
        assert job.customer_id is None


def test_a_comeback_names_the_job_it_comes_from(writing: Writing) -> None:
    with writing() as tx:
        first = new_job(tx)
        again = new_job(tx, comeback_of=first.number, comeback_cause="misfires again")
        assert again.comeback_of_id == first.id
    with pytest.raises(Refused) as refused, writing() as tx:
        new_job(tx, comeback_of="19-0001")
    assert refused.value.field == "comeback_of"


def test_place_and_promise_are_changed_with_an_event_each(writing: Writing) -> None:
    with writing() as tx:
        job = new_job(tx)
        set_place(tx, job.number, PlaceForm({"place": "3"}))
        set_promise(tx, job.number, PromiseForm({"promised_on": "2026-11-27"}, today=TODAY))
        assert (job.place, job.promised_on) == ("3", TODAY.replace(day=27))
        verbs = list(tx.session.exec(select(Event.verb).where(Event.job_id == job.id)))
        assert verbs[-2:] == ["moved it", "changed the promise"]


def test_no_name_or_phone_enters_the_log(writing: Writing) -> None:
    with writing() as tx:
        new_job(tx, customer="Dana Field", phone="555-0177")
        bodies = " ".join(tx.session.exec(select(Event.body)))
        assert "Dana" not in bodies
        assert "0177" not in bodies


def test_an_unknown_job_is_not_found(writing: Writing) -> None:
    with pytest.raises(NotFound), writing() as tx:
        set_place(tx, "26-0999", PlaceForm({"place": "3"}))


def test_a_head_that_is_described_is_still_being_taken_in(writing: Writing) -> None:
    with writing() as tx:
        head = described(tx, new_job(tx))
        assert {port.stage for port in ports_of(tx.session, head).values()} == {Stage.INTAKE}


def _take_in_and_fail(tx: Write) -> None:
    new_job(tx)
    raise Refused("something after the number was taken")
