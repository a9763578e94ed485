"""Programs that read the record with a key of the owner's."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from sqlmodel import col, func, select
from starlette.testclient import TestClient

from app.api.records.access import REVOKED, UNKNOWN
from app.db import Database
from app.models.api_key import ApiKey
from app.models.event import Event
from app.services.api_keys import PREFIX
from tests.web.bench import Bench, words
from tests.web.route_table import KEYED

SignedInAs = Callable[[str], TestClient]
KEY = re.compile(rf'<p class="fig">({PREFIX}[\w-]+)</p>')
RINGED = pytest.mark.parametrize("stage", ["ringed"])


def issued(owner: TestClient, name: str = "Bookkeeping") -> str:
    found = KEY.search(owner.post("/api-keys", data={"name": name}).text)
    assert found is not None
    return found[1]


def carrying(key: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {key}"}


def test_a_key_is_shown_once_and_kept_as_a_hash(
    signed_in_as: SignedInAs, database: Database
) -> None:
    owner = signed_in_as("owner")
    sent = {"name": "Wall display", "client_key": "a" * 32}
    key = KEY.search(owner.post("/api-keys", data=sent).text)
    assert key is not None
    again = owner.post("/api-keys", data=sent)
    assert KEY.search(again.text) is None
    assert "was issued by this form already" in words(again)
    assert key[1] not in owner.get("/api-keys").text
    with database.read() as session:
        (row,) = session.exec(select(ApiKey)).all()
        bodies = " ".join(session.exec(select(Event.body)))
    assert key[1] not in (row.key_hash, bodies)
    assert owner.post("/api-keys", data={"name": "Wall display"}).status_code == 409


@RINGED
def test_a_program_reads_jobs_positions_and_figures(
    bench: Bench, signed_in_as: SignedInAs, client: TestClient, database: Database
) -> None:
    ask = carrying(issued(signed_in_as("owner")))
    with database.read() as session:
        events = session.exec(select(func.count(col(Event.id)))).one()
    number = bench.job.number
    jobs = client.get("/api/v1/jobs?state=open&limit=1", headers=ask).json()
    assert [job["number"] for job in jobs["jobs"]] == [number]
    assert jobs["next"] is None
    assert client.get("/api/v1/jobs?state=ended", headers=ask).json()["jobs"] == []
    whole = client.get(f"/api/v1/jobs/{number}", headers=ask).json()
    assert whole["job"]["number"] == number
    page = client.get(f"/api/v1/positions?job={number}&limit=5", headers=ask).json()
    rest = client.get(f"/api/v1/positions?after={page['next']}", headers=ask).json()
    labels = [each["label"] for each in (*page["positions"], *rest["positions"])]
    assert labels == list(bench.ports)
    port = bench.ports["3E"]
    one = client.get(f"/api/v1/positions/{port.id}", headers=ask).json()["position"]
    assert one["job"] == number
    assert one["passes"][0]["verifications"][0]["interference"]["nm"] > 0
    assert one["passes"][0]["reading_sets"][0]["readings"]
    figures = client.get("/api/v1/figures", headers=ask).json()["figures"]
    figure = client.get(
        f"/api/v1/figures/{figures[0]['key']}?from=2026-01&to=2026-02", headers=ask
    ).json()
    assert (figure["from"], figure["count"]) == ("2026-01", 0)
    with database.read() as session:
        assert session.exec(select(func.count(col(Event.id)))).one() == events
        assert session.exec(select(ApiKey.last_used_at)).one() is not None


def test_what_cannot_be_answered_is_said_in_the_words_of_the_pages(
    signed_in_as: SignedInAs, client: TestClient, database: Database
) -> None:
    owner = signed_in_as("owner")
    ask = carrying(issued(owner))

    def message(path: str, status: int, headers: dict[str, str]) -> str:
        answer = client.get(path, headers=headers)
        assert answer.status_code == status
        told: str = answer.json()["errors"][0]["message"]
        return told

    missing = message("/api/v1/jobs/26-0999", 404, ask)
    assert missing in words(owner.get("/jobs/26-0999"))
    message("/api/v1/jobs?limit=0", 404, ask)
    assert "is before the day" in message(
        "/api/v1/jobs?since=2026-05-02&until=2026-05-01", 422, ask
    )
    assert client.post("/api/v1/jobs", headers=ask).status_code in (403, 405)
    assert message("/api/v1/jobs", 401, carrying("x")) == UNKNOWN
    with database.read() as session:
        key_id = session.exec(select(ApiKey.id)).one()
    assert owner.post(f"/api-keys/{key_id}/revoke").status_code == 303
    assert message("/api/v1/jobs", 403, ask) == REVOKED
    for _ in range(12):
        client.get("/api/v1/jobs", headers=carrying("x"))
    assert "Wait" in message("/api/v1/jobs", 429, carrying("y"))


def test_each_address_is_described_with_its_key_and_its_answers(client: TestClient) -> None:
    described = client.get("/openapi.json").json()
    for route in KEYED:
        told = described["paths"][route.removeprefix("GET ")]["get"]
        assert told["security"] == [{"HTTPBearer": []}]
        assert {"200", "401", "403", "404", "422", "429"} <= set(told["responses"])
