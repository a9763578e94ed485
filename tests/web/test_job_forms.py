"""The short forms of a job: each on its own page, with scripts off."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.customer import Customer
from app.models.job import Consent, Job, Note, PriceLine, Received
from tests.web.test_jobs import key_of, take_in

SignedIn = Callable[[str], TestClient]

PAGES = (
    "place",
    "promise",
    "wanted",
    "customer",
    "consent",
    "price-lines",
    "notes",
    "received",
    "waiting",
    "end",
    "heads",
)


def job(database: Database) -> Job:
    with database.read() as session:
        return session.exec(select(Job)).one()


@pytest.mark.parametrize("name", PAGES)
def test_each_form_has_a_page_that_posts_to_itself(signed_in_as: SignedIn, name: str) -> None:
    wilma = signed_in_as("service_writer")
    number = take_in(wilma)
    page = wilma.get(f"/jobs/{number}/{name}")
    assert page.status_code == 200
    assert f'method="post" action="/jobs/{number}/{name}"' in page.text


@pytest.mark.parametrize(
    ("name", "fields", "message"),
    [
        ("place", {"place": "x" * 61}, "longer than 60"),
        ("promise", {"promised_on": "2026-13-01"}, "is not a date"),
        ("promise", {"promised_on": "2001-01-01"}, "That day is over"),
        ("wanted", {"wanted": " "}, "customer's words"),
        ("customer", {"kind": "named", "customer": ""}, "customer's name"),
        ("customer", {"customer": "Lane", "phone": "phone?? -5 abc"}, "is not a phone number"),
        ("customer", {"customer": "Lane", "phone": "-5"}, "is not a phone number"),
        ("consent", {"how": "phone"}, "who agreed"),
        ("consent", {"name": "Dana"}, "how it was agreed"),
        ("consent", {"name": "Dana", "how": "phone", "limit": "a lot"}, "must be an amount"),
        ("consent", {"name": "Dana", "how": "phone", "limit": "NaN"}, "must be an amount"),
        ("consent", {"name": "Dana", "how": "phone", "limit": "-5"}, "agrees to nothing"),
        ("consent", {"name": "Dana", "how": "phone", "limit": "0.00"}, "leave it empty when no"),
        ("consent", {"name": "Dana", "how": "phone", "given_on": "2149-01-01"}, "still to come"),
        ("price-lines", {"text": "ring", "amount": ""}, "the amount"),
        ("price-lines", {"text": "ring", "amount": "1.005"}, "more than two decimals"),
        ("price-lines", {"text": "", "amount": "5"}, "what the amount is for"),
        ("price-lines", {"text": "ring", "amount": "1e9"}, "must be an amount"),
        ("notes", {"text": ""}, "Write the note"),
        ("notes", {"text": "x", "about": "moon-1"}, "not one of the choices"),
        ("notes", {"text": "x", "about": "head-99999999999"}, "not one of the choices"),
        ("received", {}, "Count at least one part"),
        ("received", {"pieces_0": "eight"}, "must be a whole number"),
        ("received", {"pieces_0": "-1"}, "must be from 0"),
        ("received", {"nothing": "yes", "pieces_0": "8"}, "either nothing came"),
        ("received", {"other_0": "caps"}, "How many caps"),
        ("waiting", {"waiting": ""}, "what it waits for"),
        ("waiting", {"waiting": "parts"}, "Which parts?"),
        ("waiting", {"waiting": "welder", "expected_on": "2001-01-01"}, "before the waiting began"),
        ("end", {"ended_as": "handed_over", "note": "x"}, "handed over on its own page"),
        ("end", {"ended_as": "scrapped"}, "Write why"),
        ("heads", {"name": ""}, "head's name"),
    ],
)
def test_bad_input_is_named_and_nothing_is_stored(
    signed_in_as: SignedIn, database: Database, name: str, fields: dict[str, str], message: str
) -> None:
    wilma = signed_in_as("service_writer")
    number = take_in(wilma)
    before = job(database)
    answer = wilma.post(f"/jobs/{number}/{name}", data=fields)
    page = unescape(answer.text)
    assert answer.status_code == 422
    assert 'role="alert"' in page
    assert message in page
    assert job(database) == before
    with database.read() as session:
        for table in (Consent, PriceLine, Note, Received):
            assert session.exec(select(table)).all() == []


@pytest.mark.parametrize(
    ("name", "fields", "table"),
    [
        ("consent", {"name": "Dana Field", "how": "phone", "limit": "640"}, Consent),
        ("price-lines", {"text": "Two seat rings", "amount": "480,50"}, PriceLine),
        ("notes", {"text": "Call before noon", "kind": "call_in"}, Note),
        ("received", {"pieces_0": "8"}, Received),
    ],
)
def test_a_repeated_form_records_once(
    signed_in_as: SignedIn,
    database: Database,
    name: str,
    fields: dict[str, str],
    table: type[Consent] | type[PriceLine] | type[Note] | type[Received],
) -> None:
    wilma = signed_in_as("service_writer")
    number = take_in(wilma)
    key = key_of(wilma.get(f"/jobs/{number}/{name}").text)
    for _ in range(2):
        answer = wilma.post(f"/jobs/{number}/{name}", data=fields | {"client_key": key})
        assert answer.status_code == 303
    with database.read() as session:
        assert len(session.exec(select(table)).all()) == 1


def test_for_whom_opens_with_the_one_it_is_for(signed_in_as: SignedIn, database: Database) -> None:
    wilma = signed_in_as("service_writer")
    number = take_in(wilma, customer="Dana Field", phone="555-0177")
    page = wilma.get(f"/jobs/{number}/customer").text
    assert 'value="Dana Field"' in page
    assert 'value="555-0177"' in page
    chosen = re.search(r'<input type="radio" name="customer_id" value="(\d+)" checked', page)
    assert chosen is not None
    assert int(chosen[1]) == job(database).customer_id
    typed = {"kind": "named", "customer": "Rowan Ash", "phone": "", "customer_id": chosen[1]}
    assert wilma.post(f"/jobs/{number}/customer", data=typed).status_code == 303
    assert "Rowan Ash" in wilma.get(f"/jobs/{number}").text
    stock = take_in(wilma, kind="shop_stock", customer="", phone="")
    assert re.search(
        r'name="kind" value="shop_stock" checked', wilma.get(f"/jobs/{stock}/customer").text
    )


def test_money_is_shown_against_what_was_agreed(signed_in_as: SignedIn) -> None:
    wilma = signed_in_as("service_writer")
    at = f"/jobs/{take_in(wilma)}"
    assert "Not agreed yet" in wilma.get(at).text
    wilma.post(f"{at}/consent", data={"name": "Dana Field", "how": "phone", "limit": "640"})
    wilma.post(f"{at}/price-lines", data={"text": "Two seat rings", "amount": "680"})
    page = unescape(wilma.get(at).text)
    assert "Past what was agreed" in page
    assert "40.00" in page
    asked = unescape(wilma.get(f"{at}/consent").text)
    for told in ("Two seat rings", "680.00", "Past what was agreed before", "40.00"):
        assert told in asked
    wilma.post(f"{at}/price-lines/1/strike", data={})
    assert "No price line yet" in wilma.get(f"{at}/consent").text
    page = unescape(wilma.get(at).text)
    assert "640.00</span> left" in page


def test_standing_authority_is_one_touch_for_a_trade_customer(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    at = f"/jobs/{take_in(wilma)}"
    with database.read() as session:
        customer = session.exec(select(Customer)).one()
    assert "Standing authority" not in wilma.get(f"{at}/consent").text
    fields = {"name": customer.name, "is_trade": "yes", "standing_limit": "500"}
    assert wilma.post(f"/customers/{customer.id}/edit", data=fields).status_code == 303
    page = wilma.get(f"{at}/consent").text
    assert 'value="500.00"' in page
    fields = {"name": customer.name, "how": "standing", "limit": "500.00"}
    assert wilma.post(f"{at}/consent", data=fields).status_code == 303


def test_a_customers_standing_limit_needs_trade(signed_in_as: SignedIn, database: Database) -> None:
    wilma = signed_in_as("service_writer")
    take_in(wilma)
    answer = wilma.post("/customers/1/edit", data={"name": "Lane", "standing_limit": "500"})
    assert answer.status_code == 422
    with database.read() as session:
        assert session.exec(select(Customer)).one().name == "Harrow Lane Farms"


def test_a_job_that_is_over_refuses_changes_but_takes_notes(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    at = f"/jobs/{take_in(wilma)}"
    wilma.post(f"{at}/end", data={"ended_as": "returned_unrepaired", "note": "too dear"})
    answer = wilma.post(f"{at}/place", data={"place": "3"})
    assert answer.status_code == 409
    assert "is over" in answer.text
    assert job(database).place == ""
    assert wilma.post(f"{at}/notes", data={"text": "asked again"}).status_code == 303
    assert "It came back" in wilma.get(at).text
    assert wilma.post(f"{at}/end/undo", data={}).status_code == 303
    assert job(database).ended_as is None


def test_only_the_owner_voids_a_job(signed_in_as: SignedIn, database: Database) -> None:
    wilma = signed_in_as("service_writer")
    at = f"/jobs/{take_in(wilma)}"
    assert wilma.post(f"{at}/void", data={"because": "typed twice"}).status_code == 403
    assert "Void the job" not in wilma.get(f"{at}/end").text
    odile = signed_in_as("owner")
    assert "Void the job" in odile.get(f"{at}/end").text
    assert odile.post(f"{at}/void", data={"because": ""}).status_code == 422
    assert odile.post(f"{at}/void", data={"because": "typed twice"}).status_code == 303
    assert job(database).voided_at is not None
    assert "recorded in error" in wilma.get(at).text


def test_waiting_shows_on_the_job_and_ends_with_one_touch(signed_in_as: SignedIn) -> None:
    wilma = signed_in_as("service_writer")
    at = f"/jobs/{take_in(wilma)}"
    wilma.post(f"{at}/waiting", data={"waiting": "parts", "waiting_for": "exhaust rings"})
    page = wilma.get(at).text
    assert "Waiting for parts" in page
    assert "exhaust rings" in page
    assert wilma.post(f"{at}/waiting/over", data={}).status_code == 303
    assert "Waiting for parts" not in wilma.get(at).text
    assert wilma.post(f"{at}/waiting/over", data={}).status_code == 409


def test_the_machinist_takes_jobs_in_too(signed_in_as: SignedIn) -> None:
    marek = signed_in_as("machinist")
    number = take_in(marek)
    assert marek.post(f"/jobs/{number}/place", data={"place": "bench"}).status_code == 303
