"""Sheets as Chromium prints them: their pages on A4 and Letter, and a code that a phone reads."""

from __future__ import annotations

import io
from typing import Any

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Page
from pypdf import PdfReader
from sqlmodel import select

from app.models.head import Head
from app.models.job import Job
from app.models.person import Person
from app.models.shop import Shop
from app.services.sign_in import new_token, sign_in
from app.services.write import Write
from tests.live import LiveShop
from tests.services.finished import finish_head
from tests.web.bench import Bench
from tests.web.conftest import open_the_shop

MM_PER_POINT = 25.4 / 72
# Width and height of the paper [mm].
PAPERS = {"A4": (210, 297), "Letter": (216, 279)}


@pytest.fixture
def bench(page: Page, live: LiveShop) -> Bench:
    """The floor's head in the live shop, with Marek signed in on the tablet."""
    with live.database.write() as session:
        open_the_shop(session)
    token = new_token()
    with live.database.write() as session:
        session.get_one(Shop, 1).base_address = "http://shop-pc:8137"
        marek = session.exec(select(Person).where(Person.name == "Marek")).one()
        sign_in(Write(session, by=None), marek.id, marek.pin_hash, token=token, address="tablet")
    page.context.add_cookies([{"name": live.settings.cookie_name, "value": token, "url": live.url}])
    return Bench(live.database)


def printed(page: Page, paper: str) -> PdfReader:
    """What the browser would print on this paper, by the sheet's own style."""
    return PdfReader(io.BytesIO(page.pdf(format=paper, prefer_css_page_size=True)))


def size_mm(sheet: Any) -> tuple[int, int]:
    return round(float(sheet.mediabox.width) * MM_PER_POINT), round(
        float(sheet.mediabox.height) * MM_PER_POINT
    )


def codes(png: bytes) -> list[str]:
    return [found.text for found in zxingcpp.read_barcodes(Image.open(io.BytesIO(png)))]


@pytest.mark.parametrize("paper", PAPERS)
def test_a_tag_fits_its_paper_and_a_record_says_on_each_page_what_it_is(
    page: Page, bench: Bench, paper: str
) -> None:
    finish_head(bench)
    page.goto(f"/jobs/{bench.job.number}/tag")
    (tag,) = printed(page, paper).pages
    assert size_mm(tag) == PAPERS[paper]
    text = tag.extract_text()
    assert bench.job.number in text
    # What only a screen shows stays there.
    assert "To print" not in text
    page.goto(f"/heads/{bench.head.id}/record")
    record = printed(page, paper)
    assert 3 <= len(record.pages) <= 5
    for nth, sheet in enumerate(record.pages, start=1):
        text = sheet.extract_text()
        assert size_mm(sheet) == PAPERS[paper]
        assert f"{nth} / {len(record.pages)}" in text
        assert bench.job.number in text
        assert "Draft, not issued" in text


@pytest.mark.parametrize("paper", PAPERS)
def test_set_up_sheet_and_card_of_an_eight_valve_head_take_one_page(
    page: Page, bench: Bench, paper: str
) -> None:
    bench.set_and_clamped()
    for url in (f"/jobs/{bench.job.number}/set-up", f"/heads/{bench.head.id}/card"):
        page.goto(url)
        assert len(printed(page, paper).pages) == 1, url


@pytest.mark.parametrize("paper", PAPERS)
def test_what_the_customer_takes_along_is_one_page_each_with_its_code(
    page: Page, bench: Bench, paper: str
) -> None:
    finish_head(bench)
    for url in (
        f"/heads/{bench.head.id}/customer-record",
        f"/jobs/{bench.job.number}/estimate/paper",
    ):
        page.goto(url)
        assert codes(page.locator(".sheet-head .qr").screenshot()) == [
            f"http://shop-pc:8137/jobs/{bench.job.number}"
        ]
        (sheet,) = printed(page, paper).pages
        assert size_mm(sheet) == PAPERS[paper]
        assert bench.job.number in sheet.extract_text()


@pytest.mark.parametrize("paper", PAPERS)
def test_a_set_up_sheet_of_sixteen_positions_takes_one_page(
    page: Page, bench: Bench, paper: str
) -> None:
    hands = bench.hands.by(bench.cast.service_writer)
    job = hands.take_in(customer="Larch Mill", wanted="sixteen burnt seats", unit="mm")
    head = hands.heads(job)[0]
    layout = {"layout": "EEIIEEIIEEIIEEII", "valves": "4", "unit": "mm"}
    hands.describe(head, casting="LM 16", material="aluminium", heat_history="none_known", **layout)
    hands.decide(head, {"*": "ring"}, {"*": "casting"})
    hands.agree(job, "Larch", limit="900")
    hands.by(bench.cast.machinist)
    ports = list(hands.ports(head).values())
    first = [*["34.30"] * 4, "6.00", "6.00", "6.00", "28.0"]
    hands.rings(job, ports, [first, *[["34.30", "34.30", "6.00"]] * 15])
    hands.clamp(head, bench.machine.id, touch_off="8.00", travel="40")
    tools = {"cutter": bench.cutter.id, "fixture": bench.fixture.id, "pilot": bench.pilot.id}
    hands.make_setting(job, ports, **tools)
    page.goto(f"/jobs/{job.number}/set-up")
    pages = printed(page, paper).pages
    assert len(pages) == 1
    assert "4I2" in pages[0].extract_text()


def test_labels_are_sixty_by_ninety(page: Page, bench: Bench) -> None:
    page.goto(f"/jobs/{bench.job.number}/tag?paper=label&copies=2")
    assert [size_mm(label) for label in printed(page, "A4").pages] == [(60, 90)] * 2


@pytest.mark.parametrize(("paper", "copies"), [("A4", 9), ("Letter", 6)])
def test_a_page_of_tags_is_filled_with_tags_of_sixty_by_ninety(
    page: Page, bench: Bench, paper: str, copies: int
) -> None:
    page.goto(f"/jobs/{bench.job.number}/tag?copies={copies}")
    (sheet,) = printed(page, paper).pages
    assert sheet.extract_text().count(bench.job.number) == copies
    page.emulate_media(media="print")
    sizes = page.locator(".tag-card").evaluate_all(
        """cards => cards.map(card => card.getBoundingClientRect())
           .map(one => [one.width, one.height])"""
    )
    assert len(sizes) == copies
    for width, height in sizes:
        assert (width * 25.4 / 96, height * 25.4 / 96) == pytest.approx((60, 90), abs=0.1)


@pytest.mark.parametrize("paper", ["page", "label"])
def test_a_long_story_ends_in_a_whole_line_and_the_printed_time_stays_on_the_tag(
    page: Page, bench: Bench, paper: str
) -> None:
    with bench.database.write() as session:
        job = session.get_one(Job, bench.job.id)
        job.wanted = "Burnt exhaust seats after a long pull, it misses on three when cold. " * 6
        first = session.get_one(Head, bench.head.id)
        first.name, first.casting = "left-hand front W", "W" * 22
        session.add(job)
        session.add(first)
    page.goto(f"/jobs/{bench.job.number}/tag?paper={paper}")
    page.emulate_media(media="print")
    card = page.locator(".tag-card").first
    below = card.evaluate(
        """card => { const inside = card.getBoundingClientRect().bottom
           - parseFloat(getComputedStyle(card).paddingBottom);
           const low = each => each.getBoundingClientRect().bottom > inside + 1;
           return [...card.children].filter(low).map(each => each.className) }"""
    )
    assert below == []
    lines = card.locator(".tag-wanted").evaluate(
        "told => told.clientHeight / parseFloat(getComputedStyle(told).lineHeight)"
    )
    assert lines > 1.9
    assert abs(lines - round(lines)) < 0.06


def test_the_code_on_a_tag_opens_the_job_at_the_shops_own_address(page: Page, bench: Bench) -> None:
    page.goto(f"/jobs/{bench.job.number}/tag?paper=label")
    code = page.locator(".tag-card .qr").first
    assert codes(code.screenshot()) == [f"http://shop-pc:8137/jobs/{bench.job.number}"]


def test_an_issued_record_shows_without_a_complaint_of_the_browser(
    page: Page, bench: Bench
) -> None:
    finish_head(bench)
    page.goto(f"/jobs/{bench.job.number}/sheets")
    page.get_by_role("button", name="Issue the head record").tap()
    page.get_by_role("link", name="Open the sheet").tap()
    page.get_by_role("heading", name="Head record").wait_for()
    # The inlined style is in force: its figures are not in the browser's own face.
    face = page.locator(".sheet-head .no").evaluate("one => getComputedStyle(one).fontFamily")
    assert "monospace" in face
    assert page.get_by_text("Revision 1, issued").count() == 1
    assert page.get_by_text("Draft").count() == 0
