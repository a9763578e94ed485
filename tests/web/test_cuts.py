"""Cutting and gauging a position, with scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from app.db import Database
from tests.web.bench import Bench, send, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def bench(database: Database) -> Bench:
    return Bench(database)


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


def test_the_first_position_of_a_clamp_up_is_touched_on_the_map(
    bench: Bench, marek: TestClient
) -> None:
    setting = bench.set_and_clamped()
    page = marek.get(bench.at("2E", "cut"))
    assert page.status_code == 200, words(page)
    assert "Touch 2E on the head map" in words(page)
    assert "Cut for 2E and 3E only" in words(page)
    untouched = send(marek, bench.at("2E", "cut"), setting=str(setting.id))
    assert untouched.status_code == 409
    opened = send(
        marek,
        bench.at("2E", "cut"),
        setting=str(setting.id),
        touched_port=str(bench.ports["2E"].id),
    )
    assert opened.status_code == 303, words(opened)
    page = marek.get(opened.headers["location"])
    print(words(page))
    assert "Gauge it, spindle still centred" in words(page)
