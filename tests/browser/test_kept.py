"""Readings kept as they are typed: through bursts, cut networks, restarts, and two at one field."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, BrowserType, Page, Route, expect
from sqlalchemy.orm import aliased
from sqlmodel import col, select

from app.config import Settings
from app.db import Database
from app.models.person import Person
from app.models.reading import Reading, ReadingSet, ReadingStrike
from app.services.sign_in import end_sign_ins
from app.services.write import Write
from tests.browser.axe import Barriers
from tests.browser.conftest import TABLET, WAITS_MS
from tests.browser.tablet import Tablet
from tests.live import LiveShop, serving
from tests.web.bench import Bench
from tests.web.conftest import PINS, open_the_shop
from tests.web.measuring import FreshHead, fresh_head

HEIGHTS = ["1.850", "1.851", "1.852", "1.853", "1.854", "1.855", "1.856", "1.857"]
Opens = Callable[[str], Page]


@pytest.fixture
def head(live: LiveShop) -> FreshHead:
    """A head that nothing was read on."""
    with live.database.write() as session:
        open_the_shop(session)
    return fresh_head(Bench(live.database))


@pytest.fixture
def opens(browser: Browser, live: LiveShop, head: FreshHead) -> Iterator[Opens]:
    """`opens("Marek")` is a tablet of his own at the stem heights."""
    with ExitStack() as contexts:

        def open_for(name: str) -> Page:
            context = browser.new_context(**TABLET, base_url=live.url)
            contexts.callback(context.close)
            return at_the_heights(context, head, name)

        yield open_for


def at_the_heights(context: BrowserContext, head: FreshHead, name: str) -> Page:
    page = context.new_page()
    page.set_default_timeout(WAITS_MS)
    page.goto(head.at("stem-heights"))
    Tablet(page).sign_in(name, PINS[name])
    expect(page.locator("input.read").first).to_be_focused()
    return page


def type_on(page: Page, heights: list[str]) -> None:
    """As a gauge does: digits and Enter, one after another, waiting for nothing."""
    for height in heights:
        page.keyboard.type(height)
        page.keyboard.press("Enter")


def on_record(database: Database, head: FreshHead) -> list[tuple[str, str, str]]:
    """What was read on the head, in the order it arrived: figure, who typed it, who sent it."""
    typed_by, sent_by = aliased(Person), aliased(Person)
    with database.read() as session:
        ports = [port.id for port in head.ports.values()]
        found: Any = session.exec(
            select(Reading.typed, typed_by.name, sent_by.name)
            .select_from(Reading)
            .join(ReadingSet, col(ReadingSet.id) == col(Reading.reading_set_id))
            .where(col(ReadingSet.port_id).in_(ports))
            .join(typed_by, col(typed_by.id) == col(Reading.typed_by_id))
            .join(sent_by, col(sent_by.id) == col(Reading.sent_by_id))
            .order_by(col(Reading.id))
        ).all()
        assert session.exec(select(ReadingStrike.id)).all() == []
    return [tuple(row) for row in found]


def by_marek(heights: list[str]) -> list[tuple[str, str, str]]:
    return [(height, "Marek", "Marek") for height in heights]


def said_at(page: Page, nth: int) -> Any:
    """What is said in a field's own box."""
    return page.locator(".read-box").nth(nth).locator(".ack")


def test_a_burst_fills_the_head_and_ends_at_the_next_button(
    opens: Opens, live: LiveShop, head: FreshHead
) -> None:
    page = opens("Marek")
    type_on(page, HEIGHTS)
    expect(page.locator("#next")).to_be_focused()
    for nth, height in enumerate(HEIGHTS):
        expect(page.locator("input.read").nth(nth)).to_have_value(height)
        expect(said_at(page, nth)).to_have_text(re.compile(r"^kept \d\d:\d\d$"))
    expect(page.locator("#kept")).to_contain_text("8 readings kept")
    assert on_record(live.database, head) == by_marek(HEIGHTS)
    # The answers came meanwhile, and the button was not lost under the finger.
    expect(page.locator("#next")).to_be_focused()
    expect(page.locator("#toast")).to_be_empty()
    page.keyboard.press("Enter")
    page.wait_for_url("**/guides")


def test_a_ring_set_is_read_and_left_without_touching_the_screen(
    opens: Opens, head: FreshHead
) -> None:
    page = opens("Marek")
    page.goto(f"/jobs/{head.bench.job.number}/ring-sets/new")
    page.get_by_label("How many rings are there").fill("2")
    page.get_by_role("button", name="Next: read the rings").tap()
    reads = page.locator("input.read")
    expect(reads.first).to_be_focused()
    names = reads.evaluate_all("all => all.map(each => each.name.split('.')[0])")
    sizes = {"ring_od": "1.6262", "ring_height": ".2500", "ring_id": "1.375"}
    type_on(page, [sizes[name] for name in names])
    # Greyed until the answer to the last reading is in, and then still under the same finger.
    expect(page.locator("#next")).to_be_focused()
    expect(page.locator("#next")).not_to_have_attribute("aria-disabled", "true")
    expect(page.locator("#toast")).to_be_empty()
    page.keyboard.press("Enter")
    page.wait_for_url("**/plan")


def test_a_gauge_that_ends_with_tab_goes_the_same_way(
    opens: Opens, live: LiveShop, head: FreshHead
) -> None:
    page = opens("Marek")
    page.locator("input.read").nth(1).fill("1.851")
    page.locator("input.read").nth(0).focus()
    page.keyboard.type("1.850")
    page.keyboard.press("Tab")
    expect(page.locator("input.read").nth(2)).to_be_focused()
    page.keyboard.press("Shift+Tab")
    expect(page.locator("input.read").nth(1)).to_be_focused()


def test_a_reading_more_than_there_are_fields_presses_nothing(
    opens: Opens, live: LiveShop, head: FreshHead
) -> None:
    page = opens("Marek")
    type_on(page, [*HEIGHTS, "1.858"])
    expect(page.locator("#toast")).to_contain_text("the last one was not taken")
    expect(page).to_have_url(re.compile("stem-heights$"))
    expect(page.locator("#kept")).to_contain_text("8 readings kept")


def test_a_network_cut_in_the_middle_loses_and_doubles_nothing(
    opens: Opens, live: LiveShop, head: FreshHead, barriers: Barriers
) -> None:
    page = opens("Marek")
    type_on(page, HEIGHTS[:3])
    expect(page.locator("#kept")).to_contain_text("3 readings kept")
    page.context.set_offline(True)
    type_on(page, HEIGHTS[3:6])
    expect(said_at(page, 3)).to_have_text("waits here")
    expect(page.locator("#waiting")).to_contain_text("No answer from the shop's PC since")
    expect(page.locator("#waiting")).to_contain_text("3 readings of Marek wait on this tablet")
    assert barriers(page) == []
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden()
    type_on(page, HEIGHTS[6:])
    expect(page.locator("#kept")).to_contain_text("8 readings kept")
    assert on_record(live.database, head) == by_marek(HEIGHTS)


def test_an_answer_that_got_lost_doubles_nothing(
    opens: Opens, live: LiveShop, head: FreshHead
) -> None:
    page = opens("Marek")
    lost: list[int] = []

    def lose(route: Route) -> None:
        if route.request.method != "POST" or len(lost) > 1:
            route.fallback()
            return
        lost.append(route.fetch().status)
        route.abort()

    page.route("**/stem-heights*", lose)
    type_on(page, HEIGHTS[:2])
    # Typed over while nobody knows whether the first figure arrived.
    page.locator("input.read").nth(7).focus()
    page.keyboard.type("1.859")
    page.keyboard.press("Enter")
    expect(page.locator("#kept")).to_contain_text("3 readings kept")
    assert lost == [200, 200]
    assert on_record(live.database, head) == by_marek([*HEIGHTS[:2], "1.859"])


def test_nothing_moves_on_while_a_reading_waits(opens: Opens) -> None:
    page = opens("Marek")
    page.context.set_offline(True)
    type_on(page, HEIGHTS)
    expect(said_at(page, 7)).to_have_text("waits here")
    page.get_by_role("button", name="Next: guides").tap()
    expect(page.locator("#waiting")).to_contain_text("8 readings of Marek are not in the record")
    expect(page).to_have_url(re.compile("stem-heights$"))


def test_a_server_that_stopped_gets_what_was_typed_meanwhile(
    browser: Browser, settings: Settings, database_of_heights: tuple[Database, FreshHead]
) -> None:
    database, head = database_of_heights
    with ExitStack() as server:
        shop = server.enter_context(serving(settings))
        context = browser.new_context(**TABLET, base_url=shop.url)
        page = at_the_heights(context, head, "Marek")
        type_on(page, HEIGHTS[:2])
        expect(page.locator("#kept")).to_contain_text("2 readings kept")
        server.close()
        type_on(page, HEIGHTS[2:4])
        expect(page.locator("#waiting")).to_contain_text("2 readings of Marek wait")
        server.enter_context(serving(settings, shop.settings.port))
        expect(page.locator("#kept")).to_contain_text("4 readings kept")
        expect(page.locator("#waiting")).to_be_hidden()
        context.close()
    assert on_record(database, head) == by_marek(HEIGHTS[:4])


@pytest.fixture
def database_of_heights(settings: Settings) -> tuple[Database, FreshHead]:
    """The head on a shop whose server the test itself starts and stops."""
    database = Database(settings.url)
    with database.write() as session:
        open_the_shop(session)
    return database, fresh_head(Bench(database))


NOTED = """many => new Promise(resolve => {
    indexedDB.open("seatwright").onsuccess = opened => {
        const store = opened.target.result.transaction("readings").objectStore("readings");
        store.count().onsuccess = counted => {
            opened.target.result.close();
            resolve(counted.target.result === many);
        };
    };
})"""


def test_a_browser_that_died_while_sending_sends_what_waited_when_it_opens_again(
    browser_type: BrowserType,
    browser_type_launch_args: dict[str, Any],
    live: LiveShop,
    head: FreshHead,
    tmp_path: Path,
) -> None:
    tablet: dict[str, Any] = {**browser_type_launch_args, **TABLET, "base_url": live.url}
    context = browser_type.launch_persistent_context(tmp_path / "tablet", **tablet)
    page = at_the_heights(context, head, "Marek")
    # No answer comes; whether the PC got what was sent, the tablet cannot know.
    context.route("**/stem-heights*", lambda r: r.request.method == "POST" or r.fallback())
    with page.expect_request(lambda request: request.method == "POST"):
        type_on(page, HEIGHTS[:2])
    page.wait_for_function(NOTED, arg=2)
    context.close()

    # It died as the one page that may send: the next one waits no longer than it must.
    context = browser_type.launch_persistent_context(tmp_path / "tablet", **tablet)
    page = context.new_page()
    page.goto(head.at("stem-heights"))
    expect(page.locator("input.read").nth(1)).to_have_value(HEIGHTS[1])
    expect(page.locator("#kept")).to_contain_text("2 readings kept")
    context.close()
    assert on_record(live.database, head) == by_marek(HEIGHTS[:2])


def test_what_waits_when_the_sign_in_ended_goes_under_who_typed_it(
    opens: Opens, live: LiveShop, head: FreshHead
) -> None:
    page = opens("Marek")
    with live.database.write() as session:
        marek = session.exec(select(Person).where(Person.name == "Marek")).one()
        end_sign_ins(Write(session, by=None), marek.id)
    type_on(page, HEIGHTS[:2])
    expect(page.locator("#waiting")).to_contain_text("The sign-in has ended.")
    page.get_by_role("link", name="Sign in to go on").tap()
    expect(page.locator("#waiting")).to_contain_text("2 readings of Marek wait on this tablet")
    Tablet(page).sign_in("Odile", PINS["Odile"])
    expect(page.locator("#kept")).to_contain_text("2 readings kept")
    assert on_record(live.database, head) == [(each, "Marek", "Odile") for each in HEIGHTS[:2]]


def test_a_change_of_person_names_what_is_not_in_the_record(opens: Opens) -> None:
    page = opens("Marek")
    type_on(page, ["18.50"])
    expect(page.locator("input.read").first).to_have_attribute("aria-invalid", "true")
    hand_over = page.get_by_role("button", name=re.compile("someone else"))
    hand_over.tap()
    told = page.locator("#waiting")
    expect(told).to_contain_text("1 reading of Marek is not in the record yet")
    expect(told).to_contain_text("18.50")
    hand_over.tap()
    page.wait_for_url(re.compile("/sign-in"))


def test_the_second_tablet_sees_the_firsts_readings_while_it_types(opens: Opens) -> None:
    marek, odile = opens("Marek"), opens("Odile")
    mine = odile.locator("input.read").nth(5)
    mine.focus()
    odile.keyboard.type("1.8")
    scrolled = odile.evaluate("() => { window.scrollTo(0, 60); return window.scrollY }")
    type_on(marek, HEIGHTS[:2])
    expect(odile.locator("input.read").nth(1)).to_have_value(HEIGHTS[1])
    expect(said_at(odile, 1)).to_have_text("Marek")
    expect(mine).to_be_focused()
    expect(mine).to_have_value("1.8")
    assert odile.evaluate("window.scrollY") == scrolled
    odile.keyboard.type("55")
    odile.keyboard.press("Enter")
    expect(marek.locator("input.read").nth(5)).to_have_value("1.855")


@pytest.mark.parametrize(("chosen", "counts"), [("1.850", "1.850"), ("1.860", "1.860")])
def test_two_readings_at_one_field_stand_side_by_side_and_one_is_chosen(
    opens: Opens, live: LiveShop, chosen: str, counts: str, barriers: Barriers
) -> None:
    marek, odile = opens("Marek"), opens("Odile")
    odile.context.set_offline(True)
    type_on(odile, ["1.860", "1.851"])
    type_on(marek, ["1.850"])
    expect(marek.locator("#kept")).to_contain_text("1 reading kept")
    odile.context.set_offline(False)
    clash = odile.locator(".clash")
    expect(clash).to_contain_text("Marek read 1.850 here")
    # What does not clash is kept meanwhile.
    expect(odile.locator("#kept")).to_contain_text("2 readings kept")
    assert barriers(odile) == []
    clash.get_by_role("button", name=re.compile(f"^{re.escape(chosen)}")).tap()
    expect(clash).to_have_count(0)
    first = odile.locator("input.read").first
    expect(first).to_have_value(counts)
    expect(first).not_to_have_attribute("aria-invalid", "true")
    expect(marek.locator("input.read").first).to_have_value(counts)
    expect(odile.locator("#kept")).to_contain_text("2 readings kept")


def test_the_counter_follows_without_taking_the_search_away(
    browser: Browser, live: LiveShop, head: FreshHead
) -> None:
    context = browser.new_context(**TABLET, base_url=live.url)
    page = context.new_page()
    page.goto("/counter")
    Tablet(page).sign_in("Wilma", PINS["Wilma"])
    search = page.get_by_role("searchbox")
    search.focus()
    page.keyboard.type("Har")
    other = fresh_head(head.bench)
    expect(page.get_by_role("link", name=other.job.number)).to_be_visible()
    expect(search).to_be_focused()
    expect(search).to_have_value("Har")
    context.close()


def test_the_bench_follows_what_is_decided_elsewhere(opens: Opens, head: FreshHead) -> None:
    page = opens("Marek")
    page.goto("/bench")
    thermometer = page.get_by_label("Thermometer now, °C")
    thermometer.focus()
    page.keyboard.type("2")
    expect(page.locator("#bench-now")).to_contain_text("not read yet")
    odile = opens("Odile")
    odile.goto("/bench")
    odile.get_by_label("Thermometer now, °C").fill("21")
    odile.locator("#temperature").get_by_role("button", name="Keep it").tap()
    expect(page.locator("#temperature")).to_contain_text("21 °C")
    expect(thermometer).to_be_focused()
    expect(thermometer).to_have_value("2")
