"""The bore gauge at the machine: what is wrong and what it comes to stand with the fields."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.tablet import Tablet
from tests.live import LiveShop
from tests.web.bench import Bench
from tests.web.conftest import PINS, open_the_shop


@pytest.fixture
def tablet(live: LiveShop, page: Page) -> Tablet:
    """Marek at 2E, opened to be cut to size."""
    with live.database.write() as session:
        open_the_shop(session)
    bench = Bench(live.database)
    setting = bench.corrected()
    tablet = Tablet(page)
    page.goto(f"{bench.at('2E', 'cut')}?setting={setting.id}")
    tablet.sign_in("Marek", PINS["Marek"])
    tablet.touch("button", re.compile("^2E"))
    return tablet


def above_the_foot(page: Page, found: Locator) -> bool:
    """Whether it is in view, with the foot below it; both are looked at in one moment."""
    expect(page.locator("form[data-sending]")).to_have_count(0)
    seen: bool = found.evaluate(
        """found => {
            const box = found.getBoundingClientRect();
            const foot = document.getElementById("foot").getBoundingClientRect();
            return box.height > 0 && box.top >= 0 && box.bottom <= foot.top;
        }"""
    )
    return seen


def test_a_refused_reading_is_said_in_view_and_the_gauge_reads_there_again(tablet: Tablet) -> None:
    page = tablet.page
    across = page.get_by_label(re.compile("^Across")).first
    tablet.gauge(across, ["16221"])
    expect(across).to_have_attribute("aria-invalid", "true")
    expect(across).to_be_focused()
    said = page.locator("#gauge-said")
    expect(said).to_contain_text("Not kept yet")
    assert above_the_foot(page, said)
    expect(page.locator("#foot")).to_contain_text("Not kept")

    page.keyboard.press("Enter")
    expect(across).to_be_focused()
    tablet.gauge(across, ["1.6222", "1.6222", ".2500"])
    expect(across).to_have_value("1.6222")
    expect(across).not_to_have_attribute("aria-invalid", "true")


def test_the_interference_stands_with_the_fields_before_the_bore_is_called_bored(
    tablet: Tablet,
) -> None:
    page = tablet.page
    tablet.gauge(page.get_by_label(re.compile("^Across")).first, ["1.6280", "1.6280", ".2500"])
    said = page.locator("#gauge-said")
    expect(said).to_contain_text("Interference")
    expect(said).to_contain_text(re.compile("loose", re.IGNORECASE))
    assert above_the_foot(page, said)
    assert above_the_foot(page, page.get_by_label(re.compile("^Depth")).first)


def test_the_whole_scale_stands_above_the_foot(tablet: Tablet) -> None:
    page = tablet.page
    tablet.gauge(page.get_by_label(re.compile("^Across")).first, ["1.6222", "1.6222", ".2501"])
    expect(page.locator("#gauge-said")).to_contain_text("Interference")
    expect(page.locator("#foot .next")).to_contain_text("2E is bored")
    expect(page.locator("#foot .next")).not_to_have_attribute("aria-disabled", "true")
    assert above_the_foot(page, page.locator("figure.scale"))
