"""What takes long says so, is sent once, and ends; with nothing but a page and a slow answer."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from app.paths import folder
from app.web.render import environment

PAGE = """
{% extends layout %}
{% import "_partials/forms.html" as f %}
{% import "_partials/table.html" as t %}
{% block main %}
{% call f.form("/backups/now", "k") %}{{ f.submit("Back up now") }}{% endcall %}
{{ t.as_file("/lists/find/csv", "All jobs") }}
{% endblock %}
"""
SHOP = "http://shop.test/"
# While a page is being left, nothing else can be asked of it: it tells what it shows.
TELLS = """
document.addEventListener("DOMContentLoaded", () => {
  const place = document.getElementById("under-way");
  const button = document.querySelector("main .button");
  const tell = () => console.log(
    place.textContent.trim(),
    button.getAttribute("aria-busy") ? "busy," : "",
    button.disabled ? "disabled" : "",
  );
  new MutationObserver(() => setTimeout(tell)).observe(place, { childList: true });
});
"""


class SlowShop:
    """Answers its page at once, and anything else when the test lets it."""

    def __init__(self) -> None:
        self.held: list[Route] = []
        self.page = (
            environment()
            .from_string(PAGE)
            .render(
                layout="base.html",
                person=SimpleNamespace(id=2, name="Dana Field"),
                newest=0,
                shop=SimpleNamespace(name="Harbour Street Heads"),
                theme="",
                flash="",
                nav="office",
                next_url="/backups",
            )
        )

    def answer(self, route: Route) -> None:
        path = route.request.url.removeprefix(SHOP)
        if path.startswith("static/"):
            file = Path(folder("static")) / path.removeprefix("static/").split("?")[0]
            route.fulfill(path=file)
        elif path == "backups":
            route.fulfill(content_type="text/html", body=self.page)
        elif path.startswith("live"):
            route.fulfill(status=204)
        else:
            self.held.append(route)


@pytest.fixture
def shop() -> SlowShop:
    return SlowShop()


@pytest.fixture
def page(browser: Browser, shop: SlowShop) -> Iterator[Page]:
    context = browser.new_context(accept_downloads=True)
    opened = context.new_page()
    opened.add_init_script(TELLS)
    opened.route("**/*", shop.answer)
    opened.goto(f"{SHOP}backups")
    yield opened
    context.close()


def test_a_long_sending_says_so_and_cannot_be_sent_twice(page: Page, shop: SlowShop) -> None:
    with page.expect_console_message(lambda told: told.text.startswith("Back up now …")) as told:
        page.get_by_role("button", name="Back up now").click(no_wait_after=True)
    assert told.value.text.endswith("busy, disabled")
    assert len(shop.held) == 1


def test_a_file_is_fetched_while_the_page_stays(page: Page, shop: SlowShop) -> None:
    link = page.get_by_role("link", name="All jobs")
    link.click()
    expect(page.locator("#under-way")).to_have_text(re.compile("^All jobs …"))
    link.click()
    [held] = shop.held
    with page.expect_download() as download:
        held.fulfill(
            content_type="text/csv",
            headers={"Content-Disposition": 'attachment; filename="jobs.csv"'},
            body="number\n26-0001\n",
        )
    assert download.value.suggested_filename == "jobs.csv"
    expect(page.locator("#under-way")).to_be_empty()
    expect(link).not_to_have_attribute("aria-busy", "true")


def test_a_file_that_cannot_be_had_is_told_and_the_page_stays(page: Page, shop: SlowShop) -> None:
    page.get_by_role("link", name="All jobs").click()
    expect(page.locator("#under-way")).not_to_be_empty()
    shop.held[0].abort()
    expect(page.get_by_text("Nothing was lost: try it again")).to_be_visible()
    expect(page).to_have_url(f"{SHOP}backups")
