"""How deep valves lie, where contacts are wanted, and figures that cannot be; scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from app.services.shop_rules import set_rule
from app.workflow.words import Kind
from tests.web.bench import Bench
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
KEEP = "Keep the readings"
WANTED = {
    "seat_angle": "45",
    "top_angle": "30",
    "throat_angle": "60",
    "width_wanted": ".070",
    "outer_wanted": "1.520",
    "valve_head": "1.560",
    "valve_angle": "44",
    "source": "the engine's manual",
}


@pytest.fixture
def stage() -> str:
    return "ringed"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek")


def at(bench: Bench, page: str) -> str:
    return f"/heads/{bench.head.id}/{page}"


def read(bench: Bench, label: str, **sizes: str) -> dict[str, str]:
    port = bench.ports[label].id
    return {f"{quantity}.port-{port}.1": size for quantity, size in sizes.items()}


def sunk(bench: Bench, marek: Walk, before: str, after: str) -> None:
    """3E read below the deck as it came in, and now."""
    bench.hands.below_deck(bench.head, {"3E": before})
    marek.get(at(bench, "finish")).follow("Valves below the deck")
    marek.send(read(bench, "3E", recession=after), press=KEEP)


def test_a_valve_is_read_below_the_deck_as_it_came_in_and_after(bench: Bench, marek: Walk) -> None:
    sunk(bench, marek, ".031", ".035")
    assert marek.url.endswith("/finish?of=deck")
    marek.says("+.0040", "came in .0310", "1 reading kept")


def test_a_valve_that_stands_proud_of_the_deck_is_typed_with_a_minus(
    bench: Bench, marek: Walk
) -> None:
    sunk(bench, marek, "-.020", "-.016")
    marek.says("+.0040", "came in -.0200", "with a minus where it stands proud")
    marek.get(at(bench, "finish?of=deck"))
    assert 'inputmode="text"' in marek.text
    marek.get(at(bench, "inspections")).says("1 of 8 read, all proud, least .020 in at 3E")


def test_one_that_lies_too_deep_is_asked_about_before_anything_is_cut(
    bench: Bench, marek: Walk
) -> None:
    marek.get(at(bench, "stem-heights?below=deck"))
    marek.send(read(bench, "3E", recession=".062"), press=KEEP)
    marek.says("more than .0600 below the deck", "9 readings kept")


def test_the_stem_is_held_against_what_sinking_and_tip_say(bench: Bench, marek: Walk) -> None:
    bench.hands.finish(bench.head, {"3E": [".062", ".0010", "1.860"]})
    sunk(bench, marek, ".031", ".035")
    marek.get(at(bench, "finish"))
    marek.says("stem stands .0060 higher than sinking and tip say, 1.8540")
    marek.get(at(bench, "valves"))
    marek.says("sunk .0040 since it came in, its spring as much longer")
    marek.says("How the stem should stand for it")


def test_a_new_valve_has_another_length_so_its_stem_is_not_held_against_the_old_one(
    bench: Bench, marek: Walk
) -> None:
    bench.hands.finish(bench.head, {"3E": [".062", ".0010", "1.860"]})
    sunk(bench, marek, ".031", ".035")
    marek.get(at(bench, "valves"))
    marek.send({f"valve_{bench.ports['3E'].id}": "new"}, press=KEEP)
    marek.says("sunk .0040 since it came in, with its new valve")
    assert "sinking and tip say" not in marek.words


def test_the_shops_own_depth_wins(bench: Bench, marek: Walk) -> None:
    with bench.hands.by(bench.cast.owner).writing() as tx:
        set_rule(tx, "recession_limit", ".030 in", "our own habit")
    sunk(bench, marek, ".020", ".031")
    marek.says("more than .0300 below the deck")


def test_a_seat_wider_than_its_ring_is_refused_and_stays_as_typed(
    bench: Bench, marek: Walk
) -> None:
    marek.get(at(bench, "finish"))
    marek.send(read(bench, "3E", seat_width=".200", run_out=".001"), press=KEEP, status=422)
    marek.says("3E, seat width: .200 is wider than its seat ring, .1769 along a slope of 45°")
    port = bench.ports["3E"].id
    typed = [each for form in marek.forms for each in form.named(f"seat_width.port-{port}.1")]
    assert [each.value for each in typed] == [".200"]


def test_a_width_outside_the_shops_is_kept_and_asked_about(bench: Bench, marek: Walk) -> None:
    marek.get(at(bench, "finish"))
    marek.send(read(bench, "3E", seat_width=".120"), press=KEEP)
    marek.says("width outside .050 to .100", "1 reading kept")


def test_a_stem_taller_than_its_valve_is_refused(bench: Bench, marek: Walk) -> None:
    marek.get(at(bench, "valves"))
    marek.send(read(bench, "3E", valve_length="4.920"), press=KEEP)
    marek.get(at(bench, "finish"))
    marek.send(read(bench, "3E", stem_after="5.000"), press=KEEP, status=422)
    marek.says("3E, stem height after: 5.000 is taller than its valve, 4.9200 long")


def test_a_valve_shorter_than_its_stem_stands_is_refused(bench: Bench, marek: Walk) -> None:
    marek.get(at(bench, "valves"))
    marek.send(read(bench, "3E", valve_length="1.800"), press=KEEP, status=422)
    marek.says("3E, length: 1.800 is shorter than its stem stands, 1.8500")


def test_the_least_length_of_the_book_bounds_what_a_tip_may_lose(bench: Bench, marek: Walk) -> None:
    marek.get(at(bench, "valves"))
    book = {f"valve_length.head-{bench.head.id}.exhaust": "4.917"}
    sizes = read(bench, "3E", valve_length="4.920", tip_ground=".002")
    marek.send(book | sizes, press=KEEP)
    marek.says("tip: .0030 may still come off")
    marek.send(read(bench, "3E", valve_length="4.915"), press=KEEP)
    marek.says("valve .0020 under its least length")


def test_a_contact_is_held_against_where_it_is_wanted(bench: Bench, marek: Walk) -> None:
    bench.hands.plan_seats(bench.head, Kind.EXHAUST, **WANTED)
    marek.get(at(bench, "finish")).follow("Contact on the valves")
    marek.says("Wanted, exhaust: .0700 wide, .0283 from the edge")
    marek.send(read(bench, "3E", contact_width=".066", contact_from_edge=".020"), press=KEEP)
    marek.says(".0040 narrower than wanted", ".0083 nearer the edge than wanted")
    assert ("cuts", f"/positions/{bench.ports['3E'].id}/seat") in marek.links


def test_a_contact_wider_than_its_seat_is_asked_about(bench: Bench, marek: Walk) -> None:
    bench.hands.finish(bench.head, {"3E": [".062", ".0010", "1.850"]})
    marek.get(at(bench, "valves?of=contact"))
    marek.send(read(bench, "3E", contact_width=".080"), press=KEEP)
    marek.says("contact wider than its seat: read both again")


def test_the_job_page_leads_to_valves_vacuum_and_chambers(bench: Bench, marek: Walk) -> None:
    marek.get(f"/jobs/{bench.job.number}")
    for words, page in (
        ("Valves and springs", "valves"),
        ("Vacuum test", "vacuum"),
        ("Chamber volumes", "chambers"),
    ):
        assert (words, at(bench, page)) in marek.links
