"""Hands on a keyboard: they press keys and type, and touch nothing.

Where a thing stands is looked up, never acted on: whatever is done is done by a key.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from playwright.sync_api import Locator, Page, expect

# Told of each element that takes the focus: whether it can be seen to have it, wholly above the bar
# at the foot of the page.
WATCH = """() => {
  const isMarked = (each) => {
    const { outlineStyle, outlineWidth } = getComputedStyle(each);
    return outlineStyle === "auto" || (outlineStyle !== "none" && parseFloat(outlineWidth) >= 2);
  };
  const look = (at) => {
    const told = window.told ?? (() => {}); // between two pages
    if (at !== document.activeElement || at.matches("main, [data-focus]")) return;
    const marked = [at, at.nextElementSibling, at.closest("label")].filter(Boolean);
    if (!marked.some(isMarked)) told(`cannot be seen to have the focus: ${at.outerHTML}`);
    const { left, right, bottom } = (at.closest("label") ?? at).getBoundingClientRect();
    const over = document.elementFromPoint((left + right) / 2, bottom - 2)?.closest(".foot");
    if (over && !over.contains(at)) told(`is under the foot of the page: ${at.outerHTML}`);
  };
  addEventListener("focusin", ({ target }) => requestAnimationFrame(() => look(target)));
}"""
# How many stops lie between what has the focus and what is wanted, backwards below nought. Answers
# to one question are one stop: the chosen one, else the first.
STOPS = """(wanted) => {
  const every =
    "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']";
  const entry = (radio) => {
    const own = [...document.querySelectorAll("input[type=radio]")].filter(
      (each) => each.form === radio.form && each.name === radio.name,
    );
    return own.find((each) => each.checked) ?? own[0];
  };
  const stops = [...document.querySelectorAll(every)].filter(
    (each) =>
      each.tabIndex >= 0 &&
      !each.disabled &&
      each.checkVisibility({ visibilityProperty: true }) &&
      (each.type !== "radio" || entry(each) === each),
  );
  const here = document.activeElement;
  const past = (each) =>
    here.compareDocumentPosition(each) & Node.DOCUMENT_POSITION_PRECEDING ? 1 : 0;
  const before = stops.reduce((sum, each) => sum + past(each), 0);
  const at = here === document.body ? -1 : stops.includes(here) ? stops.indexOf(here) : before - 1;
  return stops.indexOf(wanted) - at;
}"""


class Keys:
    """One keyboard; whoever sits before it sees where the focus is all the way."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.barriers: list[str] = []
        page.expose_function("told", lambda words: self.barriers.append(words))
        page.add_init_script(f"({WATCH})()")

    def go_to(self, wanted: Locator) -> None:
        """Tab to it, over the link that skips what stands on every page."""
        wanted = wanted.first
        expect(wanted).to_be_visible()
        is_top = "document.activeElement === document.body"
        if self.page.evaluate(is_top) and wanted.evaluate("each => !!each.closest('main')"):
            self.page.keyboard.press("Tab")
            expect(self.page.get_by_role("link", name="Skip to the work")).to_be_focused()
            self.page.keyboard.press("Enter")
            expect(self.page.locator("main")).to_be_focused()
        for _ in range(6):
            if wanted.evaluate("each => each === document.activeElement"):
                return
            stops = int(wanted.evaluate(STOPS))
            for _ in range(abs(stops) or 1):
                self.page.keyboard.press("Tab" if stops >= 0 else "Shift+Tab")
        raise AssertionError(f"no key leads to {wanted}")

    def press(self, role: str, name: str | re.Pattern[str]) -> None:
        """Go to a link or button of this name, press Enter, and wait for the page it opens."""
        self.go_to(
            self.page.get_by_role(role, name=name, exact=isinstance(name, str))  # type: ignore[arg-type]
        )
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def next(self, words: str | re.Pattern[str]) -> None:
        """Press the one next button, which says this."""
        button = self.page.locator(".button.next:visible").filter(has_text=words).first
        expect(button).not_to_have_attribute("aria-disabled", "true")
        self.go_to(button)
        # A gauge that led here may have more to say: what it says there is no press. Whoever comes
        # back to the button is no gauge.
        self.page.keyboard.press("Tab")
        self.page.keyboard.press("Shift+Tab")
        expect(button).to_be_focused()
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def unfold(self, summary: Locator) -> None:
        """Open what is folded away."""
        self.go_to(summary)
        self.page.keyboard.press("Enter")

    def type(self, label: str | re.Pattern[str], text: str) -> None:
        """Into the field of this label."""
        named = re.compile(f"^{re.escape(label)}") if isinstance(label, str) else label
        self.go_to(self.page.get_by_label(named))
        self.page.keyboard.type(text)

    def pick(self, label: str, text: str) -> None:
        """The line of a list that begins so, typed as lists take it."""
        found = self.page.get_by_label(label, exact=True)
        self.go_to(found)
        self.page.keyboard.type(text)
        expect(found.locator("option:checked")).to_have_text(re.compile(f"^{re.escape(text)}"))

    def choose(self, answer: Locator) -> None:
        """One of several answers: Tab leads to them, arrows along them, Space takes the first."""
        radio = answer.first
        group = radio.evaluate(
            """each => {
              const own = [...document.querySelectorAll("input[type=radio]")]
                .filter((one) => one.form === each.form && one.name === each.name);
              const chosen = own.findIndex((one) => one.checked);
              own[Math.max(chosen, 0)].setAttribute("data-entry", "");
              return own.indexOf(each) - Math.max(chosen, 0);
            }"""
        )
        self.go_to(self.page.locator("[data-entry]"))
        for _ in range(abs(group)):
            self.page.keyboard.press("ArrowDown" if group > 0 else "ArrowUp")
        if not group:
            self.page.keyboard.press("Space")
        expect(radio).to_be_checked()
        self.page.evaluate("document.querySelector('[data-entry]').removeAttribute('data-entry')")

    def answer(self, group: str | re.Pattern[str], words: str) -> None:
        """The answer that begins so to the question that begins so."""
        named = re.compile(f"^{re.escape(group)}") if isinstance(group, str) else group
        asked = self.page.get_by_role("group", name=named).or_(
            self.page.get_by_role("radiogroup", name=named)
        )
        self.choose(asked.first.get_by_role("radio", name=re.compile(f"^{re.escape(words)}", re.I)))

    def tick(self, box: Locator) -> None:
        """Tick a box."""
        self.go_to(box)
        self.page.keyboard.press("Space")
        expect(box.first).to_be_checked()

    def read(self, readings: Iterable[str]) -> None:
        """Figures one after another, each with Enter, from the field that waits.

        Once they are kept the focus is where it was, though the answer drew the next button anew.
        """
        for text in readings:
            field = self.page.locator("input.read:focus")
            expect(field).to_have_count(1)
            last = field.get_attribute("id")
            self.page.keyboard.type(text)
            self.page.keyboard.press("Enter")
        if self.page.locator(f"form[data-keeps] #{last}").count():
            box = self.page.locator(".read-box").filter(has=self.page.locator(f"#{last}"))
            expect(box).to_have_attribute("data-state", "kept")
            expect(self.page.locator(".button.next:focus, input.read:focus")).to_have_count(1)
