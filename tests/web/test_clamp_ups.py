"""Clamping a head up, with scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.setting import ClampUp, ClampUpTurn
from tests.web.bench import Bench, send, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


def fields(bench: Bench, **changes: str) -> dict[str, str]:
    return {
        "machine": str(bench.machine.id),
        "datum": "deck",
        "touch_off": ".3120",
        "travel": "1.5",
        "level": "two axes, end for end",
        "turned": "90",
        **changes,
    }


def clamp_ups(database: Database) -> list[ClampUp]:
    with database.read() as session:
        return list(session.exec(select(ClampUp)).all())


def test_a_clamp_up_is_kept_with_its_datum_and_how_the_head_lies(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    url = f"/heads/{bench.head.id}/clamp-ups"
    page = marek.get(f"{url}/new?back=/positions/1/cut")
    assert "Depth is measured from" in words(page)
    assert 'name="datum" value="deck" checked' not in page.text  # a required choice
    answer = send(marek, url, **fields(bench, deck_stock=".008", back=bench.at("2E", "cut")))
    assert answer.status_code == 303
    assert answer.headers["location"] == bench.at("2E", "cut")
    made = clamp_ups(database)[0]
    assert made.datum == "deck"
    assert made.deck_stock is not None
    assert made.deck_stock.inches(4) == ".0080"
    with database.read() as session:
        assert session.exec(select(ClampUpTurn.turned)).all() == [90]


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"datum": ""}, "Choose the surface that depth is measured from."),
        ({"machine": ""}, "Choose the machine."),
        ({"machine": "999"}, "Choose the machine from the crib."),
        ({"touch_off": ""}, "Type where the tool touches that surface."),
        ({"touch_off": "3.1.2"}, "'3.1.2'"),
        ({"travel": "1500"}, "Was it typed in another unit?"),
        ({"level": ""}, "Say how it was levelled"),
        ({"datum": "chamber_roof", "deck_stock": ".008"}, "only when depth is measured from"),
    ],
)
def test_what_is_missing_or_cannot_be_is_named_and_the_rest_is_kept(
    bench: Bench, marek: TestClient, database: Database, wrong: dict[str, str], told: str
) -> None:
    answer = send(marek, f"/heads/{bench.head.id}/clamp-ups", **fields(bench, **wrong))
    assert answer.status_code == 422
    assert told in words(answer)
    if "level" not in wrong:
        assert 'value="two axes, end for end"' in answer.text
    assert clamp_ups(database) == []


def test_a_form_sent_twice_is_one_clamp_up(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    for _ in range(2):
        answer = send(marek, f"/heads/{bench.head.id}/clamp-ups", key="9" * 32, **fields(bench))
        assert answer.status_code == 303
    assert len(clamp_ups(database)) == 1


def test_deck_stock_still_to_come_off_makes_the_stop_deeper(
    bench: Bench, marek: TestClient
) -> None:
    bench.read_rings()
    bench.set_up()
    send(marek, f"/heads/{bench.head.id}/clamp-ups", **fields(bench, deck_stock=".008"))
    assert ".5701" in words(marek.get(bench.at("2E", "cut")))  # .3120 + .2501 + .0080


def test_a_clamp_up_leads_nowhere_outside_the_shop(bench: Bench, marek: TestClient) -> None:
    answer = send(
        marek,
        f"/heads/{bench.head.id}/clamp-ups",
        **fields(bench, back="//elsewhere.example/positions/1/cut"),
    )
    assert answer.headers["location"] == "/bench"


@pytest.mark.parametrize("stage", ["corrected"])
def test_level_is_never_filled_in_for_a_check_that_nobody_made(
    bench: Bench, marek: TestClient
) -> None:
    page = marek.get(f"/heads/{bench.head.id}/clamp-ups/new")
    assert 'name="level" type="text" value=""' in page.text
    assert '<option value="two axes, within one division">' in page.text


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_clamped_head_goes_on_at_the_position_its_set_cutter_waits_for(
    bench: Bench, marek: TestClient
) -> None:
    answer = send(marek, f"/heads/{bench.head.id}/clamp-ups", **fields(bench))
    setting = bench.setting
    assert answer.headers["location"] == f"{bench.at('2E', 'cut')}?setting={setting.id}"


@pytest.mark.parametrize("stage", ["corrected"])
def test_a_head_that_would_come_off_the_machine_is_named_before_it_does(
    bench: Bench, marek: TestClient
) -> None:
    job = bench.hands.take_in(customer="Mill Lane Farm", wanted="two seats")
    other = bench.hands.heads(job)[0]
    page = words(marek.get(f"/heads/{other.id}/clamp-ups/new"))
    assert f"{bench.job.number} is on the Seat-and-guide machine." in page
    assert "its touch-off is over" in page
    own = words(marek.get(f"/heads/{bench.head.id}/clamp-ups/new"))
    assert "is on the" not in own
