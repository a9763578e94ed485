"""The counter's list and search."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from html import unescape

import pytest
from sqlalchemy import event
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.job import Job
from tests.web.test_jobs import take_in

SignedIn = Callable[[str], TestClient]


def test_open_jobs_stand_with_their_sentence(signed_in_as: SignedIn) -> None:
    wilma = signed_in_as("service_writer")
    assert "No open job" in wilma.get("/counter").text
    number = take_in(wilma)
    page = wilma.get("/counter").text
    assert number in page
    assert "Taken in, valve layout open." in page


def test_a_late_job_comes_first_and_is_filtered_by_address(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    late, other = take_in(wilma), take_in(wilma, customer="Dana Field")
    with database.write() as session:
        job = session.exec(select(Job).where(Job.number == late)).one()
        job.promised_on = (datetime.now(UTC) - timedelta(days=4)).date()
        session.add(job)
    page = wilma.get("/counter").text
    assert page.index(late) < page.index(other)
    filtered = wilma.get("/counter?show=late").text
    assert late in filtered
    assert other not in filtered


@pytest.mark.parametrize("typed", ["lane", "0134", "harrow farms"])
def test_search_finds_by_name_and_phone(signed_in_as: SignedIn, typed: str) -> None:
    wilma = signed_in_as("service_writer")
    found, other = take_in(wilma), take_in(wilma, customer="Dana Field", phone="555-0177")
    page = wilma.get("/counter", params={"q": typed}).text
    assert found in page
    assert other not in page


def test_a_typed_number_opens_the_job(signed_in_as: SignedIn) -> None:
    wilma = signed_in_as("service_writer")
    number = take_in(wilma)
    answer = wilma.get("/counter", params={"q": f" {number} "})
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/jobs/{number}"


@pytest.mark.parametrize("typed", ["%", "'; --", "\x00", "\U0010ffff", "9" * 90, "“”", "1e9"])
def test_odd_search_texts_find_nothing_and_break_nothing(
    signed_in_as: SignedIn, typed: str
) -> None:
    wilma = signed_in_as("service_writer")
    take_in(wilma)
    assert wilma.get("/counter", params={"q": typed}).status_code == 200


def test_ended_jobs_have_a_list_of_their_own(signed_in_as: SignedIn) -> None:
    wilma = signed_in_as("service_writer")
    number = take_in(wilma)
    wilma.post(f"/jobs/{number}/end", data={"ended_as": "scrapped", "note": "cracked"})
    assert "Undo" in wilma.get(f"/jobs/{number}").text
    assert number not in wilma.get("/counter").text
    page = unescape(wilma.get("/counter?show=ended").text)
    assert number in page
    assert "Scrapped" in page
    assert number in wilma.get("/counter?q=lane").text


def test_the_list_takes_as_many_statements_for_many_jobs_as_for_few(
    signed_in_as: SignedIn, database: Database
) -> None:
    wilma = signed_in_as("service_writer")
    statements: list[str] = []

    def count(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        statements.append(statement)

    def page_takes() -> int:
        statements.clear()
        assert wilma.get("/counter").status_code == 200
        return len(statements)

    event.listen(database.engine, "before_cursor_execute", count)
    try:
        take_in(wilma)
        few = page_takes()
        for nth in range(6):
            take_in(wilma, customer=f"Customer {nth}")
        assert page_takes() == few
    finally:
        event.remove(database.engine, "before_cursor_execute", count)


def test_find_keeps_words_and_filters_in_the_address(signed_in_as: SignedIn) -> None:
    wilma = signed_in_as("service_writer")
    number, other = take_in(wilma), take_in(wilma, customer="Dana Field", phone="555-0177")
    page = wilma.get("/find", params={"q": "lane", "state": "open", "sort": "old"}).text
    assert number in page
    assert other not in page
    assert 'value="open" selected' in page
    assert 'value="old" selected' in page


def test_find_says_what_is_wrong_with_a_filter_and_looks_for_nothing(
    signed_in_as: SignedIn,
) -> None:
    wilma = signed_in_as("service_writer")
    number = take_in(wilma)
    answer = wilma.get("/find", params={"since": "last week"})
    assert answer.status_code == 422
    assert "is not a date" in answer.text
    assert number not in answer.text
