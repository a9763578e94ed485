"""A field that is mended loses its red as soon as the server has kept it."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.tablet import Tablet
from tests.live import LiveShop
from tests.web.bench import Bench
from tests.web.conftest import PINS, open_the_shop
from tests.web.measuring import fresh_head


@pytest.fixture
def tablet(live: LiveShop, page: Page) -> Tablet:
    """Marek at the stem heights of a head that nothing was read on."""
    with live.database.write() as session:
        open_the_shop(session)
    head = fresh_head(Bench(live.database))
    page.goto(head.at("stem-heights"))
    tablet = Tablet(page)
    tablet.sign_in("Marek", PINS["Marek"])
    return tablet


def test_a_page_that_came_back_whole_lets_go_of_its_red_when_the_value_is_kept(
    tablet: Tablet,
) -> None:
    page = tablet.page
    first, second = page.locator("input.read").nth(0), page.locator("input.read").nth(1)
    first.fill("18.50")
    second.fill("1.85O")
    tablet.touch("button", "Keep the readings")
    errors = page.locator(".grid .error")
    expect(errors).to_have_count(2)
    expect(first).to_have_attribute("aria-invalid", "true")
    page.wait_for_load_state()  # the page is there before what listens to its fields

    first.fill("1.850")
    first.blur()
    expect(errors).to_have_count(1)
    expect(first).not_to_have_attribute("aria-invalid", "true")
    expect(first).not_to_have_attribute("aria-describedby", re.compile("error"))
    expect(second).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#kept")).to_contain_text("1 reading kept")

    second.fill("1.850")
    second.blur()
    expect(errors).to_have_count(0)
    expect(page.locator("#said .summary")).to_have_count(0)
    expect(page.locator("#kept")).to_contain_text("2 readings kept")
