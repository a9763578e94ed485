"""What the small script adds to fields, and what holds without it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from app.paths import folder
from app.web.render import environment

PAGE = """
{% extends layout %}
{% import "_partials/forms.html" as f %}
{% import "_partials/table.html" as table %}
{% from "_partials/toast.html" import undo %}
{% block main %}
{{ table.search("/counter") }}
{% call f.form("/readings", "k", readings=true) %}
{{ f.reading("od1", "First") }}{{ f.reading("od2", "Second", value="1.6261") }}
{{ f.reading("od3", "Third") }}
{% call f.foot() %}{{ f.next("Next") }}{{ f.submit("Keep", name="do", value="keep") }}{% endcall %}
{% endcall %}
{% call f.form("/setting", "k3") %}
{{ f.reading("only", "It reads", attrs={"data-enter": "send"}) }}
{% endcall %}
{{ f.next("Bored", open=["depth"], id="waits") }}
{{ undo("Bored.", "/undo", "k2", seconds=0.2) }}
{% endblock %}
"""
ANSWER = "http://shop.test/"


class Shop:
    """Answers with the one page and its static files, and keeps what was posted."""

    def __init__(self) -> None:
        self.posted: list[str] = []
        self.theme = ""

    def answer(self, route: Route) -> None:
        request = route.request
        path = request.url.removeprefix(ANSWER).split("?")[0]
        if request.method == "POST":
            self.posted.append(request.post_data or "")
            route.fulfill(status=200, content_type="text/html", body="<p>kept</p>")
        elif path.startswith("static/"):
            route.fulfill(path=Path(folder("static")) / path.removeprefix("static/"))
        else:
            route.fulfill(status=200, content_type="text/html", body=self.page())

    def page(self) -> str:
        return (
            environment()
            .from_string(PAGE)
            .render(
                layout="base.html",
                person=SimpleNamespace(name="Dana Field"),
                shop=SimpleNamespace(name="Harbour Street Heads"),
                theme=self.theme,
                flash="",
                nav="bench",
                next_url="/bench",
            )
        )


@pytest.fixture
def shop() -> Shop:
    return Shop()


@pytest.fixture
def opened(browser: Browser, shop: Shop) -> Iterator[Callable[..., Page]]:
    """Opens the page, with or without script, in a light or dark system."""
    contexts = []

    def open_page(*, script: bool = True, scheme: str = "light") -> Page:
        context = browser.new_context(
            java_script_enabled=script,
            color_scheme=scheme,  # type: ignore[arg-type]
            viewport={"width": 1024, "height": 768},
        )
        contexts.append(context)
        page = context.new_page()
        page.route("**/*", shop.answer)
        page.goto(ANSWER)
        return page

    yield open_page
    for context in contexts:
        context.close()


def test_enter_goes_on_to_the_next_empty_reading(opened: Callable[..., Page]) -> None:
    page = opened()
    page.get_by_label("First").fill("1.6262")
    page.get_by_label("First").press("Enter")
    expect(page.get_by_label("Third")).to_be_focused()


def test_enter_in_the_last_empty_reading_lets_go_and_sends_nothing(
    opened: Callable[..., Page], shop: Shop
) -> None:
    page = opened()
    page.get_by_label("First").fill("1.6262")
    third = page.get_by_label("Third")
    third.fill("1.6263")
    third.press("Enter")
    expect(third).not_to_be_focused()
    page.keyboard.type("1.6264")
    page.keyboard.press("Enter")  # the gauge once more, with nowhere to go
    expect(third).to_have_value("1.6263")
    expect(page.get_by_role("status").filter(has_text="All readings")).to_be_visible()
    assert shop.posted == []


def test_enter_sends_no_half_row_without_script_either(
    opened: Callable[..., Page], shop: Shop
) -> None:
    page = opened(script=False)
    page.get_by_label("First").fill("1.6262")
    page.get_by_label("First").press("Enter")
    expect(page.get_by_label("First")).to_have_value("1.6262")
    assert shop.posted == []


def test_enter_goes_back_to_a_refused_reading_before_all_are_called_filled(
    opened: Callable[..., Page],
) -> None:
    page = opened()
    first, third = page.get_by_label("First"), page.get_by_label("Third")
    first.fill("1.6O")
    first.evaluate("field => field.setAttribute('aria-invalid', 'true')")
    third.fill("1.6263")
    third.press("Enter")
    expect(first).to_be_focused()
    expect(page.get_by_role("status").filter(has_text="All readings")).to_have_count(0)


def test_enter_keeps_the_only_reading_of_its_form_and_nothing_when_it_is_empty(
    opened: Callable[..., Page], shop: Shop
) -> None:
    page = opened()
    only = page.get_by_label("It reads")
    only.press("Enter")
    assert shop.posted == []
    only.fill(".8109")
    only.press("Enter")
    expect(page.get_by_text("kept")).to_be_visible()
    assert "only=.8109" in shop.posted[0]


def test_the_buttons_send_without_script(opened: Callable[..., Page], shop: Shop) -> None:
    page = opened(script=False)
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("kept")).to_be_visible()
    assert "client_key=k" in shop.posted[0]
    assert "do=keep" in shop.posted[0]


def test_three_quick_presses_send_once_with_the_pressed_buttons_name(
    opened: Callable[..., Page], shop: Shop
) -> None:
    page = opened()
    page.get_by_role("button", name="Keep").click(click_count=3, no_wait_after=True)
    expect(page.get_by_text("kept")).to_be_visible()
    assert len(shop.posted) == 1
    assert "do=keep" in shop.posted[0]


def test_a_reading_taken_up_again_is_replaced(opened: Callable[..., Page]) -> None:
    page = opened()
    page.get_by_label("Second").click()
    page.keyboard.type("1.6270")
    expect(page.get_by_label("Second")).to_have_value("1.6270")


def test_a_slash_goes_to_the_search_but_not_out_of_a_field(opened: Callable[..., Page]) -> None:
    page = opened()
    page.keyboard.press("/")
    expect(page.get_by_role("searchbox")).to_be_focused()
    expect(page.get_by_role("searchbox")).to_have_value("")
    page.get_by_label("First").focus()
    page.keyboard.type("9/16")
    expect(page.get_by_label("First")).to_have_value("9/16")


def test_a_greyed_next_button_can_be_reached_and_reads_its_reason(
    opened: Callable[..., Page], shop: Shop
) -> None:
    page = opened()
    waits = page.get_by_role("button", name="Bored")
    waits.focus()
    expect(waits).to_be_focused()
    expect(waits).to_have_accessible_description("Open: depth")
    waits.press("Enter")
    assert shop.posted == []


def test_undo_goes_when_its_time_is_over(opened: Callable[..., Page]) -> None:
    expect(opened().get_by_role("button", name="Undo")).to_have_count(0)


@pytest.mark.parametrize(
    ("system", "offered", "chosen"),
    [("light", "Dark scheme", "dark"), ("dark", "Light scheme", "light")],
)
def test_the_scheme_is_switched_and_kept_for_the_server(
    opened: Callable[..., Page], system: str, offered: str, chosen: str
) -> None:
    page = opened(scheme=system)
    page.get_by_role("button", name=offered).click()
    expect(page.locator("html")).to_have_attribute("data-theme", chosen)
    kept = {cookie["name"]: cookie["value"] for cookie in page.context.cookies()}  # type: ignore[typeddict-item]
    assert kept["theme"] == chosen


def test_targets_are_large_enough_to_touch(opened: Callable[..., Page]) -> None:
    shown = opened().locator("a:visible, button:visible, input:visible")
    heights = shown.evaluate_all(
        "all => all.map(each => [each.outerHTML, each.getBoundingClientRect().height])"
    )
    assert len(heights) > 10
    assert [html for html, height in heights if height < 44] == []
