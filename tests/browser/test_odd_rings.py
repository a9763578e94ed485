"""A diesel head with recessed rings, and the customer's own rings, which are not what they say."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

from seed_demo.shop import PINS, Shop
from tests.browser import walks
from tests.browser.tablet import Tablet

POSITIONS = ("1E", "2E", "3E")


def test_a_customers_own_odd_rings_are_bored_for_as_they_measure(page: Page, crib: Shop) -> None:
    tablet = Tablet(page)
    page.goto("/")
    tablet.sign_in("Wilma", PINS["Wilma"])

    walks.take_in(tablet, "Old Mill Haulage", "555-0144", "he brings his own exhaust rings")
    tablet.type("Casting number", "OM 307")
    tablet.choose("Head material", "grey iron")
    tablet.type("Fuel", "diesel")
    walks.lay_out(tablet, "3", "EIEIEI")
    for label in POSITIONS:
        group = page.get_by_role("radiogroup", name=f"{label}, work")
        tablet.tap(group.locator("label").filter(has_text="ring").first)
    tablet.touch("button", "The rest: seat only")
    tablet.touch("button", "All: seat ring")
    tablet.next("Keep")
    tablet.next("Record the customer's consent")
    tablet.type("Up to", "900")
    tablet.choose("How", "In person")
    tablet.next("Put it on record")
    tablet.touch("link", "count in")
    tablet.type("Valves", "6")
    tablet.next("Count in")

    tablet.hand_to("Marek", PINS["Marek"])
    tablet.next(re.compile("Crack test"))
    crack = page.get_by_role("radiogroup", name="crack test")
    tablet.tap(crack.locator("label").filter(has_text=re.compile("^OK$")))
    tablet.next("Next: stem heights")
    tablet.gauge(page.locator("input.read").first, ["1.850"] * 6)
    tablet.next("Next: guides")
    tablet.touch("button", "The rest: left as they are")
    tablet.gauge(page.locator("input.read").first, [".3436"] * 6)
    tablet.next(re.compile("^Next"))
    tablet.touch("link", "How the old rings came out")
    tablet.pick("How", "cut thin until it let go")
    tablet.pick("Floor", "floor untouched")
    tablet.next("Keep: on to the pockets")
    # One kind of reading after another, down the head.
    kinds = ("1.6150", "1.6151", ".002", ".2500", ".300", "2.100")
    tablet.gauge(page.locator("input.read").first, [kind for kind in kinds for _ in POSITIONS])
    tablet.next("Next: the rings")

    # His rings say 1.625 on the box, and have the fit built in: nobody is told so but the gauge.
    tablet.type("Outside, says the box", "1.625")
    tablet.tap(page.locator("summary").filter(has_text="Material, supplier and the rest"))
    tablet.pick("Whose rings", "the customer's")
    tablet.next("Next: read the rings")
    first = ["1.6291", "1.6292", "1.6291", "1.6290", ".2500", ".2502", ".2501", "1.376"]
    others = ["1.6292", "1.6291", ".2501", "1.6290", "1.6291", ".2500"]
    tablet.gauge(page.locator("input.read").first, [*first, *others])
    tablet.tap(page.locator("summary").filter(has_text="How proud the rings stand"))
    tablet.type("Proud of the surface by", "-.015")
    tablet.touch("button", "Keep it")
    asked = page.locator("#label")
    expect(asked).to_contain_text(".0041 over the box, all alike")
    tablet.choose("The size on the box is", "the counterbore", within=asked)
    tablet.touch("button", "Keep the answer")
    # Worked from the rings in hand: a bore cut to the box would grip twice as hard.
    expect(page.locator("#workings")).to_contain_text("1.62510")
    expect(page.locator("#workings")).to_contain_text(".2651")
    walks.set_and_clamp(tablet, "Cutter 1", "Setting fixture", [".3120", "1.5"])
    walks.first_pass(tablet, "1E", ["1.6232", "1.6233"])
    for label in POSITIONS:
        tablet.next(f"Open {label}")
        expect(page.locator("main")).to_contain_text(".2651")
        walks.gauge_and_prove(tablet, label, ["1.6251", "1.6251", ".2650"])
    walks.rings_in(tablet, {"1E": "Ring 1", "2E": "Ring 2", "3E": "Ring 3"}, "Pressed")
    finished = [".062"] * 6 + [".0010"] * 6 + ["1.852"] * 6
    walks.finish_and_sign(tablet, finished, "26-0001")
    walks.leave(tablet, valves="6")
    tablet.touch("link", re.compile("^Head record, revision 1"))
    record = page.locator("body")
    for words in (
        "3 of 3 seat rings in",
        "ring 1, the customer's",
        "label 1.6250",
        "recessed .0150",
        # Each by the mean of the set, since the rings may lie in any position.
        ".00400",
    ):
        expect(record).to_contain_text(words, ignore_case=True)
