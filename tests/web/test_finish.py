"""Seats finished: asked once the ring is in; scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from tests.web.bench import Bench
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
KEEP = "Keep the readings"


@pytest.fixture
def stage() -> str:
    """How far the bench is; a test that starts elsewhere says so."""
    return "ringed"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek").get(f"/heads/{bench.head.id}/finish")


def row(bench: Bench, label: str, width: str, run_out: str, stem: str) -> dict[str, str]:
    port = bench.ports[label].id
    sizes = {"seat_width": width, "run_out": run_out, "stem_after": stem}
    return {f"{quantity}.port-{port}.1": size for quantity, size in sizes.items()}


@pytest.mark.parametrize("stage", ["bored"])
def test_a_position_whose_ring_is_not_in_is_not_asked_yet(bench: Bench, marek: Walk) -> None:
    marek.says("Not asked yet: 2E , 3E .", "The ring is not in")
    assert ("3E", f"/positions/{bench.ports['3E'].id}/ring-in") in marek.links
    assert marek.names(f"port-{bench.ports['3E'].id}.") == []
    assert len(marek.names(f"port-{bench.ports['1E'].id}.")) == 3


def test_with_the_ring_in_it_is_asked_along_the_head(bench: Bench, marek: Walk) -> None:
    ports = [bench.ports[each].id for each in ("1E", "1I", "2I", "2E", "3E", "3I", "4I")]
    assert marek.names("seat_width") == [f"seat_width.port-{port}.1" for port in ports]
    assert "Not asked yet" not in marek.words


def test_the_stem_is_held_against_what_it_was(bench: Bench, marek: Walk) -> None:
    marek.send(row(bench, "3E", ".062", ".0010", "1.853"), press=KEEP)
    marek.says("+.0030", "3 readings kept")
    assert "run-out over" not in marek.words


def test_the_height_it_came_in_with_stands_beside_the_field(bench: Bench, marek: Walk) -> None:
    marek.get(f"/heads/{bench.head.id}/finish").says("stem moved", "came in 1.8500")


def test_a_run_out_over_the_shops_limit_is_said_and_kept(bench: Bench, marek: Walk) -> None:
    marek.send(row(bench, "3E", ".062", ".0030", "1.850"), press=KEEP)
    marek.says("run-out over .0020", "3 readings kept")


def test_what_is_open_is_named_and_the_next_button_leads_to_the_signature(
    bench: Bench, marek: Walk
) -> None:
    marek.send(row(bench, "3E", ".062", ".0010", ""), press="Next: sign")
    assert marek.url == f"/jobs/{bench.job.number}/sign"
    marek.get(f"/heads/{bench.head.id}/finish")
    marek.says(
        "1E, 1I, 2I, 2E, 3E, 3I and 4I: stem height after", "1E, 1I, 2I, 2E, 3I and 4I: seat width"
    )


def test_a_width_that_cannot_be_comes_back_at_its_field(bench: Bench, marek: Walk) -> None:
    marek.send(row(bench, "3E", "62", ".0010", "1.850"), press=KEEP, status=422)
    marek.says("3E, seat width: 62")


def test_the_counter_does_not_finish_seats(bench: Bench, signed_in_as: SignedInAs) -> None:
    wilma = signed_in_as("Wilma")
    page = f"/heads/{bench.head.id}/finish"
    assert wilma.get(page).status_code == 200
    assert wilma.post(page, data={"client_key": "k"}).status_code == 403
