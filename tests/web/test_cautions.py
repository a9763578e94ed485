"""Each caution stands on the page of its step, in the shop's words, and defers."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlmodel import select
from starlette.testclient import TestClient

from app.db import Database
from app.models.ring import RingSet
from app.workflow.cautions import CAUTIONS, CHECK, DEFERRAL, Caution
from tests.web.bench import Bench, words

SignedInAs = Callable[[str], TestClient]


@pytest.fixture
def stage() -> str:
    """2E and 3E proved: a page of every step has something to show."""
    return "bored"


HEAD: dict[str, tuple[str, ...]] = {
    "inspections": ("lifting", "hot_tank", "solvents", "pressure_test"),
    "clamp-ups/new": ("lifting",),
    "rings-out": ("old_ring",),
    "deck": ("lifting", "turning_cutter"),
    "heat": ("hot_head", "dry_ice", "liquid_nitrogen"),
    "rings-in": ("hot_head", "dry_ice", "liquid_nitrogen"),
    "finish": ("turning_cutter", "dust", "blow_off"),
    "valves": ("sodium_valve",),
}
PRESSED = ("hot_head", "pressing_guides")


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> TestClient:
    return signed_in_as("Marek")


def assert_stand(page: str, keys: tuple[str, ...]) -> None:
    for key in keys:
        one = CAUTIONS[key]
        assert f"{one.word} {one.hazard} {one.text} {DEFERRAL} Source: {one.source}" in page


@pytest.mark.parametrize("step", HEAD)
def test_each_hazard_is_told_where_it_is(bench: Bench, marek: TestClient, step: str) -> None:
    assert_stand(words(marek.get(f"/heads/{bench.head.id}/{step}")), HEAD[step])


class TestToBeCut:
    """3E is next under the cutter."""

    @pytest.fixture
    def stage(self) -> str:
        return "corrected"

    def test_the_cut_tells_of_spindle_dust_and_chips(self, bench: Bench, marek: TestClient) -> None:
        page = words(marek.get(bench.at("3E", f"cut?setting={bench.setting.id}")))
        assert_stand(page, ("turning_cutter", "dust", "blow_off"))
        assert "Beryllium copper" not in page

    def test_a_ring_of_beryllium_copper_is_told_of_before_it_is_cut_too(
        self, bench: Bench, marek: TestClient, database: Database
    ) -> None:
        with database.write() as session:
            session.exec(select(RingSet)).one().material = "beryllium_copper"
        page = words(marek.get(bench.at("3E", f"cut?setting={bench.setting.id}")))
        assert_stand(page, ("beryllium_copper",))


def test_a_guide_that_is_pressed_tells_of_the_press(bench: Bench, marek: TestClient) -> None:
    bench.hands.service_guides(bench.head, {"4I": "replaced"}, read_before="again")
    assert_stand(words(marek.get(f"/heads/{bench.head.id}/new-guides")), PRESSED)


def test_every_caution_is_on_some_page() -> None:
    shown = {key for keys in HEAD.values() for key in keys}
    assert set(CAUTIONS) == shown | set(PRESSED) | {"beryllium_copper"}


@pytest.mark.parametrize("one", CAUTIONS.values(), ids=list(CAUTIONS))
def test_a_caution_is_short_promises_nothing_and_cites_with_care(one: Caution) -> None:
    said = f"{one.word} {one.hazard} {one.text}"
    assert "safe" not in said.lower()
    assert len(said) < 240
    assert one.defer == DEFERRAL
    assert one.source
    assert ("CFR" not in one.source and "USC" not in one.source) or one.source.endswith(CHECK)


def test_the_owner_changes_a_caution_and_its_source_everywhere(
    bench: Bench, marek: TestClient, signed_in_as: SignedInAs
) -> None:
    sent = {"value": "The valves go into the red bin.", "source": "Odile, after the talk in May"}
    answer = signed_in_as("Odile").post("/shop-rules/caution_sodium_valve", data=sent)
    assert answer.status_code == 303
    page = words(marek.get(f"/heads/{bench.head.id}/valves"))
    assert "Sodium burns in water. The valves go into the red bin." in page
    assert "Source: Odile, after the talk in May." in page
    assert marek.post("/shop-rules/caution_sodium_valve", data=sent).status_code == 403
