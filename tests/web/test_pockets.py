"""Old pockets: what is asked by what sits there now, and what it says of the bore; scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from tests.web.bench import Bench
from tests.web.measuring import FreshHead, fresh_head
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
KEEP = "Keep the readings"
RING = {"2E": "ring", "3E": "casting"}


@pytest.fixture
def head(bench: Bench) -> FreshHead:
    return fresh_head(bench, **RING)


@pytest.fixture
def marek(head: FreshHead, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek").get(head.at("pockets"))


def pocket(head: FreshHead, walk: Walk, **sizes: str) -> dict[str, str]:
    places = {"across": ("old_bore", "across"), "along": ("old_bore", "along")}
    fields = {}
    for name, size in sizes.items():
        quantity, place = places.get(name, (name, "1"))
        fields[head.names(walk, quantity, "2E", place=place)[0]] = size
    return fields


def test_a_seat_in_the_casting_is_asked_its_outside_and_the_valve_instead(
    head: FreshHead, marek: Walk
) -> None:
    assert len(marek.names("old_bore", f"port-{head.ports['2E'].id}.")) == 2
    assert marek.names("old_bore", f"port-{head.ports['3E'].id}.") == []
    head.names(marek, "seat_outside", "3E")
    head.names(marek, "valve_head", "3E")
    for quantity in ("wall", "centre_distance"):
        head.names(marek, quantity, "2E", "3E")


def test_only_positions_that_get_a_ring_are_asked(head: FreshHead, marek: Walk) -> None:
    asked = {name.split(".")[1] for name in marek.names(".port-")}
    assert asked == {f"port-{head.ports[label].id}" for label in ("2E", "3E")}


def test_what_is_missing_of_a_pocket_is_named(head: FreshHead, marek: Walk) -> None:
    marek.send(pocket(head, marek, across="1.6100", along="1.6104"), press=KEEP)
    marek.says("2E: old pocket's bore, run-out and depth (old bore run-out)")


@pytest.mark.parametrize(
    ("old", "told"), [("1.6100", "does not clean up"), ("1.6000", "spare .0070")]
)
def test_the_pocket_is_held_against_the_least_bore_of_its_ring(
    head: FreshHead, marek: Walk, old: str, told: str
) -> None:
    # Least bore 1.62115: 1.6100 leaves .0056 a side, less half the run-out and the stock .001.
    head.bench.hands.rings(
        head.job,
        [head.ports["2E"]],
        [["1.6262", "1.6260", "1.6261", "1.6263", ".2500", ".2502", ".2501", "1.376"]],
    )
    run_out = ".0100" if old == "1.6100" else ".0051"
    fields = pocket(head, marek, across=old, old_run_out=run_out, old_depth=".2480")
    marek.send(fields, press=KEEP)
    said = marek.words
    if told.startswith("spare"):
        assert "does not clean up" not in said
        assert ".0070" in said
    else:
        assert told in said


def test_wall_and_web_left_are_shown_against_the_shops_least(head: FreshHead, marek: Walk) -> None:
    head.bench.hands.rings(
        head.job,
        [head.ports["2E"], head.ports["3E"]],
        [
            ["1.6262", "1.6260", "1.6261", "1.6263", ".2500", ".2502", ".2501", "1.376"],
            ["1.6262", "1.6261", ".2501"],
        ],
    )
    fields = pocket(head, marek, across="1.6000", wall=".1050", centre_distance="1.7000")
    marek.send(fields, press=KEEP)
    # Largest bore 1.62315 opens the pocket by .0116 a side.
    marek.says("wall .0934 left, least .1000", "web .0768 left")


def test_the_next_button_leads_to_the_rings(head: FreshHead, marek: Walk) -> None:
    marek.send(press="Next: the rings")
    assert marek.url == f"/jobs/{head.job.number}/ring-sets/new"


def test_without_a_ring_to_fit_there_is_nothing_to_read(
    bench: Bench, signed_in_as: SignedInAs
) -> None:
    bench.hands.by(bench.cast.service_writer).decide(
        bench.head, {"*": "seat_only"}, {"*": "casting"}
    )
    walk = Walk(signed_in_as("Marek")).get(f"/heads/{bench.head.id}/pockets")
    walk.says("No position gets a seat ring")
