"""The bar at the foot of a page stands over no field that is being filled in."""

from __future__ import annotations

from playwright.sync_api import Page

from tests.browser.tablet import Tablet
from tests.live import LiveShop
from tests.web.bench import Bench
from tests.web.conftest import PINS, open_the_shop

UNDER = """foot => [...document.querySelectorAll("main .segment input, main select")]
  .filter(field => {
    field.focus()
    const row = (field.closest(".segment") || field).getBoundingClientRect()
    return row.bottom > foot.getBoundingClientRect().top + 1
  }).map(field => field.name)"""


def test_whatever_is_focused_on_the_positions_page_stands_above_its_bar(
    page: Page, live: LiveShop
) -> None:
    with live.database.write() as session:
        open_the_shop(session)
    bench = Bench(live.database)
    page.set_viewport_size({"width": 1280, "height": 600})
    page.goto(f"/heads/{bench.head.id}/positions")
    Tablet(page).sign_in("Marek", PINS["Marek"])
    foot = page.locator(".foot").last
    assert foot.evaluate("foot => getComputedStyle(foot).position") == "sticky"
    assert page.locator("main .segment input").count() > 20
    assert foot.evaluate(UNDER) == []
