"""The first page of an empty shop, on a tablet."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from tests.browser.axe import Barriers
from tests.live import LiveShop


def test_an_empty_shop_asks_for_the_code_from_the_console(
    page: Page, live: LiveShop, barriers: Barriers
) -> None:
    page.goto("/")
    expect(page.get_by_label(re.compile("code", re.I))).to_be_visible()
    assert page.evaluate("navigator.maxTouchPoints") > 0
    assert barriers(page) == []
