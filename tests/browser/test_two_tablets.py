"""Two tablets on one head: rings and bores stand on both, and a clash is shown with a choice."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import ExitStack

import pytest
from playwright.sync_api import Browser, Page, expect

from app.services.cuts import open_cut
from tests.browser.conftest import TABLET, WAITS_MS
from tests.browser.tablet import Tablet
from tests.live import LiveShop
from tests.web.bench import Bench
from tests.web.conftest import PINS, open_the_shop

Opens = Callable[[str, str], Page]


@pytest.fixture
def bench(live: LiveShop) -> Bench:
    with live.database.write() as session:
        open_the_shop(session)
    return Bench(live.database)


@pytest.fixture
def opens(browser: Browser, live: LiveShop) -> Iterator[Opens]:
    """`opens("Marek", url)` is a tablet of his own there."""
    with ExitStack() as contexts:

        def open_for(name: str, url: str) -> Page:
            context = browser.new_context(**TABLET, base_url=live.url)
            contexts.callback(context.close)
            page = context.new_page()
            page.set_default_timeout(WAITS_MS)
            page.goto(url)
            Tablet(page).sign_in(name, PINS[name])
            expect(page.locator("input.read").first).to_be_visible()
            return page

        yield open_for


def read(page: Page, size: str) -> None:
    page.locator("input.read").first.fill(size)
    page.keyboard.press("Enter")


def kept(page: Page) -> None:
    """What was typed here stands in the record."""
    expect(page.locator(".read-box").first.locator(".ack")).to_have_text(re.compile("^kept"))


def look(page: Page) -> None:
    """It asks for news now, as it does every three seconds."""
    page.evaluate("dispatchEvent(new Event('online'))")


def two_readings_at(opens: Opens, url: str, first: str, again: str, hers: str) -> None:
    """What Marek reads stands on Odile's tablet; then both read at one place, and Odile chooses."""
    marek, odile = opens("Marek", url), opens("Odile", url)
    field, other = odile.locator("input.read").nth(0), odile.locator("input.read").nth(1)
    as_it_was = other.input_value()
    other.focus()
    odile.keyboard.type(".25")
    read(marek, first)
    kept(marek)
    look(odile)
    expect(field).to_have_value(first)
    expect(other).to_be_focused()
    expect(other).to_have_value(".25")

    odile.context.set_offline(True)
    other.fill(as_it_was)
    read(odile, hers)
    read(marek, again)
    expect(marek.locator("form[data-sending]")).to_have_count(0)
    odile.context.set_offline(False)
    clash = odile.locator(".clash")
    expect(clash).to_contain_text(f"Marek read {again} here")
    expect(clash.get_by_role("button")).to_have_text([re.compile(again), re.compile(hers)])
    clash.get_by_role("button", name=re.compile(f"^{re.escape(hers)}")).tap()
    expect(clash).to_have_count(0)
    kept(odile)
    look(marek)
    expect(marek.locator("input.read").first).to_have_value(hers)


def test_two_tablets_at_one_ring_set(opens: Opens, bench: Bench) -> None:
    url = f"/ring-sets/{bench.read_rings().id}"
    two_readings_at(opens, url, "1.6263", "1.6264", "1.6261")


def test_two_tablets_at_one_bore(opens: Opens, bench: Bench) -> None:
    setting = bench.corrected()
    with bench.hands.writing() as tx:
        open_cut(tx, bench.ports["2E"], setting.id, was_touched=True)
    url = f"{bench.at('2E', 'cut')}?setting={setting.id}"
    two_readings_at(opens, url, "1.6222", "1.6223", "1.6221")
