"""What was typed and not sent is there again when one comes back to its form."""

from __future__ import annotations

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
{% block main %}
{% if wrong %}<div class="summary">Not kept yet</div>{% endif %}
{% call f.form("/notes", "k", attrs={"data-typed": true}) %}
{{ f.text("words", "Words", value=words) }}
{{ f.choices("way", "Way", [("", "none"), ("left", "left"), ("other", "other")], value="") }}
{{ f.text("which", "Which", attrs={"data-chooses": "way=other"}) }}
{{ f.submit("Keep") }}
{% endcall %}
{% call f.form("/loose", "k2") %}{{ f.text("loose", "Loose") }}{% endcall %}
<a href="/elsewhere">Elsewhere</a>
{% endblock %}
"""
ANSWER = "http://shop.test/"


class Shop:
    """The one page, for whom it is drawn and with what stands in its record."""

    def __init__(self) -> None:
        self.person = 2
        self.words = ""
        self.refuses = False

    def answer(self, route: Route) -> None:
        path = route.request.url.removeprefix(ANSWER).split("?")[0]
        if path.startswith("static/"):
            route.fulfill(path=Path(folder("static")) / path.removeprefix("static/"))
        elif route.request.resource_type != "document":
            route.fulfill(status=204)
        elif path == "elsewhere":
            route.fulfill(status=200, content_type="text/html", body="<p>elsewhere</p>")
        else:
            is_refused = route.request.method == "POST" and self.refuses
            route.fulfill(status=200, content_type="text/html", body=self._page(is_refused))

    def _page(self, is_refused: bool) -> str:
        return (
            environment()
            .from_string(PAGE)
            .render(
                layout="base.html",
                person=SimpleNamespace(id=self.person, name="Dana Field"),
                newest=0,
                shop=SimpleNamespace(name="Harbour Street Heads"),
                theme="",
                flash="",
                nav="bench",
                next_url="/bench",
                wrong=is_refused,
                words="worn at 2E" if is_refused else self.words,
            )
        )


@pytest.fixture
def shop() -> Shop:
    return Shop()


@pytest.fixture
def page(browser: Browser, shop: Shop) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1024, "height": 768})
    opened = context.new_page()
    opened.route("**/*", shop.answer)
    opened.goto(f"{ANSWER}notes")
    yield opened
    context.close()


def away_and_back(page: Page) -> None:
    page.goto(f"{ANSWER}elsewhere")
    page.goto(f"{ANSWER}notes")


def test_what_was_typed_is_back_and_said_to_be_unsent(page: Page) -> None:
    page.get_by_label("Words").fill("worn at 2E")
    page.get_by_label("Loose").fill("not of a form that says so")
    page.get_by_label("left").check()
    away_and_back(page)
    expect(page.get_by_label("Words")).to_have_value("worn at 2E")
    expect(page.get_by_label("left")).to_be_checked()
    expect(page.get_by_label("Loose")).to_have_value("")
    expect(page.get_by_text("is back. It is not sent yet.")).to_be_visible()


def test_what_was_sent_does_not_come_back(page: Page) -> None:
    page.get_by_label("Words").fill("worn at 2E")
    page.get_by_role("button", name="Keep").click()
    away_and_back(page)
    expect(page.get_by_label("Words")).to_have_value("")


def test_what_was_refused_and_then_left_comes_back(page: Page, shop: Shop) -> None:
    shop.refuses = True
    page.get_by_label("Words").fill("worn at 2E")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("Not kept yet")).to_be_visible()
    away_and_back(page)
    expect(page.get_by_label("Words")).to_have_value("worn at 2E")


def test_another_person_does_not_get_it(page: Page, shop: Shop) -> None:
    page.get_by_label("Words").fill("worn at 2E")
    shop.person = 3
    away_and_back(page)
    expect(page.get_by_label("Words")).to_have_value("")


def test_what_somebody_wrote_meanwhile_is_not_typed_over(page: Page, shop: Shop) -> None:
    page.get_by_label("Words").fill("worn at 2E")
    shop.words = "measured anew"
    away_and_back(page)
    expect(page.get_by_label("Words")).to_have_value("measured anew")


def test_a_field_that_counts_with_one_answer_touches_it(page: Page) -> None:
    page.get_by_label("Which").fill("front")
    expect(page.get_by_label("other")).to_be_checked()
