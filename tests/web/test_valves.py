"""Valves and springs along the head; scripts off."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from app.db import Database
from app.services.shop_rules import set_rule
from tests.web.bench import Bench, events
from tests.web.pages import Walk

SignedInAs = Callable[[str], TestClient]
KEEP = "Keep the readings"


@pytest.fixture
def stage() -> str:
    return "ringed"


@pytest.fixture
def marek(bench: Bench, signed_in_as: SignedInAs) -> Walk:
    return Walk(signed_in_as("Marek"), "Marek").get(f"/heads/{bench.head.id}/valves")


def read(bench: Bench, label: str, **sizes: str) -> dict[str, str]:
    port = bench.ports[label].id
    return {f"{quantity}.port-{port}.1": size for quantity, size in sizes.items()}


def book(bench: Bench, kind: str, size: str) -> dict[str, str]:
    return {f"spring_height.head-{bench.head.id}.{kind}": size}


def state(bench: Bench, label: str, word: str) -> dict[str, str]:
    return {f"valve_{bench.ports[label].id}": word}


def chosen(walk: Walk, name: str) -> str:
    """Which of the words on a valve the page shows."""
    controls = [each for form in walk.forms for each in form.named(name)]
    return next((each.value for each in controls if each.kind == "radio" and each.is_on), "")


def test_every_valve_is_asked_also_one_that_is_left_alone(bench: Bench, marek: Walk) -> None:
    ports = [port.id for port in bench.ports.values()]
    assert marek.names("valve_margin") == [f"valve_margin.port-{port}.1" for port in ports]


def test_the_shim_is_what_was_read_less_the_book_that_was_typed_once(
    bench: Bench, marek: Walk
) -> None:
    marek.send(book(bench, "exhaust", "1.800"), press=KEEP)
    marek.send(read(bench, "3E", spring_height="1.830"), press=KEEP)
    marek.says("shim to the book: .0300", "Shim to the book height")
    marek.send(read(bench, "3E", spring_shim=".015"), press=KEEP)
    marek.says("with its shims .0150 over the book")
    assert "off its book by" not in marek.words


def test_an_intake_is_not_held_against_the_exhausts_book(bench: Bench, marek: Walk) -> None:
    marek.send(
        book(bench, "exhaust", "1.800") | read(bench, "3I", spring_height="1.830"), press=KEEP
    )
    assert "shim to the book:" not in marek.words


def test_more_shims_than_the_shop_puts_under_a_spring_are_asked_about(
    bench: Bench, marek: Walk
) -> None:
    sizes = read(bench, "3E", spring_height="1.900", spring_shim=".075")
    marek.send(book(bench, "exhaust", "1.800") | sizes, press=KEEP)
    marek.says("shims over .0600", "spring off its book by more than .0200", "3 readings kept")


def test_how_the_stem_stands_is_told_with_what_its_tip_may_still_lose(
    bench: Bench, marek: Walk
) -> None:
    bench.hands.finish(bench.head, {"3E": [".062", ".0010", "1.853"]})
    marek.get(f"/heads/{bench.head.id}/valves")
    marek.says("stem 1.8500 → 1.8530, .0030 higher", "tip: .0100 may still come off")


def test_a_stem_that_stands_higher_than_its_tip_may_lose_is_asked_about(
    bench: Bench, marek: Walk
) -> None:
    bench.hands.finish(bench.head, {"3E": [".062", ".0010", "1.865"]})
    marek.get(f"/heads/{bench.head.id}/valves")
    marek.says("stands .0150 higher, and the tip may lose .0100")


def test_a_tip_ground_after_the_stem_was_read_asks_for_the_stem_again(
    bench: Bench, marek: Walk
) -> None:
    bench.hands.finish(bench.head, {"3E": [".062", ".0010", "1.865"]})
    marek.send(read(bench, "3E", tip_ground=".004"), press=KEEP)
    marek.says("tip: .0060 may still come off", "before the valve was worked on: read it again")
    marek.send(read(bench, "3E", tip_ground=".012"), press=KEEP)
    marek.says(".0020 more is off the tip than may come off")


def test_a_margin_is_held_against_the_rule_of_its_kind(bench: Bench, marek: Walk) -> None:
    marek.send(
        read(bench, "3E", valve_margin=".040") | read(bench, "3I", valve_margin=".040"), press=KEEP
    )
    marek.says("margin under .0470")
    assert "margin under .0310" not in marek.words


def test_the_shops_own_figure_wins(bench: Bench, marek: Walk) -> None:
    with bench.hands.by(bench.cast.owner).writing() as tx:
        set_rule(tx, "face_run_out_limit", ".001 in", "our own habit")
    marek.send(read(bench, "3E", face_run_out=".0015"), press=KEEP)
    marek.says("face run-out over .0010", "face run-out to .0010")


def test_a_contact_too_near_the_edge_is_asked_about(bench: Bench, marek: Walk) -> None:
    marek.follow("Contact")
    marek.send(read(bench, "3E", contact_width=".060", contact_from_edge=".010"), press=KEEP)
    assert marek.url.endswith("/valves?of=contact")
    marek.says("contact nearer the valve's edge than .0156", "2 readings kept")


def test_each_valve_gets_its_word_and_all_others_are_kept_in_one_touch(
    bench: Bench, marek: Walk
) -> None:
    marek.send(state(bench, "3E", "missing"), press=KEEP)
    marek.says("Missing: the valve of 3E.", "valve missing")
    marek.send({}, press="All others kept")
    found = {label: chosen(marek, f"valve_{port.id}") for label, port in bench.ports.items()}
    assert found.pop("3E") == "missing"
    assert set(found.values()) == {"kept"}


def test_a_page_left_open_writes_over_no_newer_word(bench: Bench, marek: Walk) -> None:
    marek.send(state(bench, "3E", "kept"), press=KEEP)
    other = Walk(marek.browser, "Marek").get(f"/heads/{bench.head.id}/valves")
    other.send(state(bench, "3E", "new"), press=KEEP)
    # Sent with the old word still chosen, and another reading typed.
    marek.send(read(bench, "3I", valve_margin=".050"), press=KEEP)
    assert chosen(marek, f"valve_{bench.ports['3E'].id}") == "new"


def test_another_word_on_the_same_valve_is_named_and_not_lost(bench: Bench, marek: Walk) -> None:
    marek.send(state(bench, "3E", "kept"), press=KEEP)
    other = Walk(marek.browser, "Marek").get(f"/heads/{bench.head.id}/valves")
    other.send(state(bench, "3E", "new"), press=KEEP)
    marek.send(state(bench, "3E", "missing"), press=KEEP, status=422)
    marek.says("3E: Marek said “new valve” after this page was opened")
    marek.send({}, press=KEEP)
    assert chosen(marek, f"valve_{bench.ports['3E'].id}") == "missing"


def test_a_page_sent_as_it_stands_writes_nothing(
    bench: Bench, marek: Walk, database: Database
) -> None:
    marek.send(book(bench, "intake", "1.800") | state(bench, "3E", "kept"), press=KEEP)
    with database.read() as session:
        before = events(session)
    marek.send({}, press=KEEP)
    with database.read() as session:
        assert events(session) == before


def test_a_margin_that_cannot_be_comes_back_at_its_field(bench: Bench, marek: Walk) -> None:
    marek.send(
        read(bench, "3E", valve_margin="4.7") | state(bench, "3E", "refaced"),
        press=KEEP,
        status=422,
    )
    marek.says("3E, margin: 4.7")
    assert chosen(marek, f"valve_{bench.ports['3E'].id}") == "refaced"


def test_a_book_height_can_be_struck(bench: Bench, marek: Walk) -> None:
    marek.send(book(bench, "intake", "1.800"), press=KEEP)
    marek.says("the head, spring height as installed")
    marek.follow("strike")
    marek.send({"reason": "of another engine"}, press="Strike")
    assert marek.url.endswith("/valves")
    marek.says("struck: of another engine")


def test_the_counter_sees_it_and_does_not_measure(bench: Bench, signed_in_as: SignedInAs) -> None:
    wilma = signed_in_as("Wilma")
    page = f"/heads/{bench.head.id}/valves"
    assert wilma.get(page).status_code == 200
    assert wilma.post(page, data={"client_key": "k"}).status_code == 403
