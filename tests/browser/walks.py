"""Stretches of the main job that several walks go, by touch, as its people do."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from seed_demo.shop import PINS
from tests.browser.tablet import Tablet


def take_in(tablet: Tablet, customer: str, phone: str, wanted: str) -> None:
    """A new job for today, and on to its head."""
    tablet.touch("link", "New job")
    tablet.type("Customer: name or phone", customer)
    tablet.type("Phone", phone)
    tablet.type("What is wanted, in the customer's words", wanted)
    tablet.choose("Promise", "today")
    tablet.next("Take it in, print the tag")
    tablet.touch("link", re.compile("^Back to 26-"))
    tablet.next("Describe the head")


def lay_out(tablet: Tablet, cylinders: str, order: str) -> None:
    """Two valves a cylinder in this order, numbered from the timing end."""
    tablet.type("Cylinders", cylinders)
    tablet.pick("Valves a cylinder", "2")
    page = tablet.page
    tablet.tap(page.locator("label.choice").filter(has=page.get_by_label(order)))
    tablet.choose("Numbered from", "timing end")
    tablet.next("Keep and go on")


def set_and_clamp(tablet: Tablet, cutter: str, fixture: str, depths: Sequence[str]) -> None:
    """Cutter set and read back, head clamped up, touched off: its scale and the travel left."""
    tablet.next("Next: set the cutter")
    tablet.choose("Cutter", cutter)
    tablet.choose("Set on the fixture", fixture)
    tablet.next("Work out what to set")
    tablet.set_and_read_back()
    tablet.next("Next: clamp up")
    tablet.type("Level", "two axes, end for end")
    tablet.choose("Depth is measured from", "chamber roof")
    tablet.gauge(tablet.page.get_by_label(re.compile("^Touch-off")), depths)
    tablet.next("It is clamped up")


def first_pass(tablet: Tablet, label: str, bore: Sequence[str]) -> None:
    """The first position under size, and the setting corrected by it."""
    tablet.touch("button", re.compile(f"^{label}"))
    tablet.gauge(tablet.page.get_by_label(re.compile("^Across")).first, bore)
    tablet.next("Correct the setting")
    tablet.set_and_read_back()
    tablet.next(f"Next: {label}")


def bore(tablet: Tablet, label: str, readings: Sequence[str]) -> None:
    """Cut to size, gauged, proved."""
    tablet.next(f"Open {label}")
    gauge_and_prove(tablet, label, readings)


def gauge_and_prove(tablet: Tablet, label: str, readings: Sequence[str]) -> None:
    """The cut that is open is gauged and proved."""
    tablet.gauge(tablet.page.get_by_label(re.compile("^Across")).first, readings)
    tablet.next(f"{label} is bored")


def rings_in(tablet: Tablet, rings: Mapping[str, str], how: str, **warm: str) -> None:
    """Which ring went where, and how; a feeler enters under none."""
    page = tablet.page
    for label, ring in rings.items():
        named = page.get_by_role("heading", name=re.compile(f"^{label} "))
        own = page.locator("section").filter(has=named)
        tablet.choose("Which ring is in your hand", ring, within=own)
    tablet.choose("How they went in", how)
    feel(tablet)
    for what, degrees in warm.items():
        tablet.type(f"{what.capitalize()}, °C", degrees)
    tablet.next("These rings are in")


def feel(tablet: Tablet) -> None:
    """The feeler enters under none of them."""
    tablet.choose(re.compile("feeler under every one of them"), "Does not enter")


def finish_and_sign(tablet: Tablet, readings: Sequence[str], number: str) -> None:
    """Seats read along the head, signed by Marek, pressure tested."""
    page = tablet.page
    tablet.gauge(page.locator("input.read").first, readings)
    tablet.next("Next: sign")
    tablet.next("Sign as Marek")
    tablet.next("To the hand-over")
    tablet.touch("link", "Pressure test after boring")
    tested = page.get_by_role("radiogroup", name="pressure test after boring")
    tablet.tap(tested.locator("label").filter(has_text=re.compile("^OK$")))
    tablet.touch("button", "Keep")
    tablet.touch("link", number)


def leave(tablet: Tablet, **parts: str) -> None:
    """Wilma counts the parts out and hands it over."""
    tablet.hand_to("Wilma", PINS["Wilma"])
    tablet.next(re.compile("Count"))
    for part, pieces in parts.items():
        tablet.type(part.capitalize(), pieces)
    tablet.next("Count out")
    tablet.next(re.compile("."))
    tablet.choose("Final clean", "done")
    tablet.next("Hand it over")
