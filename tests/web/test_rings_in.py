"""Rings in, one by one or in one heat, with scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.port_pass import RingIn
from app.models.ring import Ring, RingSet
from tests.web.bench import Bench, send, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def stage() -> str:
    """How far the bench is; a test that starts elsewhere says so."""
    return "bored"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


@pytest.fixture
def rings(bench: Bench, database: Database) -> list[Ring]:
    with database.read() as session:
        return bench.hands.rings_of(session.exec(select(RingSet)).one())


def pressing(bench: Bench, label: str, ring: Ring, **fields: str) -> dict[str, str]:
    """The fields of one ring, pressed cold."""
    port_id = bench.ports[label].id
    own = {f"{name}.{port_id}": fields.pop(name) for name in ("od_check",) if name in fields}
    shared = {"way": "press", "feeler": "does not enter", **fields}
    return {f"in.{port_id}": "yes", f"ring.{port_id}": str(ring.id), **own, **shared}


def pressed(database: Database) -> list[int]:
    with database.read() as session:
        return list(session.exec(select(RingIn.ring_id).order_by(RingIn.id)).all())  # type: ignore[arg-type]


def test_a_ring_goes_in_and_the_page_says_which_and_how(
    bench: Bench, marek: TestClient, rings: list[Ring]
) -> None:
    page = words(marek.get(bench.at("2E", "ring-in")))
    assert "Which ring is in your hand" in page
    assert "− bore 1.62220 = interference .00395" in page
    answer = send(
        marek, bench.at("2E", "ring-in"), **pressing(bench, "2E", rings[0], od_check="1.6262")
    )
    assert answer.status_code == 303
    page = words(marek.get(bench.at("2E", "ring-in")))
    assert "2E: ring 1 is in" in page
    assert "known as ring 1, read again 1.6262" in page


def test_a_press_sent_twice_is_one_ring(
    bench: Bench, marek: TestClient, rings: list[Ring], database: Database
) -> None:
    for _ in range(2):
        answer = send(
            marek, bench.at("2E", "ring-in"), key="f" * 32, **pressing(bench, "2E", rings[0])
        )
        assert answer.status_code == 303
    late = send(marek, bench.at("2E", "ring-in"), **pressing(bench, "2E", rings[1]))
    assert late.status_code == 409
    assert "has its ring in already" in words(late)
    assert pressed(database) == [rings[0].id]


def test_a_ring_that_reads_otherwise_is_not_the_ring_that_was_measured(
    bench: Bench, marek: TestClient, rings: list[Ring], database: Database
) -> None:
    answer = send(
        marek, bench.at("2E", "ring-in"), **pressing(bench, "2E", rings[0], od_check="1.6270")
    )
    assert answer.status_code == 422
    assert "Is it the ring that was measured?" in words(answer)
    assert 'value="1.6270"' in answer.text
    assert 'value="does not enter" checked' in answer.text
    assert pressed(database) == []


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"od_check": "sixteen"}, "'sixteen'"),
        ({"od_check": "1.6262 mm"}, "Was it typed in another unit?"),
        ({"way": ""}, "Say how it went in."),
        ({"feeler": ""}, "Say what the feeler found"),
        ({"head_c": "warm"}, "must be a number"),
        ({"head_c": "900"}, "must be from -30 to 300"),
    ],
)
def test_what_cannot_be_is_named_at_its_field_and_nothing_is_stored(
    bench: Bench,
    marek: TestClient,
    rings: list[Ring],
    database: Database,
    wrong: dict[str, str],
    told: str,
) -> None:
    answer = send(marek, bench.at("2E", "ring-in"), **pressing(bench, "2E", rings[0], **wrong))
    assert answer.status_code == 422
    assert told in words(answer)
    assert pressed(database) == []


def test_rings_of_one_heat_are_recorded_together_or_not_at_all(
    bench: Bench, marek: TestClient, rings: list[Ring], database: Database
) -> None:
    url = f"/heads/{bench.head.id}/rings-in"
    assert "fit all in one heat" in words(marek.get(url))
    both = pressing(bench, "2E", rings[0]) | pressing(bench, "3E", rings[0])
    refused = send(marek, url, **both)
    assert refused.status_code == 422
    assert "Ring 1 went into 2E already. Choose another." in words(refused)
    assert pressed(database) == []
    both = pressing(bench, "2E", rings[0]) | pressing(bench, "3E", rings[1])
    answer = send(marek, url, **both)
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/heads/{bench.head.id}/finish"
    assert pressed(database) == [rings[0].id, rings[1].id]


def test_a_position_whose_ring_is_not_chosen_is_left_for_later(
    bench: Bench, marek: TestClient, rings: list[Ring], database: Database
) -> None:
    fields = pressing(bench, "2E", rings[0])
    del fields[f"in.{bench.ports['2E'].id}"]
    fields[f"ring.{bench.ports['3E'].id}"] = ""
    answer = send(marek, f"/heads/{bench.head.id}/rings-in", **fields)
    assert answer.status_code == 303
    assert pressed(database) == [rings[0].id]
    none = send(marek, f"/heads/{bench.head.id}/rings-in", way="press", feeler="enters")
    assert none.status_code == 422
    assert "Choose the rings that went in" in words(none)


def test_cautions_stand_at_the_step_where_the_hazard_is(bench: Bench, marek: TestClient) -> None:
    page = words(marek.get(bench.at("2E", "ring-in")))
    for hazard in ("Hot head", "Liquid nitrogen", "Dry ice"):
        assert hazard in page
    assert "Beryllium copper" not in page
    assert "local codes and licensed practice come first" in page


def test_a_caution_says_what_the_shop_wrote_of_it(
    bench: Bench, marek: TestClient, signed_in_as: Callable[[str], TestClient]
) -> None:
    sent = {"value": "The long tongs hang by the oven.", "source": "Odile"}
    answer = signed_in_as("Odile").post("/shop-rules/caution_hot_head", data=sent)
    assert answer.status_code == 303
    page = words(marek.get(bench.at("2E", "ring-in")))
    assert "burns long after it stops looking hot. The long tongs hang by the oven." in page


def test_rings_of_beryllium_copper_carry_their_own_caution(
    bench: Bench, marek: TestClient, database: Database
) -> None:
    with database.write() as session:
        ring_set = session.exec(select(RingSet)).one()
        ring_set.material = "Beryllium-copper"
        session.add(ring_set)
    assert "Its dust causes lasting lung disease" in words(marek.get(bench.at("2E", "ring-in")))


def test_a_ring_comes_out_again_with_a_reason_and_stays_on_record(
    bench: Bench, marek: TestClient, rings: list[Ring], database: Database
) -> None:
    send(marek, bench.at("2E", "ring-in"), **pressing(bench, "2E", rings[0]))
    silent = send(marek, bench.at("2E", "ring-out"))
    assert silent.status_code == 422
    assert "Say why it came out" in words(silent)
    answer = send(marek, bench.at("2E", "ring-out"), because="it sat crooked")
    assert answer.status_code == 303
    assert "Which ring is in your hand" in words(marek.get(bench.at("2E", "ring-in")))
    with database.read() as session:
        assert [row.withdrawn for row in session.exec(select(RingIn))] == [False, True]


def test_heights_after_pressing_are_kept_with_the_ring(
    bench: Bench, marek: TestClient, rings: list[Ring]
) -> None:
    page = marek.get(bench.at("2E", "ring-in"))
    name = page.text.split('name="down_height.')[1].split('"')[0]
    fields = pressing(bench, "2E", rings[0]) | {f"down_height.{name}": ".001"}
    assert send(marek, bench.at("2E", "ring-in"), **fields).status_code == 303
    assert "Heights after pressing: .001" in words(marek.get(bench.at("2E", "ring-in")))


@pytest.mark.parametrize("stage", ["set"])
def test_a_bore_that_is_not_proved_lists_what_is_open(
    bench: Bench, marek: TestClient, rings: list[Ring]
) -> None:
    page = marek.get(bench.at("2E", "ring-in"))
    assert "2E: not yet" in words(page)
    assert f'href="{bench.at("2E", "cut")}"' in page.text
    answer = send(marek, bench.at("2E", "ring-in"), **pressing(bench, "2E", rings[0]))
    assert answer.status_code == 409
    assert "Still open before the ring goes in" in words(answer)


@pytest.mark.parametrize("stage", ["bored"])
def test_a_form_sent_back_stays_with_the_browser_so_that_its_back_button_works(
    bench: Bench, marek: TestClient
) -> None:
    url = bench.at("2E", "ring-in")
    assert marek.get(url).headers["cache-control"] == "no-store"
    refused = send(marek, url)
    assert refused.status_code == 422
    assert refused.headers["cache-control"] == "private, no-cache"


@pytest.mark.parametrize("stage", ["corrected"])
def test_what_can_go_in_stands_before_what_cannot_and_the_next_step_always_has_a_button(
    bench: Bench, marek: TestClient, rings: list[Ring]
) -> None:
    bench.bore("2E", bench.setting, "1.6222")
    bench.hands.prove(bench.ports["2E"])
    url = f"/heads/{bench.head.id}/rings-in"
    told = words(marek.get(url))
    assert told.index("Which ring is in your hand") < told.index("Not yet: 3E")
    assert "one heat" not in told  # only one is left to go in
    bench.hands.press(bench.ports["2E"], rings[0])
    told = words(marek.get(url))
    assert told.index("In already") < told.index("Not yet: 3E")
    assert "Next for 3E" in told
