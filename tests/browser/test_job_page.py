"""The counter's page of a job: it follows the bench, and what was just touched is taken back."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from app.models.head import Port
from app.workflow.words import Work
from tests.browser.tablet import Tablet
from tests.live import LiveShop
from tests.web.bench import Bench
from tests.web.conftest import PINS, open_the_shop


@pytest.fixture
def bench(live: LiveShop) -> Bench:
    with live.database.write() as session:
        open_the_shop(session)
    return Bench(live.database)


@pytest.fixture
def wilma(page: Page) -> Callable[[str], Tablet]:
    """`wilma(url)` is her screen there."""

    def there(url: str) -> Tablet:
        page.goto(url)
        tablet = Tablet(page)
        tablet.sign_in("Wilma", PINS["Wilma"])
        expect(page.locator(".signed-in")).to_contain_text("Wilma")
        return tablet

    return there


def test_it_follows_the_bench_and_leaves_what_is_being_typed(
    wilma: Callable[[str], Tablet], bench: Bench
) -> None:
    page = wilma(f"/jobs/{bench.job.number}").page
    note = page.get_by_label("Note or call")
    note.focus()
    page.keyboard.type("asked whe")
    before = page.evaluate("() => { window.scrollTo(0, 80); return window.scrollY }")
    sentence, strip = page.locator("h1"), page.locator("#strip-words")
    was = sentence.inner_text()
    expect(page.locator("#job-history")).not_to_contain_text("read a ring")

    bench.read_rings()
    ring = page.locator(".job-positions tbody tr").first.locator("td").first
    expect(ring).to_have_text(re.compile(r"^1\.626"))
    expect(sentence).not_to_have_text(was)
    expect(strip).to_have_count(1)
    expect(note).to_be_focused()
    expect(note).to_have_value("asked whe")
    assert page.evaluate("window.scrollY") == before


def test_an_answer_is_taken_back_by_touch_and_not_after_its_time(
    wilma: Callable[[str], Tablet], bench: Bench, live: LiveShop
) -> None:
    def with_ring() -> int:
        with live.database.read() as session:
            ports = [session.get_one(Port, port.id) for port in bench.ports.values()]
            return sum(port.work is Work.RING for port in ports)

    assert with_ring() == 2
    positions = f"/heads/{bench.head.id}/positions"
    page = wilma(positions).page
    touch = page.get_by_role("button", name="All intakes: seat ring")
    undo = page.locator("#toast").get_by_role("button", name="Undo")
    touch.tap()
    expect(undo).to_be_visible()
    assert with_ring() == 6
    undo.tap()
    work = page.get_by_role("radiogroup", name="1I, work")
    expect(work.get_by_label("seat only")).to_be_checked()
    assert with_ring() == 2

    page.clock.install()
    touch.tap()
    expect(undo).to_be_visible()
    page.clock.fast_forward(5_000)
    expect(undo).to_be_visible()
    page.clock.fast_forward(5_000)
    expect(undo).to_have_count(0)
    assert with_ring() == 6
