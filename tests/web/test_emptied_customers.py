"""The owner empties a customer from the customer's page, with scripts off."""

from __future__ import annotations

from collections.abc import Callable
from html import unescape

from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database, now
from app.models.job import Job
from tests.web.test_jobs import jobs, take_in

SignedIn = Callable[[str], TestClient]


def ended(database: Database, number: str) -> int:
    """End the one job there is; whose it was."""
    with database.write() as session:
        job = session.exec(select(Job).where(Job.number == number)).one()
        job.ended_at = now()
        session.add(job)
        assert job.customer_id is not None
        return job.customer_id


def test_the_page_names_what_goes_and_what_stays(
    signed_in_as: SignedIn, database: Database
) -> None:
    odile = signed_in_as("owner")
    customer = ended(database, take_in(odile))
    assert f"/customers/{customer}/empty" in odile.get(f"/customers/{customer}/edit").text
    page = unescape(odile.get(f"/customers/{customer}/empty").text)
    goes, _, stays = page.partition("What stays")
    assert "555-0134" in goes
    assert "1 job, found by number and casting" in stays
    assert "issued sheets, as signed" in stays


def test_the_job_of_an_emptied_customer_still_opens(
    signed_in_as: SignedIn, database: Database
) -> None:
    odile = signed_in_as("owner")
    number = take_in(odile)
    customer = ended(database, number)
    sent = {"typed": "Harrow Lane Farms"}
    assert odile.post(f"/customers/{customer}/empty", data=sent).status_code == 303
    page = unescape(odile.get(f"/jobs/{number}").text)
    assert "a customer whose name was emptied" in page
    assert "Harrow" not in page
    assert "555-0134" not in page
    assert odile.get(f"/customers/{customer}/edit").status_code == 404
    assert odile.get(f"/jobs/new?comeback_of={number}").status_code == 200


def test_another_name_empties_nobody(signed_in_as: SignedIn, database: Database) -> None:
    odile = signed_in_as("owner")
    customer = ended(database, take_in(odile))
    answer = odile.post(f"/customers/{customer}/empty", data={"typed": "Harrow"})
    assert answer.status_code == 422
    assert "Their name: is not the name of this customer" in unescape(answer.text)
    assert "Harrow Lane Farms" in odile.get(f"/customers/{customer}/edit").text


def test_only_the_owner_is_offered_it(signed_in_as: SignedIn, database: Database) -> None:
    wilma = signed_in_as("service_writer")
    take_in(wilma)
    [job] = jobs(database)
    assert "/empty" not in wilma.get(f"/customers/{job.customer_id}/edit").text
