"""A real browser's word for where a form was: on the shop's network by http, and by https."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Request, expect
from sqlmodel import select

from app.config import Settings
from app.models.person import Person, PinTry
from tests.browser.conftest import LAN_ADDRESS, TABLET
from tests.browser.front import ASKED_FROM, front_of
from tests.live import LiveShop
from tests.web.conftest import PINS, open_the_shop

NAME = "heads.example"


@pytest.fixture
def settings(make_settings: Callable[..., Settings], sqlite_url: str) -> Settings:
    return make_settings(
        database_url=sqlite_url, trusted_hosts=(LAN_ADDRESS, NAME), fronts=("127.0.0.1",)
    )


@pytest.fixture
def marek(live: LiveShop) -> int:
    """The shop is open; Marek's row."""
    with live.database.write() as session:
        open_the_shop(session)
    with live.database.read() as session:
        return session.exec(select(Person.id).where(Person.name == "Marek")).one()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    with browser.new_context(ignore_https_errors=True, **TABLET) as context:
        yield context


def sign_in(page: Page, base: str) -> dict[str, str]:
    """Odile signs in; what the browser said with the form that carried her PIN."""
    page.goto(f"{base}/sign-in")
    page.get_by_role("link", name="Odile").tap()
    page.get_by_label("PIN").fill(PINS["Odile"])
    with page.expect_request(lambda request: request.method == "POST") as sent:
        page.get_by_role("button", name="Sign in").tap()
    expect(page).to_have_url(f"{base}/office")
    return said(sent.value)


def said(request: Request) -> dict[str, str]:
    """The headers by which a form's origin is known."""
    told = request.all_headers()
    return {name: told[name] for name in ("origin", "sec-fetch-site") if name in told}


def send_from(page: Page, where: str, action: str) -> dict[str, str]:
    """A page somewhere else sends a form here as soon as it opens; what was said with it."""
    form = f'<form method="post" action="{action}"></form>'
    page.route(f"{where}/", lambda route: route.fulfill(content_type="text/html", body=form))
    page.goto(f"{where}/")
    # What is looked at on its way is told without the headers that are added last.
    page.unroute_all()
    with page.expect_request(action) as sent:
        page.evaluate("document.forms[0].submit()")
    expect(page.get_by_role("heading", name="Not from here")).to_be_visible()
    return said(sent.value)


def retired(live: LiveShop, person_id: int) -> bool:
    with live.database.read() as session:
        return session.get_one(Person, person_id).retired_at is not None


def test_on_a_lan_address_by_http_a_form_is_known_by_its_origin(
    live: LiveShop, marek: int, context: BrowserContext
) -> None:
    port = live.settings.port
    base = f"http://{LAN_ADDRESS}:{port}"
    page = context.new_page()
    assert sign_in(page, base) == {"origin": base}
    [cookie] = [each for each in context.cookies() if each["name"] == f"seatwright_{port}"]
    assert (cookie["httpOnly"], cookie["sameSite"], cookie["secure"]) == (True, "Lax", False)
    # Another program on the same PC is another origin; the browser would send it the cookie.
    beside = f"http://{LAN_ADDRESS}:{port + 1}"
    assert send_from(page, beside, f"{base}/people/{marek}/retire") == {"origin": beside}
    elsewhere = "http://elsewhere.example"
    assert send_from(page, elsewhere, f"{base}/people/{marek}/retire") == {"origin": elsewhere}
    assert not retired(live, marek)
    page.goto(f"{base}/people/{marek}/edit")
    page.get_by_role("button", name="Retire Marek").tap()
    expect(page.get_by_text("Marek can no longer sign in.")).to_be_visible()
    assert retired(live, marek)


def test_behind_a_front_that_speaks_https_the_cookie_is_secure_and_forms_are_known(
    live: LiveShop, marek: int, context: BrowserContext, tmp_path: Path
) -> None:
    with front_of(live.settings.port, NAME, tmp_path) as port:
        base = f"https://{NAME}:{port}"
        page = context.new_page()
        assert sign_in(page, base) == {"origin": base, "sec-fetch-site": "same-origin"}
        kept = f"seatwright_{live.settings.port}"
        [cookie] = [each for each in context.cookies() if each["name"] == kept]
        assert (cookie["httpOnly"], cookie["sameSite"], cookie["secure"]) == (True, "Lax", True)
        with live.database.read() as session:
            assert session.exec(select(PinTry.address)).all() == [ASKED_FROM]
        # The same name without https is no origin of ours.
        bare = f"http://{NAME}:{port}"
        told = send_from(page, bare, f"{base}/people/{marek}/retire")
        assert told == {"origin": bare, "sec-fetch-site": "cross-site"}
        assert not retired(live, marek)
        page.goto(f"{base}/people/{marek}/edit")
        page.get_by_role("button", name="Retire Marek").tap()
        expect(page.get_by_text("Marek can no longer sign in.")).to_be_visible()
        assert retired(live, marek)
        page.goto(f"{base}/first-owner")
        expect(page).to_have_url(f"{base}/sign-in")
