"""After a power cut one is back where one was, with what was typed; someone else goes on there."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.conftest import WAITS_MS
from tests.browser.tablet import Tablet
from tests.browser.test_typed import NOTED
from tests.live import LiveShop
from tests.web.bench import Bench
from tests.web.conftest import PINS, open_the_shop


@pytest.fixture
def bench(live: LiveShop) -> Bench:
    with live.database.write() as session:
        open_the_shop(session)
    return Bench(live.database)


def at(page: Page, url: str) -> Page:
    """Marek's tablet there."""
    page.goto(url)
    Tablet(page).sign_in("Marek", PINS["Marek"])
    expect(page.locator(".signed-in")).to_contain_text("Marek")
    return page


def cut_the_power(page: Page, url: str) -> Page:
    """The tablet dies as it stands and starts again; its browser opens `url`."""
    context: BrowserContext = page.context
    page.close()
    again = context.new_page()
    again.set_default_timeout(WAITS_MS)
    again.goto(url)
    return again


def test_a_form_of_one_record_is_back_as_it_was_typed(page: Page, bench: Bench) -> None:
    clamp_up = f"/heads/{bench.head.id}/clamp-ups/new"
    at(page, clamp_up).get_by_label("Level").fill("end for end")
    page.get_by_label("Touch-off").fill("2.1250")
    page.wait_for_function(NOTED, arg="2.1250")

    page = cut_the_power(page, "/")
    told = page.locator("#was-at")
    expect(told).to_contain_text("You were at Clamp up")
    told.get_by_role("link", name="Go on there").tap()
    page.wait_for_url(f"**{clamp_up}")
    expect(page.get_by_label("Touch-off")).to_have_value("2.1250")
    expect(page.get_by_label("Level")).to_have_value("end for end")
    expect(page.locator("#toast")).to_contain_text("It is not sent yet")

    page = cut_the_power(page, clamp_up)
    expect(page.get_by_label("Touch-off")).to_have_value("2.1250")
    Tablet(page).choose("Depth is measured from", "chamber roof")
    page.get_by_label("Travel left there").fill("1.5000")
    Tablet(page).next("It is clamped up")
    expect(page.locator(".flash")).to_contain_text("clamped up")
    page.goto(clamp_up)
    expect(page.get_by_label("Level")).to_be_visible()
    page.wait_for_function(f"async words => !(await ({NOTED})(words))", arg="2.1250")
    expect(page.get_by_label("Touch-off")).to_have_value("")


def test_a_grid_opens_at_the_reading_one_was_at(page: Page, bench: Bench) -> None:
    ports = [bench.ports["2E"], bench.ports["3E"]]
    some = bench.hands.rings(bench.job, ports, [["1.6262", *[""] * 7], [""] * 3])
    rings = f"/ring-sets/{some.id}"
    reads = at(page, rings).locator("input.read")
    expect(reads.nth(1)).to_be_focused()
    reads.nth(4).tap()
    page.keyboard.type(".2500")
    page.keyboard.press("Enter")
    expect(reads.nth(5)).to_be_focused()
    expect(page.locator("form[data-sending]")).to_have_count(0)
    page = cut_the_power(page, rings)
    expect(page.locator("input.read").nth(5)).to_be_focused()


def test_someone_else_takes_over_with_two_touches_and_a_pin(page: Page, bench: Bench) -> None:
    heights = f"/heads/{bench.head.id}/stem-heights?of=all"
    at(page, heights).get_by_role("button", name=re.compile("someone else")).tap()
    page.get_by_role("link", name=re.compile("^Odile")).tap()
    expect(page.get_by_label("PIN")).to_be_focused()
    page.keyboard.type(PINS["Odile"])
    page.keyboard.press("Enter")
    expect(page.locator(".signed-in")).to_contain_text("Odile")
    assert page.url.endswith(heights)
