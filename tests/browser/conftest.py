"""A tablet: the system's Chromium, touched at 1024 by 768, on a shop of its own for each test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import ConsoleMessage, Page, expect

from app.config import Settings
from app.db import now
from seed_demo.hands import Hands
from seed_demo.shop import Shop, open_demo
from tests.browser.axe import Barriers
from tests.live import LiveShop, serving

HERE = Path(__file__).resolve().parent
CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
# An address as on a shop's network, and names, that lead to this PC.
LAN_ADDRESS = "192.168.1.20"
CHROMIUM_FLAGS = (
    f"--host-resolver-rules=MAP {LAN_ADDRESS} 127.0.0.1, MAP *.example 127.0.0.1",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
# For a test that fails: what is asked for comes at once, or not at all. Longer than what a tablet
# itself waits by design (asking for news every 3 s, a page that died while sending 4 s), also where
# the machine is slow.
WAITS_MS = 20_000
expect.set_options(timeout=WAITS_MS)
TABLET: dict[str, Any] = {"viewport": {"width": 1024, "height": 768}, "has_touch": True}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.is_relative_to(HERE):
            item.add_marker(pytest.mark.browser)


def chromium() -> str:
    """The system's Chromium."""
    found = next(filter(None, map(shutil.which, CHROMIUM_NAMES)), None)
    if found is None:
        raise RuntimeError("Chromium is missing; on Debian: apt-get install chromium")
    return found


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    return {**browser_type_launch_args, "executable_path": chromium(), "args": [*CHROMIUM_FLAGS]}


@pytest.fixture
def browser_context_args(browser_context_args: dict[str, Any], live: LiveShop) -> dict[str, Any]:
    """`page.goto("/")` goes to the live shop."""
    return {**browser_context_args, **TABLET, "base_url": live.url}


@pytest.fixture
def live(settings: Settings) -> Iterator[LiveShop]:
    """A real server on a fresh, empty SQLite shop."""
    with serving(settings) as shop:
        yield shop


@pytest.fixture
def crib(live: LiveShop) -> Shop:
    """The shop on its first day: its people, machine, tools and shelf, and no job."""
    since = now() - timedelta(hours=1)
    return open_demo(Hands(live.database, None, since), since)


@pytest.fixture
def page(page: Page) -> Iterator[Page]:
    """A page on which any script fault or console error fails the test."""
    faults: list[str] = []

    def note(message: ConsoleMessage) -> None:
        # The browser reports every answer of 400 and more; a form sent back is one of them.
        refused = "the server responded with a status of 4" in message.text
        if message.type == "error" and not refused:
            faults.append(message.text)

    page.set_default_timeout(WAITS_MS)
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.on("console", note)
    yield page
    assert faults == []


@pytest.fixture(scope="session")
def barriers() -> Barriers:
    """What keeps someone from using a page, by axe: an empty list is good."""
    return Barriers()
