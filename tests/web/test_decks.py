"""The deck of a head, with scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.inspection import DeckCut
from tests.web.bench import Bench, send, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


@pytest.fixture
def url(bench: Bench) -> str:
    return f"/heads/{bench.head.id}/deck"


def cutting(**fields: str) -> dict[str, str]:
    return {"stock": ".004", "method": "milled", "order": "before"} | fields


def cuts(database: Database) -> int:
    with database.read() as session:
        return len(session.exec(select(DeckCut)).all())


def test_a_cut_shows_on_its_page_the_job_and_the_record(
    bench: Bench, marek: TestClient, url: str
) -> None:
    sent = cutting(still_to_come=".003", stamped="DECK -.004")
    assert send(marek, url, **sent).status_code == 303
    page = words(marek.get(url))
    assert ".0040 inch off so far, .0030 still to come" in page
    assert "stamped “DECK -.004”" in page
    assert ".0040 off" in words(marek.get(f"/jobs/{bench.job.number}"))
    assert "stamped “DECK -.004”" in words(marek.get(f"/heads/{bench.head.id}/record"))
    assert "the last deck cut left .0030" in words(
        marek.get(f"/heads/{bench.head.id}/clamp-ups/new")
    )


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"stock": ""}, "Say how much came off."),
        ({"stock": "-.004"}, "-.004 cannot be negative."),
        ({"stock": "0"}, "Nothing came off"),
        ({"stock": "4"}, "Was it typed in another unit?"),
        ({"stock": "some"}, "'some'"),
        ({"stock": ".030"}, "the shop takes .0100 at most"),
        ({"method": ""}, "Say how it was cut."),
        ({"order": ""}, "Say whether before or after."),
        ({"still_to_come": "-.001"}, "-.001 cannot be negative."),
    ],
)
def test_what_cannot_be_is_named_at_its_field_and_nothing_is_stored(
    marek: TestClient, url: str, database: Database, wrong: dict[str, str], told: str
) -> None:
    answer = send(marek, url, **cutting(**wrong))
    assert answer.status_code == 422
    assert told in words(answer)
    for value in (cutting() | wrong).values():
        assert f'value="{value}"' in answer.text
    assert cuts(database) == 0


def test_much_goes_through_with_one_touch(marek: TestClient, url: str, database: Database) -> None:
    asked = send(marek, url, **cutting(stock=".030"))
    assert 'name="confirm_much" value="yes"' in asked.text
    assert send(marek, url, **cutting(stock=".030", confirm_much="yes")).status_code == 303
    assert cuts(database) == 1


def test_a_cut_is_taken_back_with_a_reason(marek: TestClient, url: str, database: Database) -> None:
    send(marek, url, **cutting())
    with database.read() as session:
        cut = session.exec(select(DeckCut.id)).one()
    assert send(marek, f"{url}/{cut}/take-back").status_code == 422
    assert send(marek, f"{url}/{cut}/take-back", because="the other head").status_code == 303
    assert "Nothing has come off it here." in words(marek.get(url))
    assert send(marek, f"{url}/{cut}/take-back", because="again").status_code in (404, 409)
