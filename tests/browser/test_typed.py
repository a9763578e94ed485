"""What was typed and not recorded is there again when one comes back to its form."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from urllib.parse import parse_qs

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from app.paths import folder
from app.web.render import environment

PAGE = """
{% extends layout %}
{% import "_partials/forms.html" as f %}
{% block main %}
{% if wrong %}<div class="summary">Not kept yet</div>{% endif %}
{% call f.form("/notes", client_key(), attrs={"data-typed": true}) %}
{{ f.text("words", "Words", value=words) }}
{{ f.choices("way", "Way", [("", "none"), ("left", "left"), ("other", "other")], value="") }}
{{ f.text("which", "Which", attrs={"data-chooses": "way=other"}) }}
<details><summary>More</summary>{{ f.reading("size", "Size", form) }}</details>
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
        self.answers = True
        self.taken: set[str] = set()

    def answer(self, route: Route) -> None:
        path, _, query = route.request.url.removeprefix(ANSWER).partition("?")
        if path.startswith("static/"):
            route.fulfill(path=Path(folder("static")) / path.removeprefix("static/"))
        elif path == "taken":
            route.fulfill(status=200 if query.removeprefix("key=") in self.taken else 204)
        elif route.request.resource_type != "document":
            route.fulfill(status=204)
        elif path == "elsewhere":
            route.fulfill(status=200, content_type="text/html", body="<p>elsewhere</p>")
        else:
            is_sent = route.request.method == "POST"
            if is_sent and not self.answers:
                route.fulfill(status=502, content_type="text/html", body="<p>no answer</p>")
                return
            is_refused = is_sent and self.refuses
            if is_sent and not is_refused:
                sent = parse_qs(route.request.post_data or "")
                self.taken.add(sent["client_key"][0])
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
                form=None,
                words="worn at 2E" if is_refused else self.words,
            )
        )


@pytest.fixture
def shop() -> Shop:
    return Shop()


@pytest.fixture
def page(browser: Browser, shop: Shop) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1024, "height": 768})
    context.route("**/*", shop.answer)
    opened = context.new_page()
    opened.goto(f"{ANSWER}notes")
    yield opened
    context.close()


NOTED = """words => new Promise(resolve => {
    indexedDB.open("seatwright-typed").onsuccess = opened => {
        const store = opened.target.result.transaction("forms").objectStore("forms");
        store.getAll().onsuccess = found => {
            opened.target.result.close();
            resolve(JSON.stringify(found.target.result).includes(`"${words}"`));
        };
    };
})"""


def type_words(page: Page, words: str) -> None:
    """Typed, and on the tablet's disk."""
    page.get_by_label("Words").fill(words)
    page.wait_for_function(NOTED, arg=words)


def away_and_back(page: Page) -> None:
    page.goto(f"{ANSWER}elsewhere")
    page.goto(f"{ANSWER}notes")


def test_what_was_typed_is_back_and_said_to_be_unsent(page: Page) -> None:
    page.get_by_label("Loose").fill("not of a form that says so")
    page.get_by_label("left").check()
    type_words(page, "worn at 2E")
    away_and_back(page)
    expect(page.get_by_label("Words")).to_have_value("worn at 2E")
    expect(page.get_by_label("left")).to_be_checked()
    expect(page.get_by_label("Loose")).to_have_value("")
    expect(page.get_by_text("is back. It is not sent yet.")).to_be_visible()


def test_what_was_sent_does_not_come_back(page: Page) -> None:
    type_words(page, "worn at 2E")
    page.get_by_role("button", name="Keep").click()
    away_and_back(page)
    expect(page.get_by_label("Words")).to_have_value("")


def test_what_was_refused_and_then_left_comes_back(page: Page, shop: Shop) -> None:
    shop.refuses = True
    type_words(page, "worn at 2E")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("Not kept yet")).to_be_visible()
    away_and_back(page)
    expect(page.get_by_label("Words")).to_have_value("worn at 2E")


def test_what_got_no_answer_comes_back_unless_it_was_recorded(page: Page, shop: Shop) -> None:
    type_words(page, "worn at 2E")
    key = page.locator("[name=client_key]").first.input_value()
    shop.answers = False
    page.get_by_role("button", name="Keep").click()
    page.goto(f"{ANSWER}notes")
    expect(page.get_by_label("Words")).to_have_value("worn at 2E")
    shop.taken.add(page.locator("[name=client_key]").first.input_value())
    assert key not in shop.taken
    page.wait_for_function(NOTED, arg=page.locator("[name=client_key]").first.input_value())
    page.reload()
    page.wait_for_function(f"async words => !(await ({NOTED})(words))", arg="worn at 2E")
    expect(page.get_by_label("Words")).to_have_value("")


def test_after_a_power_cut_it_is_back_in_a_new_tab_with_its_fold_open(page: Page) -> None:
    page.get_by_text("More").click()
    page.get_by_label("Size").fill("1.6222")
    page.wait_for_function(NOTED, arg="1.6222")
    context = page.context
    page.close()
    again = context.new_page()
    again.goto(f"{ANSWER}notes")
    expect(again.get_by_label("Size")).to_have_value("1.6222")
    expect(again.get_by_label("Size")).to_be_visible()


def test_what_is_being_typed_in_another_tab_belongs_there(page: Page) -> None:
    type_words(page, "worn at 2E")
    other = page.context.new_page()
    other.goto(f"{ANSWER}notes")
    other.get_by_label("Which").fill("front")
    other.wait_for_function(NOTED, arg="front")
    expect(other.get_by_label("Words")).to_have_value("")
    page.reload()
    expect(page.get_by_label("Words")).to_have_value("worn at 2E")
    expect(page.get_by_label("Which")).to_have_value("")


def test_another_person_does_not_get_it(page: Page, shop: Shop) -> None:
    type_words(page, "worn at 2E")
    shop.person = 3
    away_and_back(page)
    expect(page.get_by_label("Words")).to_have_value("")


def test_what_somebody_wrote_meanwhile_is_not_typed_over(page: Page, shop: Shop) -> None:
    type_words(page, "worn at 2E")
    shop.words = "measured anew"
    away_and_back(page)
    expect(page.get_by_label("Words")).to_have_value("measured anew")


def test_a_field_that_counts_with_one_answer_touches_it(page: Page) -> None:
    page.get_by_label("Which").fill("front")
    expect(page.get_by_label("other")).to_be_checked()
