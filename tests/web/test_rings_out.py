"""The page where old rings come out, with scripts off."""

from __future__ import annotations

from collections.abc import Callable
from html import unescape

import pytest
from starlette.testclient import TestClient

from tests.web.bench import Bench, send, words

SignedIn = Callable[[str], TestClient]


@pytest.fixture
def marek(signed_in_as: SignedIn) -> TestClient:
    """The machinist."""
    return signed_in_as("machinist")


@pytest.fixture
def had_rings(bench: Bench) -> Bench:
    """A head whose 2E and 3E had rings."""
    bench.hands.decide(
        bench.head,
        {"2E": "ring", "3E": "ring", "*": "leave"},
        {"2E": "ring", "3E": "ring", "*": "casting"},
    )
    return bench


def test_what_was_said_stands_with_the_pockets(marek: TestClient, had_rings: Bench) -> None:
    page = f"/heads/{had_rings.head.id}/rings-out"
    assert "Old ring" in words(marek.get(page))
    answer = send(marek, page, all_way="bead", all_floor="untouched")
    assert answer.headers["location"] == f"/heads/{had_rings.head.id}/pockets"
    told = words(marek.get(f"/heads/{had_rings.head.id}/pockets"))
    assert "2E weld bead, shrunk, floor untouched; 3E weld bead, shrunk, floor untouched" in told
    assert 'value="bead" selected' in marek.get(page).text


def test_half_a_word_is_asked_for_at_its_field_and_the_rest_is_kept(
    marek: TestClient, had_rings: Bench
) -> None:
    port = had_rings.ports["2E"].id
    fields = {f"way_{port}": "pulled", f"note_{port}": "two jaws"}
    answer = send(marek, f"/heads/{had_rings.head.id}/rings-out", **fields)
    assert answer.status_code == 422
    page = unescape(answer.text)
    assert "2E, floor: say what became of the floor of 2E" in page
    assert 'value="two jaws"' in page
    assert 'value="pulled" selected' in page


def test_a_head_with_seats_in_the_casting_has_no_ring_to_take_out(
    marek: TestClient, bench: Bench
) -> None:
    page = words(marek.get(f"/heads/{bench.head.id}/rings-out"))
    assert "No old seat ring has to come out" in page
