"""A main job by keyboard alone, one position, from the sign-in to the hand-over."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from seed_demo.shop import PINS, Shop
from tests.browser.keys import Keys


def sign_in(keys: Keys, name: str) -> None:
    keys.press("link", re.compile(f"^{name}"))
    keys.type("PIN", PINS[name])
    with keys.page.expect_navigation():
        keys.page.keyboard.press("Enter")


def hand_to(keys: Keys, name: str) -> None:
    """Someone else sits down."""
    keys.press("button", re.compile("someone else"))
    sign_in(keys, name)


def taken_in(keys: Keys) -> None:
    """At the counter: taken in, described, decided, agreed, counted."""
    page = keys.page
    keys.press("link", "New job")
    keys.type("Customer: name or phone", "Heron Boatyard")
    keys.type("Phone", "555-0177")
    keys.type("What is wanted", "one burnt exhaust seat")
    keys.answer("Promise", "today")
    keys.next("Take it in, print the tag")
    keys.press("link", re.compile("^Back to 26-"))
    keys.next("Describe the head")
    keys.type("Casting number", "HB 1")
    keys.answer("Head material", "grey iron")
    keys.type("Cylinders", "1")
    keys.pick("Valves a cylinder", "2")
    keys.choose(page.get_by_label(re.compile("^EI")))
    keys.answer("Numbered from", "timing end")
    keys.next("Keep and go on")
    keys.answer("1E, work", "seat ring")
    keys.answer("1I, work", "leave")
    keys.press("button", "All: in the casting")
    keys.next("Keep")
    keys.next("Record the customer's consent")
    keys.type("Up to", "90")
    keys.answer("How", "In person")
    keys.next("Put it on record")
    keys.press("link", "count in")
    keys.type("Valves", "2")
    keys.next("Count in")


def measured(keys: Keys) -> None:
    """Looked at, heights, guides, what is not done, and the ring."""
    page = keys.page
    keys.next(re.compile("Crack test"))
    keys.answer("crack test", "OK")
    keys.next("Next: stem heights")
    keys.read(["1.850"])
    keys.next("Next: guides")
    keys.press("button", "The rest: left as they are")
    keys.read([".3436"])
    keys.next(re.compile("^Next"))
    keys.unfold(page.locator("#not-done summary"))
    for what in ("Wall", "Web"):
        keys.tick(page.locator("#not-done").get_by_label(re.compile(f"^{what}")))
    keys.type("Because", "no thickness gauge here")
    keys.press("button", "Record the reason")
    keys.next("Next: the rings")
    keys.next("Next: read the rings")
    keys.read(["1.6262", "1.6261", "1.6261", "1.6262", ".2500", ".2502", ".2501", "1.376"])


def set_and_clamped(keys: Keys) -> None:
    """The cutter set and read back, the head clamped up and touched off."""
    keys.next("Next: set the cutter")
    keys.answer("Cutter", "Cutter 1")
    keys.answer("Set on the fixture", "Setting fixture")
    keys.next("Work out what to set")
    read_back(keys)
    keys.next("Next: clamp up")
    keys.type("Level", "two axes, end for end")
    keys.answer("Depth is measured from", "chamber roof")
    keys.go_to(keys.page.get_by_label(re.compile("^Touch-off")))
    keys.read([".3120", "1.5"])
    keys.next("It is clamped up")


def read_back(keys: Keys) -> None:
    """What the page asks for in large is what the fixture reads."""
    asked = re.sub(r"[^.\d]", "", keys.page.locator(".set-to .figure-value").first.inner_text())
    expect(keys.page.get_by_label(re.compile("^It reads"))).to_be_focused()
    with keys.page.expect_navigation():
        keys.read([asked])


def bored(keys: Keys) -> None:
    """Under size first, the setting corrected, then to size and proved."""
    page = keys.page
    # What the head map shows stands in the names of its buttons, for whoever hears the page.
    on_map = page.get_by_role("region", name=re.compile("^Head map, timing end"))
    for name in ("1E, cylinder 1 exhaust: at .+, you are here", "1I, cylinder 1 intake: leave"):
        expect(on_map.get_by_role("button", name=re.compile(f"^{name}$"))).to_be_visible()
    keys.press("button", re.compile("^1E"))
    keys.read(["1.6202", "1.6203"])
    keys.next("Correct the setting")
    read_back(keys)
    keys.next("Next: 1E")
    keys.next("Open 1E")
    keys.read(["1.6221", "1.6222", ".2501"])
    keys.next("1E is bored")


def ringed_and_finished(keys: Keys) -> None:
    """Ring in, seat read, signed, tested under pressure."""
    keys.answer("Which ring is in your hand", "Ring 1")
    keys.answer("How it went in", "Pressed")
    keys.answer(re.compile("feeler under the ring"), "Does not enter")
    keys.next(re.compile("in$"))
    keys.read([".062", ".0010", "1.852"])
    keys.next("Next: sign")
    keys.next("Sign as Marek")
    keys.next("To the hand-over")
    keys.press("link", "Pressure test after boring")
    keys.answer("pressure test after boring", "OK")
    keys.press("button", "Keep")


def handed_over(keys: Keys) -> None:
    """Counted out and handed over."""
    keys.press("link", "26-0001")
    hand_to(keys, "Wilma")
    keys.next(re.compile("Count"))
    keys.type("Valves", "2")
    keys.next("Count out")
    keys.next(re.compile("."))
    keys.answer("Final clean", "done")
    keys.next("Hand it over")


def test_one_position_is_done_from_sign_in_to_hand_over_by_keyboard(page: Page, crib: Shop) -> None:
    keys = Keys(page)
    page.goto("/")
    sign_in(keys, "Wilma")
    taken_in(keys)
    hand_to(keys, "Marek")
    measured(keys)
    set_and_clamped(keys)
    bored(keys)
    ringed_and_finished(keys)
    handed_over(keys)
    expect(page.get_by_role("status").first).to_contain_text("The head record")
    assert "\n".join(keys.barriers) == ""
