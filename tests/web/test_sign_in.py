"""Signing in: a name, a PIN, waits, takeovers, ends."""

from __future__ import annotations

from collections.abc import Callable

from starlette.testclient import TestClient

from tests.web.conftest import Cast


def test_a_name_and_its_pin_sign_in(client: TestClient, cast: Cast) -> None:
    names = client.get("/sign-in").text
    assert f"/sign-in/{cast['Marek']}" in names
    assert "Marek" in names
    assert client.get(f"/sign-in/{cast['Marek']}").status_code == 200
    answer = client.post(f"/sign-in/{cast['Marek']}", data={"pin": cast.pins["Marek"]})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert client.get("/").headers["location"] == "/bench"


def test_each_role_starts_at_its_own_home(signed_in_as: Callable[[str], TestClient]) -> None:
    homes = {"service_writer": "/counter", "machinist": "/bench", "owner": "/office"}
    for role, home in homes.items():
        assert signed_in_as(role).get("/").headers["location"] == home
