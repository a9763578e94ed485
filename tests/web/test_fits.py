"""What a fit would do, on the pages beside its working: words first, never a verdict."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.ring import RingSet
from tests.web.bench import Bench, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def stage() -> str:
    """How far the bench is; a test that starts elsewhere says so."""
    return "set"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


def of_steel(database: Database) -> RingSet:
    """The rings are of a kind whose figures are known."""
    with database.write() as session:
        ring_set = session.exec(select(RingSet)).one()
        ring_set.material = "chromium_steel"
        session.add(ring_set)
    return ring_set


def fits(page: str) -> list[str]:
    return re.findall(r'<section class="card fit">.*?</section>', page, flags=re.S)


def test_a_ring_set_tells_its_fit_once_in_words_then_drawn_then_worked(
    database: Database, marek: TestClient
) -> None:
    ring_set = of_steel(database)
    (card,) = fits(marek.get(f"/ring-sets/{ring_set.id}").text)
    sentences, picture, folded = (card.index(one) for one in ("<p>", "<figure", "<details"))
    assert sentences < picture < folded
    assert "What the fit would do, 2E and 3E" in card
    assert "by the aim, .00400" in card
    assert "Heat would tighten it (hard)" in card
    assert "From a freezer at −18 °C, into a head at 20 °C, it would have to be pressed" in card
    assert re.search(r'aria-label="Interference in inch: cold, 20 °C \.0040; cold start', card)
    assert "neither a press setting nor a pass" in card


def test_a_setting_tells_the_fit_of_the_positions_it_is_made_for(
    bench: Bench, database: Database, marek: TestClient
) -> None:
    of_steel(database)
    (card,) = fits(marek.get(f"/settings/{bench.setting.id}").text)
    assert "What the fit would do, 2E and 3E" in card


def test_a_position_to_be_cut_has_one_line_by_the_aim(
    bench: Bench, database: Database, marek: TestClient
) -> None:
    of_steel(database)
    (card,) = fits(marek.get(bench.at("2E", "cut")).text)
    on_page, folded = card.split("<details", 1)
    assert on_page.count("<p") == 1
    assert "Heat would tighten it" in on_page
    assert "MPa" not in on_page
    assert "by the aim, .00400" in folded
    assert "MPa" in folded


@pytest.mark.parametrize("stage", ["bored"])
def test_a_bore_that_is_proved_is_told_as_measured(
    bench: Bench, database: Database, marek: TestClient
) -> None:
    of_steel(database)
    (card,) = fits(marek.get(bench.at("2E", "cut")).text)
    assert "by .00395 as measured" in card


@pytest.mark.parametrize("stage", ["bored"])
def test_the_rings_in_page_says_how_they_would_go_in(
    bench: Bench, database: Database, marek: TestClient
) -> None:
    of_steel(database)
    page = words(marek.get(f"/heads/{bench.head.id}/rings-in"))
    assert "How they would go in explained, not a step to follow" in page
    assert "From a freezer at −18 °C, into a head at 20 °C, it would have to be pressed" in page
    one = words(marek.get(bench.at("2E", "ring-in")))
    assert "How it would go in" in one


@pytest.mark.parametrize("stage", ["bored"])
def test_the_owners_cap_and_chill_hold_on_the_rings_in_page(
    bench: Bench, database: Database, marek: TestClient, signed_in_as: SignedInAs
) -> None:
    of_steel(database)
    odile = signed_in_as("owner")
    for key, value in (("head_c_cap_iron", "80"), ("chill", "dry_ice")):
        answer = odile.post(f"/shop-rules/{key}", data={"value": value, "source": "Odile"})
        assert answer.status_code == 303
    page = words(marek.get(f"/heads/{bench.head.id}/rings-in"))
    assert "From dry ice at −78.5 °C" in page
    assert "Even at 80 °C, the most that a head is heated to here" in page


def test_rings_without_figures_say_which_are_needed_and_where_to_write_them(
    database: Database, marek: TestClient
) -> None:
    with database.read() as session:
        ring_set = session.exec(select(RingSet)).one()
    (card,) = fits(marek.get(f"/ring-sets/{ring_set.id}").text)
    assert "with its maker&#39;s expansion figure" in card
    assert "<figure" not in card
    assert f'href="/ring-sets/{ring_set.id}/edit"' in card


def test_a_heat_case_of_the_shop_is_drawn_beside_the_assumed_ones(
    database: Database, marek: TestClient, signed_in_as: SignedInAs
) -> None:
    ring_set = of_steel(database)
    case = {
        "metal": "iron",
        "kind": "E",
        "name": "generator",
        "ring_c": "350",
        "head_c": "220",
        "source": "Odile",
    }
    assert signed_in_as("owner").post("/shop-rules/heat-cases", data=case).status_code == 303
    (card,) = fits(marek.get(f"/ring-sets/{ring_set.id}").text)
    assert '<span class="fit-name">generator</span>' in card


@pytest.mark.parametrize("stage", ["set", "bored"])
def test_a_fit_changes_no_button_and_no_colour(
    bench: Bench, database: Database, marek: TestClient
) -> None:
    """The page is the same with and without what is known of the ring, but for the fit itself."""
    path = bench.at("2E", "cut")
    before = marek.get(path).text
    of_steel(database)
    after = marek.get(path).text
    assert fits(before) != fits(after)
    assert _without_the_fit(before) == _without_the_fit(after)
    for name in ("sure", "stop", "hold", "brass", "note"):
        assert not re.search(rf'class="[^"]*\b{name}\b', "".join(fits(after)))


def _without_the_fit(page: str) -> str:
    rest = re.sub(r'<section class="card fit">.*?</section>', "", page, flags=re.S)
    return re.sub(r'value="[0-9a-f]{32}"', "", rest)
