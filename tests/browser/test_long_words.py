"""A word without an end, in every place where somebody types, and no page grows wider for it."""

from __future__ import annotations

from playwright.sync_api import Page

from app.db import now
from seed_demo.hands import Hands
from seed_demo.shop import PINS, Shop
from tests.browser.tablet import Tablet
from tests.live import LiveShop

WIDTHS = (1280, 768, 390)


def test_a_word_without_an_end_does_not_widen_the_page(
    page: Page, crib: Shop, live: LiveShop
) -> None:
    hands = Hands(live.database, crib.wilma, now())
    job = hands.take_in(customer="C" * 120, wanted="w" * 1900, place="P" * 40)
    hands.describe(hands.heads(job)[0], engine="e" * 120, casting="4" * 60)
    tablet = Tablet(page)
    page.goto("/")
    tablet.sign_in("Wilma", PINS["Wilma"])
    page.wait_for_url("**/counter")
    page.goto(f"/jobs/{job.number}/notes")
    page.locator("textarea[name=text]").fill("n" * 1900)
    with page.expect_navigation():
        page.locator("main form button[type=submit]").last.click()
    for path in (f"/jobs/{job.number}", "/counter", f"/jobs/{job.number}/hand-over", "/bench"):
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 900})
            page.goto(path)
            wide = page.evaluate("document.documentElement.scrollWidth")
            assert wide <= width, (path, width, wide)
