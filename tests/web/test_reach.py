"""By object: what someone who is gone can still open, and what a made-up address reaches."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database, now
from app.models.person import Person, SignIn
from app.models.reading import Reading
from app.services.sign_in import new_token, token_hash
from tests.web.bench import Bench, readings, send
from tests.web.conftest import HERE, Cast
from tests.web.measuring import FreshHead

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


def sends(browser: TestClient, head: FreshHead, typed_by: int, key: str) -> int:
    """A tablet sends on what someone typed on it before; how that was answered."""
    field = f"stem_height.port-{head.ports['1E'].id}.1"
    fields = {field: "1.850", f"key.{field}": key, "typed_by": str(typed_by)}
    return send(browser, head.at("stem-heights"), **fields).status_code


def test_what_waits_on_a_tablet_is_sent_by_who_may_record_it_and_names_who_typed_it(
    head: FreshHead, signed_in_as: Callable[[str], TestClient], database: Database, cast: Cast
) -> None:
    # Who may not record readings sends none for someone who may; theirs go on waiting.
    assert sends(signed_in_as("Wilma"), head, cast["Marek"], "a1") == 403
    assert sends(signed_in_as("Odile"), head, 2**31 - 1, "a2") == 409
    with database.read() as session:
        before = readings(session)
    # Whoever left since has typed it all the same; twice sent, it stands once.
    for _ in range(2):
        assert sends(signed_in_as("Odile"), head, cast["Rufus"], "a3") == 303
    with database.read() as session:
        assert readings(session) == before + 1
        row = session.exec(select(Reading).where(Reading.client_key == "a3")).one()
        assert (row.typed_by_id, row.sent_by_id) == (cast["Rufus"], cast["Odile"])


def test_what_waits_is_taken_from_nobody(
    head: FreshHead, client: TestClient, database: Database, cast: Cast
) -> None:
    fields = {"typed_by": str(cast["Marek"]), "key.a": "a1", "a": "1.850"}
    answer = send(client, head.at("stem-heights"), **fields)
    # Asked to sign in; what was typed goes along.
    assert answer.status_code == 401
    assert 'value="1.850"' in answer.text
