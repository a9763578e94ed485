"""Pages that follow each other: one small question every few seconds."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import event
from starlette.testclient import TestClient

from app.db import Database
from tests.web.bench import Bench, cells, send

SignedInAs = Callable[[str], TestClient]
TAB, OTHER_TAB = "a1b2c3d4e5f60718", "0718a1b2c3d4e5f6"


@pytest.fixture
def marek(signed_in_as: SignedInAs, bench: Bench) -> TestClient:
    return signed_in_as("machinist")


def read_one(marek: TestClient, bench: Bench, key: str) -> None:
    """Another stem height at the first position."""
    url = f"/heads/{bench.head.id}/stem-heights"
    page = marek.get(url)
    had = page.text.split('name="had.')[1].split('value="')[1].split('"')[0]
    name = cells(page)[0]
    send(marek, url, key, **{name: "1.9", f"had.{name}": had})


def newest(marek: TestClient) -> str:
    return marek.get("/live").headers["Newest"]


def status(marek: TestClient, since: str, **more: object) -> int:
    return marek.get("/live", params={"since": since, **more}).status_code  # type: ignore[dict-item]


def test_a_page_carries_how_new_it_is(marek: TestClient) -> None:
    assert f'data-newest="{newest(marek)}"' in marek.get("/counter").text


def test_nothing_new_is_nothing_said(marek: TestClient) -> None:
    answer = marek.get("/live", params={"since": newest(marek)})
    assert (answer.status_code, answer.content) == (204, b"")


def test_what_happened_since_is_said_to_every_other_page(marek: TestClient, bench: Bench) -> None:
    since = newest(marek)
    read_one(marek, bench, f"{TAB}{'0' * 24}")
    assert status(marek, since) == 200
    assert status(marek, since, but=OTHER_TAB) == 200
    assert status(marek, since, but=TAB) == 204


def test_a_page_of_one_job_is_not_told_of_another(marek: TestClient, bench: Bench) -> None:
    since = newest(marek)
    read_one(marek, bench, "1")
    assert status(marek, since, job=bench.job.id) == 200
    assert status(marek, since, job=bench.job.id + 1) == 204


def test_whose_sign_in_has_ended_is_told_so(client: TestClient) -> None:
    answer = client.get("/live", headers={"Accept": "application/json"})
    assert answer.status_code == 401


def test_only_what_stands_beside_the_fields_is_asked_for_again(
    marek: TestClient, bench: Bench
) -> None:
    url = f"/heads/{bench.head.id}/stem-heights"
    answer = marek.get(f"{url}?beside=yes", headers={"HX-Request-Type": "partial"})
    assert answer.status_code == 200
    assert 'class="read' not in answer.text
    assert answer.text.count("<data value=") == len(cells(marek.get(url)))


def test_a_question_when_nothing_is_new_takes_one_statement(
    marek: TestClient, database: Database
) -> None:
    since = newest(marek)
    asked: list[str] = []

    def note(*given: Any) -> None:
        asked.append(given[2])

    event.listen(database.engine, "before_cursor_execute", note)
    try:
        assert status(marek, since) == 204
    finally:
        event.remove(database.engine, "before_cursor_execute", note)
    assert [each for each in asked if each != "BEGIN"] == [asked[-1]]


def test_a_form_that_was_sent_is_known_by_its_key(marek: TestClient) -> None:
    assert send(marek, "/bench/temperature", "ab12", temperature="21").status_code == 303
    assert marek.get("/taken?key=ab12").status_code == 200
    assert marek.get("/taken?key=ab13").status_code == 204


def test_a_form_that_was_refused_is_not_taken_for_recorded(marek: TestClient) -> None:
    assert send(marek, "/bench/temperature", "ab12", temperature="warm").status_code == 422
    assert marek.get("/taken?key=ab12").status_code == 204
