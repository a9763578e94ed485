"""By object: what someone who is gone can still open, and what a made-up address reaches."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database, now
from app.models.person import Person, SignIn
from app.services.sign_in import new_token, token_hash
from tests.web.bench import Bench
from tests.web.conftest import HERE

REACHED = ("/jobs/26-0001", "/heads/1/stem-heights", "/positions/4/cut", "/jobs/26-0001/history")


@pytest.mark.parametrize("path", REACHED)
def test_a_sign_in_that_outlived_its_person_opens_nothing_on_record(
    bench: Bench, client: TestClient, settings: object, database: Database, path: str
) -> None:
    token = new_token()
    with database.write() as session:
        rufus = session.exec(select(Person).where(Person.name == "Rufus")).one()
        session.add(
            SignIn(
                token_hash=token_hash(token),
                person_id=rufus.id,
                started_at=now(),
                last_seen=now(),
            )
        )
    client.cookies.set(settings.cookie_name, token)  # type: ignore[attr-defined]
    answer = client.get(path)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/sign-in")


@pytest.mark.parametrize("path", REACHED)
def test_a_page_on_record_is_kept_by_no_browser(
    bench: Bench, signed_in_as: Callable[[str], TestClient], path: str
) -> None:
    answer = signed_in_as("machinist").get(path)
    assert answer.status_code == 200
    assert answer.headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize("origin", [HERE.replace("http:", "https:"), "http://192.168.1.20:8137"])
def test_a_form_is_taken_where_the_shop_is_served_and_from_nowhere_else(
    client: TestClient, origin: str
) -> None:
    name = origin.split("//")[1]
    host = {"Host": name, "Origin": origin}
    own = client.post("/sign-out", headers=host)
    # A browser that is shown an address by https says more than its origin.
    assert own.status_code == (403 if name == "testserver" else 400)
    said = {"Sec-Fetch-Site": "same-origin"}
    assert client.post("/sign-out", headers=host | said).status_code == (
        303 if name == "testserver" else 400
    )
    assert client.post("/sign-out", headers={"Origin": "http://192.168.1.9"}).status_code == 403
