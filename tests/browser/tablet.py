"""Hands on a tablet: they touch, and type numbers; both are counted."""

from __future__ import annotations

import re
from collections.abc import Iterable

from playwright.sync_api import Locator, Page, expect

_PAGE_IS_STILL = "() => !document.querySelector('.htmx-request, form[data-sending]')"


class Tablet:
    """One tablet, whoever stands before it; a gauge that types presses Enter after each reading."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.touches = 0
        self.numbers = 0

    def sign_in(self, name: str, pin: str) -> None:
        """From the page where one chooses who one is."""
        self.touch("link", re.compile(f"^{name}"))
        self.type("PIN", pin)
        self.touch("button", "Sign in")

    def hand_to(self, name: str, pin: str) -> None:
        """Someone else: signs in where this one stood."""
        self.touch("button", re.compile("someone else"))
        self.sign_in(name, pin)

    def touch(self, role: str, name: str | re.Pattern[str], within: Locator | None = None) -> None:
        """Touch what has this role and says this."""
        found = (within or self.page).get_by_role(
            role,  # type: ignore[arg-type]
            name=name,
            exact=isinstance(name, str),
        )
        self.tap(found.first)

    def choose(
        self, group: str | re.Pattern[str], answer: str, within: Locator | None = None
    ) -> None:
        """Touch one of the large answers below a question that begins so, or has these words."""
        named = re.compile(f"^{re.escape(group)}") if isinstance(group, str) else group
        asked = (within or self.page).get_by_role("group", name=named)
        self.tap(asked.first.locator("label").filter(has_text=answer).first)

    def pick(self, label: str, words: str) -> None:
        """Open a list and take one: two touches."""
        found = self.page.get_by_label(label, exact=True)
        found.focus()
        found.select_option(label=words)
        self.touches += 2

    def tap(self, found: Locator) -> None:
        """One touch, once what was sent is answered."""
        self.page.wait_for_function(_PAGE_IS_STILL)
        found.tap()
        self.touches += 1

    def type(self, label: str, text: str, within: Locator | None = None) -> None:
        """Touch the field whose label begins so, unless it is waiting already, and type."""
        found = (within or self.page).get_by_label(re.compile(f"^{re.escape(label)}")).first
        if not found.evaluate("field => field === document.activeElement"):
            self.tap(found)
        self.page.keyboard.type(text)
        self._count(text)

    def gauge(self, first: Locator, readings: Iterable[str]) -> None:
        """Readings one after another, each with the Enter that a gauge sends."""
        if not first.evaluate("field => field === document.activeElement"):
            self.tap(first)
        for text in readings:
            field = self.page.locator("input.read:focus")
            expect(field).to_have_count(1)
            self.page.keyboard.type(text)
            expect(field).to_have_value(text)
            self.page.keyboard.press("Enter")
            self._count(text)

    def next(self, words: str | re.Pattern[str]) -> None:
        """Touch the next button that says this; it must not be greyed."""
        button = self.page.locator(".button.next:visible").filter(has_text=words).first
        expect(button).to_be_visible()
        expect(button).not_to_have_attribute("aria-disabled", "true")
        self.tap(button)

    def set_and_read_back(self) -> None:
        """The fixture is set to what its page asks for in large, and reads exactly that."""
        asked = self.page.locator(".set-to .figure-value").first.inner_text()
        self.gauge(self.page.get_by_label(re.compile("^It reads")), [re.sub(r"[^.\d]", "", asked)])

    def _count(self, text: str) -> None:
        self.numbers += any(letter.isdigit() for letter in text)
